//! The resistance thermometer, measured against its reference resistor.

use super::taps::Taps;
use crate::constants::{
    FREQUENCY_THERMOMETER_HZ, THERMOMETER_OPEN_ABOVE_OHM, THERMOMETER_REFERENCE_OHM,
    THERMOMETER_SHORT_BELOW_OHM,
};

pub(super) const FREQUENCY_HZ: u32 = FREQUENCY_THERMOMETER_HZ;

/// What the thermometer reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Thermometer {
    /// Its resistance in mΩ, rounded to nearest.
    Milliohm(u32),
    /// An open circuit, or no drive to measure with.
    Open,
    /// A short circuit.
    Short,
}

impl Thermometer {
    /// From the three taps; a contact that comes and goes counts as open.
    pub fn of(taps: &Taps) -> Self {
        if taps.has_changed {
            return Self::Open;
        }
        match taps.load_ohm(THERMOMETER_REFERENCE_OHM) {
            Some(ohm) if ohm < THERMOMETER_SHORT_BELOW_OHM => Self::Short,
            Some(ohm) if ohm <= THERMOMETER_OPEN_ABOVE_OHM => {
                // 100 kΩ at most: 100 000 000 mΩ.
                Self::Milliohm(libm::round(ohm * 1_000.0) as u32)
            }
            _ => Self::Open,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::taps::tests::taps;
    use super::*;

    #[test]
    fn resistance_open_and_short() {
        // Pt1000 at 0, 100 and 150 °C: IEC 60751:2022, table 1 (ten times the Pt100), recalled, not
        // checked.
        for ohm in [1_000.0, 1_385.1, 1_573.3] {
            let Thermometer::Milliohm(found) = Thermometer::of(&taps(2_000.0, ohm)) else {
                panic!("{ohm} Ω is a resistance")
            };
            assert!((f64::from(found) - ohm * 1_000.0).abs() <= 2.0, "{found} mΩ");
        }
        assert_eq!(Thermometer::of(&taps(2_000.0, 1e7)), Thermometer::Open);
        assert_eq!(Thermometer::of(&taps(2_000.0, 0.5)), Thermometer::Short);
        assert_eq!(Thermometer::of(&Taps::default()), Thermometer::Open);
        let changed = Taps { has_changed: true, ..taps(2_000.0, 1_000.0) };
        assert_eq!(Thermometer::of(&changed), Thermometer::Open);
    }

    /// What one code at the top of the thermometer is worth in K: an average of 50 conversions with
    /// their noise tells some tenth of it. The limits are rounded up from what the circuit gives
    /// (computed); a code is 31.25 µV, the drive 25 600 of them.
    #[test]
    fn one_code_is_worth_little_over_the_temperatures_of_water() {
        use rillmark_proto::calibration::temperature::{PT1000, Thermometer as Kind};
        use rillmark_proto::units::{Celsius, Ohms};
        let thermistor = |r25_ohm| Kind::Thermistor { r25_ohm, beta_k: 3950.0 };
        for (kind, limit_k) in [
            (thermistor(10_000.0), 0.018),
            (thermistor(20_000.0), 0.033),
            (PT1000, 0.055),
            (Kind::Platinum { r0_ohm: 100.0 }, 0.24),
        ] {
            let mut worst: f64 = 0.0;
            for t in -5..=50 {
                let ohm = kind.resistance(Celsius::new(f64::from(t))).unwrap().get();
                assert!((THERMOMETER_SHORT_BELOW_OHM..THERMOMETER_OPEN_ABOVE_OHM).contains(&ohm));
                let at = |codes: i64| {
                    let mut taps = taps(THERMOMETER_REFERENCE_OHM, ohm);
                    taps.a.codes += codes * i64::from(taps.a.count);
                    let Thermometer::Milliohm(found) = Thermometer::of(&taps) else {
                        panic!("{ohm} Ω is a resistance")
                    };
                    kind.temperature(Ohms::new(f64::from(found) / 1e3)).unwrap().get()
                };
                worst = worst.max((at(1) - at(0)).abs());
            }
            assert!(worst < limit_k && worst > 0.8 * limit_k, "{kind:?}: {worst} K");
        }
    }
}
