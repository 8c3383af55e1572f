//! A board that somebody laid out, held against the table: which pads are joined, which parts are there,
//! what resistors and capacitors say.
//!
//! What the nets are called does not matter, and neither does which way round a resistor or capacitor lies.
//! **Copper is not looked at**: whether tracks join what a net joins is for KiCad's own rule check.

mod compare;
mod finding;
mod laid_out;
mod names;
mod reader;
mod shown;
mod tokens;
mod value;

pub use compare::compare;
pub use finding::{Difference, Remark, Report};
pub use laid_out::{Board, MOST_BYTES, Pad, Part, Unreadable};
pub use reader::read;
pub use shown::{shown, shown_path};
