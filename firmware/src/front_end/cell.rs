//! The conductivity cell: ranges, frequencies, and the extrapolation to infinite frequency.

use rillmark_proto::reading::{Flags, Range, RawConductance};

use super::taps::Taps;
use crate::constants::{
    CELL_OPEN_ABOVE_OHM, CELL_OVER_RANGE_BELOW_OHM, FREQUENCIES_1K_HZ, FREQUENCY_10K_HZ,
    FREQUENCY_100K_HZ, LEAVE_1K_ABOVE_OHM, LEAVE_10K_ABOVE_OHM, LEAVE_10K_BELOW_OHM,
    LEAVE_100K_BELOW_OHM, RANGE_1K_OHM, RANGE_10K_OHM, RANGE_100K_OHM, TREND_LEAST_FRACTION,
    TREND_LEAST_OHM, TREND_RATIO_MAX, TREND_RATIO_MIN,
};

/// The ranges, most conducting cells first.
pub const RANGES: [Range; 3] = [Range::Ohm1k, Range::Ohm10k, Range::Ohm100k];

/// The range resistor in Ω.
pub const fn resistor_ohm(range: Range) -> f64 {
    match range {
        Range::Ohm1k => RANGE_1K_OHM,
        Range::Ohm10k => RANGE_10K_OHM,
        Range::Ohm100k => RANGE_100K_OHM,
    }
}

/// The frequencies in Hz that a range is measured at, the one that finds the range first.
pub const fn frequencies(range: Range) -> &'static [u32] {
    match range {
        Range::Ohm1k => &FREQUENCIES_1K_HZ,
        Range::Ohm10k => &[FREQUENCY_10K_HZ],
        Range::Ohm100k => &[FREQUENCY_100K_HZ],
    }
}

/// The range for a cell of this resistance in Ω (infinite when open), coming from another range:
/// the one it is on already for as long as that will do.
pub fn next_range(range: Range, ohm: f64) -> Range {
    let up = |limit_1k, limit_10k| {
        if ohm > limit_10k {
            Range::Ohm100k
        } else if ohm > limit_1k {
            Range::Ohm10k
        } else {
            Range::Ohm1k
        }
    };
    match range {
        Range::Ohm1k => up(LEAVE_1K_ABOVE_OHM, LEAVE_10K_ABOVE_OHM),
        Range::Ohm10k => up(LEAVE_10K_BELOW_OHM, LEAVE_10K_ABOVE_OHM),
        Range::Ohm100k => up(LEAVE_10K_BELOW_OHM, LEAVE_100K_BELOW_OHM),
    }
}

/// The resistance at infinite frequency in Ω from those at 8, 4 and 2 kHz:
/// (R₂·R₈ − R₄²) / (R₂ + R₈ − 2·R₄) where the resistance falls with frequency as that of a
/// polarising electrode, R = R∞ + c·f^−α, does; else the one at 8 kHz.
///
/// Exact for every c and α of that law; up to 14 times the noise of one resistance.
pub fn at_infinite_frequency(r8: f64, r4: f64, r2: f64) -> f64 {
    let (low, high) = (r2 - r4, r4 - r8);
    let least = libm::fmax(TREND_LEAST_FRACTION * r8, TREND_LEAST_OHM);
    let is_trend = high >= least && low >= TREND_RATIO_MIN * high && low <= TREND_RATIO_MAX * high;
    // The same as the quotient above, without taking nearly equal products from each other.
    if is_trend { r8 - high * high / (low - high) } else { r8 }
}

/// True when one of the readings of a cell is unlike the others, each at its frequency: its drive or its load
/// stepped. Both may change evenly, and by the same in all of them; a single one is compared with no change.
pub fn is_uneven(taps: &[Taps]) -> bool {
    odd(taps).is_some()
}

/// The one that is unlike the others, if one is.
pub fn odd(taps: &[Taps]) -> Option<usize> {
    if let Some(at) = taps.iter().position(|each| each.has_stepped) {
        return Some(at);
    }
    let limit = taps.iter().map(Taps::uneven_limit).fold(0.0, libm::fmax);
    let far = |one: [f64; 2], other: [f64; 2]| {
        libm::fmax(libm::fabs(one[0] - other[0]), libm::fabs(one[1] - other[1]))
    };
    let uneven = || taps.iter().map(|each| each.uneven_codes);
    if uneven().all(|it| far(it, [0.0; 2]) <= limit) {
        return None;
    }
    if taps.len() > 1 && uneven().all(|one| uneven().all(|other| far(one, other) <= limit)) {
        return None;
    }
    // The farthest from all others together.
    let away = |at: &usize| uneven().map(|it| far(it, taps[*at].uneven_codes)).sum::<f64>();
    (0..taps.len()).max_by(|one, other| away(one).total_cmp(&away(other)))
}

/// What the cell reads.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cell {
    /// The conductance in pS, rounded to nearest, and its range; kept when it is flagged, `None`
    /// only when there was nothing to divide by.
    pub conductance: Option<RawConductance>,
    /// [`Flags::CELL_OPEN`], [`Flags::CELL_OVER_RANGE`], [`Flags::CELL_CHANGED`] or none.
    pub flags: Flags,
}

impl Cell {
    /// From the taps at each of the range's [`frequencies`].
    pub fn of(range: Range, taps: &[Taps]) -> Self {
        let resistor = resistor_ohm(range);
        let siemens = match taps {
            [r8, r4, r2] => {
                match (r8.load_ohm(resistor), r4.load_ohm(resistor), r2.load_ohm(resistor)) {
                    (Some(r8), Some(r4), Some(r2)) if r2.is_finite() && r8 > 0.0 => {
                        Some(1.0 / at_infinite_frequency(r8, r4, r2))
                    }
                    _ => r8.load_siemens(resistor),
                }
            }
            [only, ..] => only.load_siemens(resistor),
            [] => None,
        };
        let driven = taps.first().and_then(|taps| taps.load_ohm(resistor)).is_some();
        let flags = match siemens {
            Some(siemens) if siemens < 1.0 / CELL_OPEN_ABOVE_OHM => Flags::CELL_OPEN,
            Some(siemens) if siemens > 1.0 / CELL_OVER_RANGE_BELOW_OHM => Flags::CELL_OVER_RANGE,
            Some(_) => Flags::NONE,
            None if driven => Flags::CELL_OVER_RANGE,
            None => Flags::CELL_OPEN,
        };
        let conductance = siemens.map(|siemens| RawConductance {
            // 1 S = 10¹² pS; the conversion to an integer saturates.
            conductance_ps: libm::round(siemens * 1e12) as i64,
            range,
        });
        Self { conductance, flags }
    }
}

#[cfg(test)]
#[path = "cell_tests.rs"]
mod tests;
