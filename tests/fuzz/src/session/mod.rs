//! A session file that was damaged: does a reading come out of it that was never taken, or one that is worth
//! less than is said? Does one get lost unsaid?

mod damage;
mod loss;
mod truth;
mod verdict;

pub use self::damage::Damage;
pub use self::truth::{Fault, Original, originals};
pub use self::verdict::{Counts, Verdict};
