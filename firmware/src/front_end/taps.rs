//! Three taps of one drive, and the resistance that they tell.

use crate::adc::Sum;
use crate::constants::LEAST_DRIVE_CODES;

/// The averages at the hot end of the range resistor, and at the load's top and bottom.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Taps {
    /// Hot end of the range resistor.
    pub h: Sum,
    /// Top of the cell or thermometer.
    pub a: Sum,
    /// Bottom of the cell or thermometer.
    pub b: Sum,
}

impl Taps {
    /// Codes across the range resistor: proportional to the current.
    fn resistor(&self) -> f64 {
        self.h.mean() - self.a.mean()
    }

    /// Codes across the load.
    fn load(&self) -> f64 {
        self.a.mean() - self.b.mean()
    }

    /// True when there is a drive to compare with, all of it within the converter's range.
    fn is_driven(&self) -> bool {
        let clipped = self.h.clipped || self.a.clipped || self.b.clipped;
        !clipped && self.h.mean() >= LEAST_DRIVE_CODES
    }

    /// Resistance of the load in Ω against this range resistor: Rs · (a − b) / (h − a). Infinite
    /// when no current flows, 0 when no voltage falls; `None` without a drive.
    pub fn load_ohm(&self, resistor_ohm: f64) -> Option<f64> {
        self.is_driven().then(|| match (self.load(), self.resistor()) {
            (load, _) if load <= 0.0 => 0.0,
            (_, current) if current <= 0.0 => f64::INFINITY,
            (load, current) => resistor_ohm * load / current,
        })
    }

    /// Conductance of the load in S against this range resistor: (h − a) / (Rs · (a − b)). May be
    /// slightly negative when next to no current flows; `None` when no voltage falls, or without a
    /// drive.
    pub fn load_siemens(&self, resistor_ohm: f64) -> Option<f64> {
        (self.is_driven() && self.load() > 0.0)
            .then(|| self.resistor() / (resistor_ohm * self.load()))
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// Taps of a load on a resistor, as ±0.4 V would give them but for the rounding to codes.
    pub(crate) fn taps(resistor_ohm: f64, load_ohm: f64) -> Taps {
        let sum = |codes: f64| Sum { codes: codes as i64, count: 1_000_000, clipped: false };
        // 0.8 V at 31.25 µV a code, a million conversions, 100 Ω below the load.
        let (drive, total) = (25_600.0e6, resistor_ohm + load_ohm + 100.0);
        Taps {
            h: sum(drive),
            a: sum(drive * (load_ohm + 100.0) / total),
            b: sum(drive * 100.0 / total),
        }
    }

    #[test]
    fn resistances_come_back_whatever_lies_below() {
        for ohm in [20.0, 1_000.0, 1_099.0, 2_000.0, 200_000.0] {
            let taps = taps(1_000.0, ohm);
            let found = taps.load_ohm(1_000.0).unwrap();
            assert!(libm::fabs(found / ohm - 1.0) < 1e-6, "{ohm} Ω: {found} Ω");
            let siemens = taps.load_siemens(1_000.0).unwrap();
            assert!(libm::fabs(siemens * ohm - 1.0) < 1e-6, "{ohm} Ω: {siemens} S");
        }
    }

    #[test]
    fn open_short_and_dead_are_told_apart() {
        let sum = |codes| Sum { codes, count: 1, clipped: false };
        let open = Taps { h: sum(25_600), a: sum(25_601), b: sum(0) };
        assert_eq!(open.load_ohm(1e5), Some(f64::INFINITY));
        assert!(open.load_siemens(1e5).unwrap() < 0.0);
        let short = Taps { h: sum(25_600), a: sum(7), b: sum(7) };
        assert_eq!((short.load_ohm(1e3), short.load_siemens(1e3)), (Some(0.0), None));
        let dead = Taps { h: sum(3), a: sum(2), b: sum(1) };
        assert_eq!((dead.load_ohm(1e3), dead.load_siemens(1e3)), (None, None));
        let clipped = Taps { h: Sum { clipped: true, ..sum(25_600) }, a: sum(9), b: sum(1) };
        assert_eq!((clipped.load_ohm(1e3), clipped.load_siemens(1e3)), (None, None));
    }
}
