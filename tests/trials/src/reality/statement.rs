//! The one door through which a reading's statements are asked for.

use rillmark_metrology::assess::{Assessment, Assessor};
use rillmark_metrology::motion::State;
use rillmark_proto::reading::{CalibrationsUsed, Reading};
use rillmark_proto::record::Quantity;

use super::operator::{Papers, short};
use super::row::Stated;

/// A value with what is stated of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Statement {
    pub(super) value: f64,
    /// Standard uncertainty.
    pub(super) u: f64,
    /// Whether the reading says that something is not as it should be: it is not steady, or a remark
    /// stands beside it.
    pub(super) flagged: bool,
}

/// What is made of the last of these readings of a probe, which follow each other.
pub(super) fn assessed(papers: &Papers, readings: &[Reading]) -> Option<Assessment> {
    let mut assessor = Assessor::new();
    let mut calibrations = CalibrationsUsed::default();
    for (index, record) in papers.records.iter().enumerate() {
        assessor.know(short(index), record);
        if record.calibration().is_some() {
            *match record.quantity() {
                Quantity::Ph => &mut calibrations.ph,
                Quantity::Conductivity => &mut calibrations.conductivity,
                Quantity::Temperature => &mut calibrations.temperature,
            } = Some(short(index));
        }
    }
    let began = readings.first()?.time.ms;
    let mut last = None;
    for reading in readings {
        let passed = i64::try_from(reading.time.ms - began).ok()?;
        let named = Reading { calibrations, ..*reading };
        last = Some(assessor.reading(&named, Some(papers.utc_ms() + passed)));
    }
    last
}

/// What an assessment states of one quantity.
pub(super) fn stated(assessment: &Assessment, what: Stated) -> Option<Statement> {
    let Assessment { computed, uncertainty, states, .. } = assessment;
    let (value, u, of) = match what {
        Stated::Ph => (computed.ph, uncertainty.ph, Quantity::Ph),
        Stated::Conductivity => {
            (computed.conductivity_us_cm, uncertainty.conductivity_us_cm, Quantity::Conductivity)
        }
        Stated::Specific => (
            computed.specific_conductance_us_cm,
            uncertainty.specific_conductance_us_cm,
            Quantity::Conductivity,
        ),
        Stated::Temperature => {
            (computed.temperature_c, uncertainty.temperature_k, Quantity::Temperature)
        }
    };
    let state = match of {
        Quantity::Ph => states.ph,
        Quantity::Conductivity => states.conductivity,
        Quantity::Temperature => states.temperature,
    };
    let mut remarks = assessment.remarks.iter();
    let remarked = remarks.any(|remark| remark.quantity().is_none_or(|about| about == of));
    let flagged = remarked || state != Some(State::Steady);
    Some(Statement { value: f64::from(value?), u: u?, flagged })
}
