//! From stays in known solutions to evidence: the readings of each beaker, one after the other.

use heapless::Vec;
use rillmark_metrology::fit;

use super::beaker::{self, Moment};
use super::cell;
use super::electrode::{self, Stand};
use super::evidence::{CellEvidence, ElectrodeEvidence, MAX_BEAKERS, Rest};
use rillmark_metrology::fit::conductivity::ConductivityPoint;
use rillmark_metrology::fit::ph::PhPoint;
use rillmark_metrology::signal::settle::{POTENTIAL, Window};
use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::reference::compensation::DEFAULT_PER_KELVIN;
use rillmark_proto::units::{Celsius, Millivolts, Ph};

/// The potential of a stay is the mean over this much of its end, in ms.
const END_MS: u64 = 12_000;
/// The settling rule is asked at every so many readings.
const ASKED_EVERY: usize = 4;

/// A known buffer at the stay's temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// Its pH.
    pub ph: f64,
    /// Its standard uncertainty in pH.
    pub standard_uncertainty: f64,
    /// Change of its pH with temperature, per kelvin.
    pub per_kelvin: f64,
    /// The temperature in °C.
    pub temperature_c: f64,
}

/// The electrode in one beaker.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stay<'a> {
    /// When it was placed, in ms of probe time.
    pub placed_ms: u64,
    /// Its potentials, the earliest first.
    pub readings: &'a [Moment],
    /// Readings without a potential in its last minute.
    pub missing: u32,
    /// True when what it stood in keeps its pH, as a buffer does and a free water does not: drift
    /// and scatter are then the electrode's.
    pub steady: bool,
    /// What it stood in, when that is a known buffer with a known temperature.
    pub buffer: Option<Known>,
}

impl Stay<'_> {
    /// Mean potential at its end; `None` without a reading.
    fn end_mv(&self) -> Option<f64> {
        let end = self.readings.last()?.0;
        let from = self.readings.partition_point(|(ms, _)| ms + END_MS < end);
        let late = &self.readings[from..];
        Some(late.iter().map(|(_, mv)| mv).sum::<f64>() / late.len() as f64)
    }

    fn stand(&self, rest: Option<Rest>) -> Option<Stand> {
        let (buffer, potential) = (self.buffer?, Millivolts::new(self.end_mv()?));
        let end = self.readings.last()?.0;
        Some(Stand {
            point: PhPoint {
                buffer: Ph::new(buffer.ph),
                buffer_uncertainty: Some(buffer.standard_uncertainty),
                buffer_per_kelvin: buffer.per_kelvin,
                potential,
                temperature: Celsius::new(buffer.temperature_c),
                bottle: None,
            },
            rest,
            waited_s: end.saturating_sub(self.placed_ms) as f64 / 1e3,
        })
    }
}

/// Time in s until the settling rule was met, or until the readings end; `None` when they come too
/// seldom for the rule.
pub fn settling_s(placed_ms: u64, readings: &[Moment]) -> Option<f64> {
    let (first, last) = (readings.first()?.0, readings.last()?.0);
    let enough = (last - first) * POTENTIAL.readings as u64
        <= POTENTIAL.span_ms * (readings.len() as u64 - 1);
    if !enough {
        return None;
    }
    let mut window = Window::new(POTENTIAL);
    let settled = readings.iter().zip(1_usize..).find(|((ms, mv), count)| {
        window.push(0, *ms, *mv, ());
        count % ASKED_EVERY == 0 && window.verdict().settled
    });
    let settled_ms = settled.map_or(last, |((ms, _), _)| *ms);
    Some(settled_ms.saturating_sub(placed_ms) as f64 / 1e3)
}

/// The electrode's evidence from stays in the order in which they were made: how it answered and
/// rests everywhere, and slope and offset from those in known buffers. Nothing about earlier
/// calibrations or stirring.
pub fn electrode_evidence(stays: &[Stay<'_>]) -> ElectrodeEvidence {
    let mut evidence = ElectrodeEvidence::default();
    let mut stands: Vec<Stand, MAX_BEAKERS> = Vec::new();
    let (mut before_mv, mut moves) = (None, 0.0);
    let larger = |is: Option<f64>, other: Option<f64>| match (is, other) {
        (Some(is), Some(other)) => Some(libm::fmax(is, other)),
        (is, other) => is.or(other),
    };
    for stay in stays {
        evidence.shake_mv = larger(evidence.shake_mv, beaker::shake_mv(stay.readings));
        let (before, end) = (before_mv, stay.end_mv());
        before_mv = end.or(before_mv);
        if !stay.steady {
            continue;
        }
        *evidence.missing.get_or_insert(0) += stay.missing;
        let response = before.and_then(|mv| beaker::response_s(mv, stay.placed_ms, stay.readings));
        evidence.response_s = larger(evidence.response_s, response);
        let settling = settling_s(stay.placed_ms, stay.readings);
        evidence.settling_s = larger(evidence.settling_s, settling);
        if let Some(rest) = beaker::rest(stay.readings) {
            let step_mv = before.zip(end).map_or(0.0, |(before, end)| end - before);
            moves = libm::fmax(moves, beaker::moves(&rest, step_mv, 1.0));
            if evidence.rests.push(rest).is_err() {
                evidence.rests_left_out += 1;
            }
            if let Some(stand) = stay.stand(Some(rest)) {
                let _ = stands.push(stand);
            }
        }
    }
    let potentials = || evidence.rests.iter().map(|rest| rest.potential_mv);
    let span = potentials().fold(f64::MIN, libm::fmax) - potentials().fold(f64::MAX, libm::fmin);
    // A step is about half of all that was seen. One calm minute may be chance: what moves anywhere
    // counts.
    if moves > span / 2.0 {
        evidence.response_s = None;
    }
    let (warm, cold) = electrode::warm_and_cold(&stands);
    evidence.line = electrode::line(&warm);
    evidence.disagreement = electrode::disagreement(&warm);
    evidence.cold = electrode::cold(&warm, &cold);
    evidence
}

/// The cell in one beaker: its conductances in µS, the earliest first, and the point that they make
/// where the solution is a known standard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellStay<'a> {
    /// Probe time in ms, and conductance in µS.
    pub readings: &'a [Moment],
    /// True when what it stood in keeps its conductivity, as a standard does and a free water does
    /// not: steps are then the cell's.
    pub steady: bool,
    /// The point; its conductance is that of the end.
    pub point: Option<ConductivityPoint>,
}

/// The cell's evidence from stays, each standard by itself. Nothing about earlier cell constants.
pub fn cell_evidence(stays: &[CellStay<'_>]) -> CellEvidence {
    let mut constants = stays.iter().filter_map(|stay| constant_alone(stay.point?));
    let (first, second) = (constants.next(), constants.next());
    CellEvidence {
        constant_per_cm: first,
        jump_percent: stays
            .iter()
            .filter(|stay| stay.steady)
            .filter_map(|stay| cell::jump_percent(stay.readings))
            .reduce(libm::fmax),
        standards_percent: first
            .zip(second)
            .map(|(first, second)| cell::standards_percent(first, second)),
        ..CellEvidence::default()
    }
}

/// The cell constant that a point gives by itself, through the real fit.
pub(super) fn constant_alone(point: ConductivityPoint) -> Option<f64> {
    let compensation = Compensation::Linear { per_kelvin: DEFAULT_PER_KELVIN };
    let fit = fit::conductivity::fit(&[point], compensation).ok()?;
    Some(fit.calibration.cell_constant_per_cm)
}
