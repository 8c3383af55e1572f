//! The chips at register level.

pub(crate) mod adc;
pub(crate) mod clock_chip;
pub mod flash;
