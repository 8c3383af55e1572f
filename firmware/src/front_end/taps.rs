//! Three taps of one drive, and the resistance that they tell.

use crate::adc::Sum;
use crate::constants::{
    CHANGED_CODES, CHANGED_PART, CHANGED_WITHIN_CODES, CHANGED_WITHIN_PART, CONVERSION_PERIOD_US,
    HALF_CONVERSIONS, LEAST_DRIVE_CODES, UNEVEN_CODES, UNEVEN_H_CODES, UNEVEN_PART, WAIT_TAP_US,
};

/// The averages at the hot end of the range resistor, and at the load's top and bottom.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Taps {
    /// Hot end of the range resistor.
    pub h: Sum,
    /// Top of the cell or thermometer.
    pub a: Sum,
    /// Bottom of the cell or thermometer.
    pub b: Sum,
    /// True when the halves before and after the hot end are of two loads, or one of them is: all three are of
    /// neither.
    pub has_changed: bool,
    /// By how many codes the outer halves differ by something else than an even change of the drive, which
    /// drops out: those of b by what a says, those of a by how h moved while it was read. About the size of a step
    /// there. An even change of the load itself shows too.
    pub uneven_codes: [f64; 2],
    /// True when something stepped while one of the taps was read.
    pub has_stepped: bool,
}

/// Between the middles of the halves of a, and of b, in periods of a conversion; and between those of the first and
/// the second part of one half.
const A_APART: f64 = (3 * HALF_CONVERSIONS) as f64 + 2.0 * GAP;
const B_APART: f64 = (5 * HALF_CONVERSIONS) as f64 + 4.0 * GAP;
const GAP: f64 = WAIT_TAP_US as f64 / CONVERSION_PERIOD_US as f64;
const WITHIN: f64 = 0.5 * HALF_CONVERSIONS as f64;
/// The same of the hot end.
const H_WITHIN: f64 = HALF_CONVERSIONS as f64;

impl Taps {
    /// From what was read in the [`ORDER`](super::ORDER), each as its first and second part.
    pub(super) fn of(parts: [[Sum; 2]; super::ORDER.len()]) -> Self {
        let [b, a, h, a_again, b_again] = parts.map(|[first, second]| first.with(&second));
        let (before, after) = (a.mean() - b.mean(), a_again.mean() - b_again.mean());
        let most = CHANGED_PART * libm::fmax(libm::fabs(before), libm::fabs(after));
        let least = libm::fmax(CHANGED_WITHIN_PART * most / CHANGED_PART, CHANGED_WITHIN_CODES);
        let [a_step, b_step] = [a_again.mean() - a.mean(), b_again.mean() - b.mean()];
        // What an even change of the drive makes of b where it makes this of a.
        let part = if a.mean() > 0.0 { b.mean() / a.mean() } else { 0.0 };
        let of_h = if h.mean() > 0.0 { a.mean() / h.mean() } else { 0.0 };
        let [b_in, a_in, h_in, a_again_in, b_again_in] =
            parts.map(|[first, second]| second.mean() - first.mean());
        let within = [
            a_in - a_step * WITHIN / A_APART,
            a_again_in - a_step * WITHIN / A_APART,
            b_in - b_step * WITHIN / B_APART,
            b_again_in - b_step * WITHIN / B_APART,
        ];
        let mut taps = Self {
            h,
            a: a.with(&a_again),
            b: b.with(&b_again),
            has_changed: libm::fabs(after - before) > libm::fmax(most, CHANGED_CODES)
                || within.iter().any(|codes| libm::fabs(*codes) > least),
            uneven_codes: [
                b_step - a_step * part * B_APART / A_APART,
                a_step - h_in * of_h * A_APART / H_WITHIN,
            ],
            has_stepped: false,
        };
        let limit = taps.uneven_limit();
        taps.has_stepped = libm::fabs(h_in) > UNEVEN_H_CODES
            || within.iter().any(|codes| libm::fabs(*codes) > limit);
        taps
    }

    /// Up to how many codes the halves may be uneven.
    pub(super) fn uneven_limit(&self) -> f64 {
        UNEVEN_CODES + UNEVEN_PART * libm::fabs(self.load())
    }

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
            ..Taps::default()
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
        let of = |h, a, b| Taps { h: sum(h), a: sum(a), b: sum(b), ..Taps::default() };
        let open = of(25_600, 25_601, 0);
        assert_eq!(open.load_ohm(1e5), Some(f64::INFINITY));
        assert!(open.load_siemens(1e5).unwrap() < 0.0);
        let short = of(25_600, 7, 7);
        assert_eq!((short.load_ohm(1e3), short.load_siemens(1e3)), (Some(0.0), None));
        let dead = of(3, 2, 1);
        assert_eq!((dead.load_ohm(1e3), dead.load_siemens(1e3)), (None, None));
        let clipped = Taps { h: Sum { clipped: true, ..sum(25_600) }, ..of(25_600, 9, 1) };
        assert_eq!((clipped.load_ohm(1e3), clipped.load_siemens(1e3)), (None, None));
    }

    /// By hand, of 25 600 codes: a load of 8 000 that opens or shorts in a half, and one that a plunge changes.
    #[test]
    fn a_contact_that_comes_or_goes_is_no_load() {
        let sum = |codes| Sum { codes, count: 1, clipped: false };
        let changed = |[b, a, a_again, b_again]: [i64; 4]| {
            let read = [b, a, 25_600, a_again, b_again].map(|codes| [sum(codes); 2]);
            Taps::of(read).has_changed
        };
        assert!(!changed([4_000, 12_000, 12_000, 4_000]));
        let plunged = [[4_000; 2], [11_954, 12_046], [25_600; 2], [12_654, 12_746], [4_000; 2]];
        assert!(!Taps::of(plunged.map(|parts| parts.map(sum))).has_changed, "evenly, by 9 %");
        assert!(changed([4_000, 12_000, 25_600, 0]));
        assert!(changed([4_000, 12_000, 14_000, 4_000]), "open for an eighth of a half");
        assert!(changed([4_000, 12_000, 12_000, 3_000]));
        // Open for a fiftieth of one part: 272 of 13 600 codes, 2 % of the load.
        let mut read = [4_000, 12_000, 25_600, 12_000, 4_000].map(|codes| [sum(codes); 2]);
        read[1][0] = sum(12_272);
        assert!(Taps::of(read).has_changed);
        read[1] = [sum(12_000), sum(12_009)];
        assert!(!Taps::of(read).has_changed, "a plunge");
        assert!(changed([4_000, 12_000, 6_000, 6_000]));
        assert!(!changed([6_000, 6_003, 5_999, 6_001]), "a short is one all the time");
    }
}
