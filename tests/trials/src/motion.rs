//! How often *steady*, *moving* and *changing* are right, and whether U covers the truth in each.
//!
//! An electrode follows its water with two exponentials ([`electrode`]), or a whole simulated probe is put
//! into other water ([`probe`]); the code that judges a real reading judges these. All sensors and
//! waters are invented. The error that a reading has apart from motion and noise is not drawn: the part of
//! its normal distribution within U is summed up in closed form.

mod course;
pub mod electrode;
pub mod probe;
pub mod promise;
mod tally;

use rillmark_metrology::motion::Movement;
pub use tally::{OfState, Tally};

/// A reading with its truth, in the signal's unit, and with what was said of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// Minutes since the sensor came into the water; below 0 before.
    pub minute: f64,
    /// Truth less what is read.
    pub off: f64,
    /// The same without noise: what the sensor's lag hides.
    pub hidden: f64,
    /// Standard deviation of the noise in `off`, which the stated uncertainty contains; 0 where nobody
    /// knows it.
    pub noise: f64,
    /// What was said.
    pub movement: Movement,
}
