//! How far a value lies outside what its calibration has seen.

use crate::fit::conductivity::ZERO_PRIOR_US;
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Quantity};
use rillmark_proto::reference::{Sourced, Tag};

/// How far in pH beyond the outermost buffer a pH is not yet outside.
///
/// A sample ought to lie between its buffers (USGS TM 9-A6.4, REFERENCES 15; seen at one remove). What
/// a straight line makes uncertain beyond them is in the budget; what a glass that bends does is not.
/// Usual buffers lie three pH apart, so a third of that is taken as being beside them; a single buffer
/// reaches as far.
pub const REACH_PH: Sourced = Sourced {
    value: 1.0,
    standard_uncertainty: None,
    source: "a third of the usual distance of buffers: common practice, no source",
    tag: Tag::CommonPractice,
};

/// By which factor beyond the outermost standard a conductivity is not yet outside.
///
/// A cell of two plates is used over some three decades (common practice); what bends at their ends, by
/// polarisation or by what conducts beside the water, shows within one.
pub const REACH_FACTOR: Sourced = Sourced {
    value: 10.0,
    standard_uncertainty: None,
    source: "a decade of conductivity: common practice, no source",
    tag: Tag::CommonPractice,
};

/// From the lowest to the highest standard of a calibration, in pH or µS/cm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// The lowest; `None` where a cell was measured in air, so that nothing is below its standards.
    pub lowest: Option<f64>,
    /// The highest.
    pub highest: f64,
}

impl Span {
    /// Of the points of a calibration; `None` without points, and for a thermometer, whose relation is a
    /// standard's over its whole range.
    ///
    /// Points at which the coefficients were left as they were count too: they were found right there.
    #[must_use]
    pub fn of(record: &CalibrationRecord) -> Option<Self> {
        if record.quantity() == Quantity::Temperature {
            return None;
        }
        let values = || record.points.iter().map(|point| point.value);
        let measured_in_air = matches!(record.result, CalibrationResult::Conductivity(cell)
            if cell.zero_us.standard_uncertainty < ZERO_PRIOR_US.standard_uncertainty);
        let lowest = values().reduce(libm::fmin)?;
        Some(Self {
            lowest: (!measured_in_air).then_some(lowest),
            highest: values().reduce(libm::fmax)?,
        })
    }

    /// The outermost standard that a pH is beyond by more than [`REACH_PH`].
    #[must_use]
    pub fn passed_by_ph(&self, ph: f64) -> Option<f64> {
        let reach = REACH_PH.value;
        self.passed(|lowest| lowest - ph > reach, |highest| ph - highest > reach)
    }

    /// The outermost standard that a conductivity is beyond by more than [`REACH_FACTOR`].
    #[must_use]
    pub fn passed_by_us_cm(&self, us_cm: f64) -> Option<f64> {
        let reach = REACH_FACTOR.value;
        self.passed(|lowest| us_cm * reach < lowest, |highest| us_cm > reach * highest)
    }

    fn passed(&self, below: impl Fn(f64) -> bool, above: impl Fn(f64) -> bool) -> Option<f64> {
        self.lowest
            .filter(|lowest| below(*lowest))
            .or(Some(self.highest).filter(|high| above(*high)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_outside_when_it_is_far_beyond_the_outermost_standard() {
        let span = Span { lowest: Some(4.01), highest: 9.18 };
        for (ph, passed) in
            [(3.02, None), (3.0, Some(4.01)), (7.0, None), (10.17, None), (12.5, Some(9.18))]
        {
            assert_eq!(span.passed_by_ph(ph), passed, "{ph}");
        }
        let one = Span { lowest: Some(1413.0), highest: 1413.0 };
        for (us_cm, passed) in
            [(142.0, None), (140.0, Some(1413.0)), (14_000.0, None), (50_000.0, Some(1413.0))]
        {
            assert_eq!(one.passed_by_us_cm(us_cm), passed, "{us_cm}");
        }
        let with_air = Span { lowest: None, ..one };
        assert_eq!((with_air.passed_by_us_cm(2.0), with_air.passed_by_us_cm(-0.1)), (None, None));
        assert_eq!(one.passed_by_us_cm(-0.1), Some(1413.0));
    }
}
