//! What kept calibration records say.
//!
//! A record holds how its points had come to rest when they were taken, and they were taken because
//! they had: that says nothing about restlessness or drift, and is not used for it.

use heapless::Vec;

use super::electrode::{self, Stand};
use super::evidence::{CellEvidence, Earlier, ElectrodeEvidence, Evidence, LineSeen, MAX_BEAKERS};
use super::{cell, limits, stays};
use rillmark_metrology::fit::conductivity::ConductivityPoint;
use rillmark_metrology::fit::ph::PhPoint;
use rillmark_proto::calibration::ph::OFFSET_PH;
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Point, Quantity, Signal};
use rillmark_proto::reference::nernst;
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm, Millivolts, Ph};

/// Evidence from records, the latest first. The latest of the electrode and of the cell that are
/// fitted are looked at, earlier ones of the same are what they are compared with, and those of others
/// say nothing.
pub fn evidence<'a>(
    latest_first: impl Iterator<Item = &'a CalibrationRecord> + Clone,
    fitted: &Fitted,
) -> Evidence {
    let of = |quantity: Quantity| {
        let serial = fitted.serial_for(quantity);
        latest_first
            .clone()
            .filter(move |record| record.quantity() == quantity && record.calibrated() == serial)
    };
    Evidence {
        electrode: electrode_evidence(of(Quantity::Ph)).unwrap_or_default(),
        cell: cell_evidence(of(Quantity::Conductivity)).unwrap_or_default(),
        ..Evidence::default()
    }
}

fn electrode_evidence<'a>(
    mut latest_first: impl Iterator<Item = &'a CalibrationRecord>,
) -> Option<ElectrodeEvidence> {
    let latest = latest_first.next()?;
    let stands = stands(latest);
    let (warm, cold) = electrode::warm_and_cold(&stands);
    let mut evidence = ElectrodeEvidence {
        line: electrode::line(&warm).or_else(|| of_coefficients(latest)),
        line_utc_ms: latest.incident.is_none().then_some(latest.utc_ms),
        disagreement: electrode::disagreement(&warm),
        cold: electrode::cold(&warm, &cold),
        settling_s: stands.iter().map(|stand| stand.waited_s).reduce(libm::fmax),
        ..ElectrodeEvidence::default()
    };
    let earlier =
        latest_first.filter_map(|record| Some(Earlier::of(line_of(record)?, Some(record.utc_ms))));
    evidence.earlier = earlier.take(evidence.earlier.capacity()).collect();
    evidence.odd_buffer =
        evidence.earlier.first().and_then(|earlier| electrode::odd_buffer(&warm, earlier));
    Some(evidence)
}

/// The line of a record's points; of its coefficients where the points give none.
fn line_of(record: &CalibrationRecord) -> Option<LineSeen> {
    electrode::line(&stands(record)).or_else(|| of_coefficients(record))
}

fn of_coefficients(record: &CalibrationRecord) -> Option<LineSeen> {
    match &record.result {
        CalibrationResult::Ph(calibration) => Some(LineSeen {
            slope_percent: 100.0 * calibration.slope_fraction,
            slope_uncertainty_percent: 100.0 * libm::sqrt(calibration.covariance.slope),
            offset_mv: calibration.offset_mv,
        }),
        _ => None,
    }
}

/// How far coefficients that a record puts in force are from those that its own points give.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Parted {
    /// The largest difference of pH in one of the buffers; infinite where the coefficients give none.
    Ph(f64),
    /// The least difference of the conductivity of one of the standards, in percent; infinite likewise.
    Percent(f64),
}

/// Whether the coefficients in use are others than the points give: readings are computed with the
/// coefficients, whatever the points say. `None` where they agree, and where no points tell.
pub fn parted(record: &CalibrationRecord) -> Option<Parted> {
    match &record.result {
        CalibrationResult::Ph(used) => {
            let stands = stands(record);
            let line = electrode::line(&stands);
            let apart = stands.iter().map(|stand| {
                let by_points = line.map_or(0.0, |line| residual(&line, &stand.point));
                let used = stand.point.residual(used).unwrap_or(f64::INFINITY);
                libm::fabs(used - by_points)
            });
            let most = apart.reduce(libm::fmax)?;
            (most > limits::PARTED_PH).then_some(Parted::Ph(most))
        }
        CalibrationResult::Conductivity(used) => {
            let points = record.points.iter().filter_map(conductivity_point);
            let above_zero = points.filter(|point| point.standard.get() > 0.0);
            let apart = above_zero
                .map(|point| libm::fabs(point.residual_percent(used).unwrap_or(f64::INFINITY)));
            let least = apart.reduce(libm::fmin)?;
            (least > limits::PARTED_PERCENT).then_some(Parted::Percent(least))
        }
        CalibrationResult::Temperature(_) => None,
    }
}

/// What a line makes of a point, minus the point's own pH.
fn residual(line: &LineSeen, point: &PhPoint) -> f64 {
    let per_ph = nernst::millivolts_per_ph(point.temperature) * line.slope_percent / 100.0;
    OFFSET_PH + (line.offset_mv - point.potential.get()) / per_ph - point.buffer.get()
}

fn stands(record: &CalibrationRecord) -> Vec<Stand, MAX_BEAKERS> {
    record.points.iter().filter_map(stand).collect()
}

fn stand(point: &Point) -> Option<Stand> {
    let Signal::PotentialNv(nv) = point.signal else {
        return None;
    };
    Some(Stand {
        point: PhPoint {
            buffer: Ph::new(point.value),
            buffer_uncertainty: Some(point.value_uncertainty),
            buffer_per_kelvin: point.value_per_kelvin,
            potential: Millivolts::new(f64::from(nv) / 1e6),
            temperature: Celsius::new(point.temperature_c),
            bottle: None,
        },
        rest: None,
        waited_s: f64::from(point.settling.waited_ms) / 1e3,
    })
}

fn cell_evidence<'a>(
    mut latest_first: impl Iterator<Item = &'a CalibrationRecord>,
) -> Option<CellEvidence> {
    let latest = latest_first.next()?;
    let mut alone = latest.points.iter().filter_map(constant_alone);
    let (first, second) = (alone.next(), alone.next());
    Some(CellEvidence {
        constant_per_cm: first.or_else(|| constant_kept(latest)),
        earlier_per_cm: latest_first.find_map(constant_of),
        standards_percent: first
            .zip(second)
            .map(|(first, second)| cell::standards_percent(first, second)),
        ..CellEvidence::default()
    })
}

/// The cell constant of a record's first point; of its coefficients where it has none.
fn constant_of(record: &CalibrationRecord) -> Option<f64> {
    record.points.iter().find_map(constant_alone).or_else(|| constant_kept(record))
}

const fn constant_kept(record: &CalibrationRecord) -> Option<f64> {
    match &record.result {
        CalibrationResult::Conductivity(calibration) => Some(calibration.cell_constant_per_cm),
        _ => None,
    }
}

/// The cell constant that a point gives by itself.
fn constant_alone(point: &Point) -> Option<f64> {
    stays::constant_alone(conductivity_point(point)?)
}

fn conductivity_point(point: &Point) -> Option<ConductivityPoint> {
    let Signal::Conductance(raw) = point.signal else {
        return None;
    };
    Some(ConductivityPoint {
        standard: MicrosiemensPerCm::new(point.value),
        standard_uncertainty: Some(point.value_uncertainty),
        standard_per_kelvin: point.value_per_kelvin,
        conductance: Microsiemens::new(raw.conductance_ps as f64 / 1e6),
        range: raw.range,
        temperature: Celsius::new(point.temperature_c),
        bottle: None,
    })
}
