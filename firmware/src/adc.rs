//! The converter (ADS1115 class): single conversions, started one by one.
//!
//! Register addresses and the bits of the configuration register are those of the data sheet.

use embedded_hal_async::i2c::I2c;

use crate::constants::{ADC_ADDRESS, CONVERSIONS_PER_AVERAGE};

const REGISTER_CONVERSION: u8 = 0;
const REGISTER_CONFIG: u8 = 1;

/// Written: start one conversion. Read: no conversion is under way.
const START: u16 = 1 << 15;
/// Stop after one conversion.
const SINGLE: u16 = 1 << 8;
/// 860 conversions a second, the fastest.
const FASTEST: u16 = 0b111 << 5;
/// The alert output is not used.
const NO_COMPARATOR: u16 = 0b11;

/// What the converter is pointed at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Input {
    /// Inputs 0 (glass) minus 1 (reference), ±0.512 V.
    Electrode,
    /// Inputs 2 (positive hold) minus 3 (negative hold), ±1.024 V.
    Holds,
}

impl Input {
    /// The configuration that starts one conversion of this input.
    pub const fn config(self) -> u16 {
        let (inputs, gain) = match self {
            Self::Electrode => (0b000, 0b100),
            Self::Holds => (0b011, 0b011),
        };
        START | inputs << 12 | gain << 9 | SINGLE | FASTEST | NO_COMPARATOR
    }
}

/// Why the converter gave nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AdcError {
    /// No acknowledgement, or another fault on the bus.
    Silent,
    /// A conversion was started so late that it could not be done in time.
    Late,
    /// It answers, but is not idle with the configuration it was given: it was reset on the way, or
    /// its conversions take longer than they may.
    Unready {
        /// The configuration found.
        config: u16,
    },
}

/// Starts one conversion.
///
/// # Errors
/// [`AdcError::Silent`].
pub async fn start<I: I2c>(i2c: &mut I, input: Input) -> Result<(), AdcError> {
    let [high, low] = input.config().to_be_bytes();
    i2c.write(ADC_ADDRESS, &[REGISTER_CONFIG, high, low]).await.map_err(|_| AdcError::Silent)
}

/// Reads the code of the last conversion (full scale ±2¹⁵).
///
/// # Errors
/// [`AdcError::Silent`].
pub async fn read<I: I2c>(i2c: &mut I) -> Result<i16, AdcError> {
    Ok(register(i2c, REGISTER_CONVERSION).await? as i16)
}

/// Makes sure that the converter is idle and still has the configuration of this input.
///
/// # Errors
/// [`AdcError::Silent`]; [`AdcError::Unready`] when it isn't so.
pub async fn verify<I: I2c>(i2c: &mut I, input: Input) -> Result<(), AdcError> {
    let config = register(i2c, REGISTER_CONFIG).await?;
    if config == input.config() { Ok(()) } else { Err(AdcError::Unready { config }) }
}

async fn register<I: I2c>(i2c: &mut I, register: u8) -> Result<u16, AdcError> {
    let mut bytes = [0; 2];
    i2c.write_read(ADC_ADDRESS, &[register], &mut bytes).await.map_err(|_| AdcError::Silent)?;
    Ok(u16::from_be_bytes(bytes))
}

/// Codes added up over one or more averages of 100 ms.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sum {
    /// Sum of the codes.
    pub codes: i64,
    /// How many.
    pub count: u32,
    /// True when at least one code stood at either end of the scale.
    pub clipped: bool,
}

impl Sum {
    /// The conversions in this many averages.
    pub const fn conversions(averages: u32) -> u32 {
        averages * CONVERSIONS_PER_AVERAGE
    }

    /// Adds one code.
    pub fn add(&mut self, code: i16) {
        self.codes += i64::from(code);
        self.count += 1;
        self.clipped |= code == i16::MIN || code == i16::MAX;
    }

    /// Both together.
    #[must_use]
    pub const fn with(self, other: &Self) -> Self {
        Self {
            codes: self.codes + other.codes,
            count: self.count + other.count,
            clipped: self.clipped || other.clipped,
        }
    }

    /// The mean code; 0 of nothing.
    pub fn mean(&self) -> f64 {
        if self.count == 0 { 0.0 } else { self.codes as f64 / f64::from(self.count) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scripted::{Step, block_on, i2c};
    use std::vec;

    #[test]
    #[allow(clippy::unusual_byte_groupings)] // grouped by the fields of the register
    fn configurations_are_those_of_the_data_sheet() {
        // Bits assembled by hand from the ADS1115 data sheet (SBAS444, configuration register),
        // recalled, not checked.
        assert_eq!(Input::Electrode.config(), 0b1_000_100_1_111_0_0_0_11);
        assert_eq!(Input::Holds.config(), 0b1_011_011_1_111_0_0_0_11);
    }

    #[test]
    fn a_conversion_is_a_write_and_a_signed_read() {
        let mut bus = i2c([
            Step::write(0x48, vec![1, 0x89, 0xe3]),
            Step::write_read(0x48, vec![0], vec![0xff, 0xfe]),
            Step::write_read(0x48, vec![1], vec![0x89, 0xe3]),
        ]);
        block_on(async {
            start(&mut bus, Input::Electrode).await.unwrap();
            assert_eq!(read(&mut bus).await, Ok(-2));
            assert_eq!(verify(&mut bus, Input::Electrode).await, Ok(()));
        });
        bus.done();
    }

    #[test]
    fn silence_and_a_reset_are_told_apart() {
        let mut bus = i2c([
            Step::write(0x48, vec![1, 0xb7, 0xe3]).silent(),
            Step::write_read(0x48, vec![0], vec![0, 0]).silent(),
            Step::write_read(0x48, vec![1], vec![0x85, 0x83]),
            Step::write_read(0x48, vec![1], vec![0x37, 0xe3]),
        ]);
        block_on(async {
            assert_eq!(start(&mut bus, Input::Holds).await, Err(AdcError::Silent));
            assert_eq!(read(&mut bus).await, Err(AdcError::Silent));
            for config in [0x8583, 0x37e3] {
                let found = verify(&mut bus, Input::Holds).await;
                assert_eq!(found, Err(AdcError::Unready { config }));
            }
        });
        bus.done();
    }

    #[test]
    fn a_sum_remembers_clipping() {
        for (code, clipped) in [(i16::MAX, true), (i16::MIN, true), (i16::MAX - 1, false)] {
            let mut sum = Sum::default();
            sum.add(3);
            sum.add(code);
            assert_eq!((sum.clipped, sum.codes), (clipped, 3 + i64::from(code)));
        }
        assert_eq!(Sum::default().mean(), 0.0);
    }
}
