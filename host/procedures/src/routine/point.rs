//! Makes a point of a settled mean: the standard's value, what the old calibration found, and
//! whether the label can be believed.

mod label;

use super::collect::Mean;
use super::judgement::Judgement;
use super::limits;
use super::plan::{Plan, Situation};
use super::said::Said;
use super::standard::{Made, Planned, Reference, Value};
use rillmark_metrology::fit::conductivity::{ConductivityPoint, DEFAULT_STANDARD_UNCERTAINTY};
use rillmark_metrology::fit::of_one_bottle;
use rillmark_metrology::fit::ph::{DEFAULT_BUFFER_UNCERTAINTY, PhPoint};
use rillmark_metrology::fit::temperature::{DEFAULT_REFERENCE_UNCERTAINTY_K, TemperaturePoint};
use rillmark_proto::calibration::conductivity::Range;
use rillmark_proto::reading::RawConductance;
use rillmark_proto::record::{CalibrationResult, Point, Signal};
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm, Millivolts, Ohms, Ph};

/// The day of a host time in ms, counted from 1970-01-01 UTC.
pub(super) const fn day_of(utc_ms: i64) -> i64 {
    const MS_PER_DAY: i64 = 86_400_000;
    utc_ms.div_euclid(MS_PER_DAY)
}

/// The potential of a signal in mV, when it is one.
pub(super) const fn potential(signal: Signal) -> Option<Millivolts> {
    match signal {
        Signal::PotentialNv(nv) => Some(Millivolts::new(nv as f64 / 1e6)),
        Signal::Conductance(_) | Signal::ThermometerMilliohm(_) => None,
    }
}

/// The conductance of a signal in µS with its range, when it is one.
pub(super) const fn conductance(signal: Signal) -> Option<(Microsiemens, Range)> {
    match signal {
        Signal::Conductance(RawConductance { conductance_ps, range }) => {
            Some((Microsiemens::new(conductance_ps as f64 / 1e6), range))
        }
        Signal::PotentialNv(_) | Signal::ThermometerMilliohm(_) => None,
    }
}

/// The resistance of a thermometer's signal, when it is one.
const fn resistance(signal: Signal) -> Option<Ohms> {
    match signal {
        Signal::ThermometerMilliohm(milliohm) => Some(Ohms::new(milliohm as f64 / 1e3)),
        Signal::PotentialNv(_) | Signal::Conductance(_) => None,
    }
}

/// What coefficients make of a mean: pH, or µS/cm at its temperature.
pub(super) fn found(result: &CalibrationResult, mean: &Mean) -> Option<f64> {
    match result {
        CalibrationResult::Ph(ph) => ph.ph(potential(mean.signal)?, mean.temperature).map(Ph::get),
        CalibrationResult::Conductivity(cell) => {
            let (conductance, range) = conductance(mean.signal)?;
            cell.conductivity(conductance, range).map(MicrosiemensPerCm::get)
        }
        CalibrationResult::Temperature(thermometer) => {
            thermometer.temperature(resistance(mean.signal)?).map(Celsius::get)
        }
    }
}

/// The coefficients in force for what is calibrated.
pub(super) fn in_force(plan: &Plan, situation: &Situation) -> Option<CalibrationResult> {
    use rillmark_proto::record::Quantity;
    match plan.quantity {
        Quantity::Ph => situation.in_force.ph.map(CalibrationResult::Ph),
        Quantity::Conductivity => {
            situation.in_force.conductivity.map(CalibrationResult::Conductivity)
        }
        Quantity::Temperature => situation.in_force.temperature.map(CalibrationResult::Temperature),
    }
}

/// Value of a standard of the plan, number `n` counted from 1, at a mean's temperature, at a host time in
/// ms since 1970-01-01 UTC.
///
/// # Errors
/// The refusal, when the standard has no value at this temperature.
pub(super) fn value(
    n: u8,
    planned: &Planned,
    mean: &Mean,
    utc_ms: i64,
) -> Result<Value, Judgement> {
    let at = mean.temperature;
    planned.value(at, day_of(utc_ms)).map_err(|range| Judgement::StandardOutsideTable {
        point: n,
        temperature_c: at.get(),
        min_c: range.min,
        max_c: range.max,
    })
}

/// Judges a mean in a standard of the plan, number `n` counted from 1.
///
/// # Errors
/// The refusal, when the standard has no value at this temperature.
pub(super) fn make(
    n: u8,
    planned: &Planned,
    mean: &Mean,
    plan: &Plan,
    situation: &Situation,
) -> Result<(Point, Said), Judgement> {
    let value = value(n, planned, mean, situation.utc_ms)?;
    let old = in_force(plan, situation);
    let as_found = match resistance(mean.signal) {
        // A thermometer is read before its first calibration too.
        Some(resistance) => situation.in_force.celsius(resistance).map(Celsius::get),
        None => old.as_ref().and_then(|old| found(old, mean)),
    };
    let mut said = Said::new();
    said.say_all(match mean.signal {
        Signal::ThermometerMilliohm(_) => reference_far(n, value.value, mean.temperature.get()),
        _ => label::judge(n, value.value, as_found, mean, plan, situation),
    });
    Ok((taken(planned, value, mean, as_found), said))
}

/// The point of a mean in a standard of this value.
pub(super) fn taken(planned: &Planned, value: Value, mean: &Mean, as_found: Option<f64>) -> Point {
    let value_uncertainty = value.standard_uncertainty.unwrap_or(match mean.signal {
        Signal::PotentialNv(_) => DEFAULT_BUFFER_UNCERTAINTY.value,
        Signal::Conductance(_) => value.value * DEFAULT_STANDARD_UNCERTAINTY.value,
        Signal::ThermometerMilliohm(_) => DEFAULT_REFERENCE_UNCERTAINTY_K.value,
    });
    Point {
        standard: planned.name.clone(),
        lot: planned.lot.clone(),
        expiry_days: planned.expiry_days,
        opened_days: planned.opened_days,
        single_use: planned.single_use,
        dissolved: match planned.made {
            Made::Sachet(dissolved) => Some(dissolved),
            Made::Bought | Made::Weighed => None,
        },
        certificate: planned.certificate.clone(),
        basis: planned.basis,
        value: value.value,
        value_uncertainty,
        value_per_kelvin: planned.source.per_kelvin(mean.temperature),
        temperature_c: mean.temperature.get(),
        signal: mean.signal,
        as_found,
        settling: mean.settling,
    }
}

/// A standard, number `n` counted from 1, at a temperature far from that of the first one: while the
/// sensor's inside catches up with the thermometer, the reading belongs to neither temperature.
pub(super) fn beside(n: u8, first_c: f64, temperature_c: f64) -> Option<Judgement> {
    let limit_k = limits::TEMPERATURE_SPAN_K.value;
    let apart = libm::fabs(temperature_c - first_c) > limit_k;
    apart.then_some(Judgement::StandardTemperatureDiffers {
        point: n,
        temperature_c,
        first_c,
        limit_k,
    })
}

/// A reference, number `point` counted from 1, that cannot be beside the probe.
pub(super) fn reference_far(point: u8, reference_c: f64, found_c: f64) -> Option<Judgement> {
    let limit_k = limits::REFERENCE_FAR_K.value;
    let far = libm::fabs(reference_c - found_c) > limit_k;
    far.then_some(Judgement::ReferenceFarFromReading { point, reference_c, found_c, limit_k })
}

/// What stands against an answer of the operator to what the reference says, given so many ms after
/// the probe had settled: told too late, it belongs to another moment than the readings.
pub(super) fn reference_answer(reference_c: f64, waited_ms: i64) -> Option<Judgement> {
    let (min_c, max_c) = Reference::RANGE;
    // NaN fails both comparisons.
    if !(reference_c >= min_c && reference_c <= max_c) {
        return Some(Judgement::ReferenceImpossible { reference_c, min_c, max_c });
    }
    let limit_ms = limits::REFERENCE_READ_MS.value;
    let (waited_s, limit_s) = (waited_ms as f64 / 1000.0, limit_ms as f64 / 1000.0);
    (waited_ms > limit_ms).then_some(Judgement::ReferenceReadLate { waited_s, limit_s })
}

/// True for two points in one standard: the same name and lot.
fn same_standard(one: &Point, other: &Point) -> bool {
    (&one.standard, &one.lot) == (&other.standard, &other.lot)
}

/// The uncertainty of a point's value, of which several points in its bottle share the error.
fn shared_uncertainty(point: &Point, all: &[Point]) -> f64 {
    let in_it = all.iter().filter(|other| same_standard(point, other)).count();
    of_one_bottle(point.value_uncertainty, in_it)
}

/// Number of a point's bottle: that of the first point in it.
fn bottle(point: &Point, all: &[Point]) -> Option<usize> {
    all.iter().position(|other| same_standard(point, other))
}

/// A point as the pH fit wants it.
pub(super) fn ph_point(point: &Point, all: &[Point]) -> Option<PhPoint> {
    Some(PhPoint {
        buffer: Ph::new(point.value),
        buffer_uncertainty: Some(shared_uncertainty(point, all)),
        buffer_per_kelvin: point.value_per_kelvin,
        potential: potential(point.signal)?,
        temperature: Celsius::new(point.temperature_c),
        bottle: bottle(point, all),
    })
}

/// A point as the conductivity fit wants it.
pub(super) fn conductivity_point(point: &Point, all: &[Point]) -> Option<ConductivityPoint> {
    let (conductance, range) = conductance(point.signal)?;
    Some(ConductivityPoint {
        standard: MicrosiemensPerCm::new(point.value),
        standard_uncertainty: Some(shared_uncertainty(point, all)),
        standard_per_kelvin: point.value_per_kelvin,
        conductance,
        range,
        temperature: Celsius::new(point.temperature_c),
        bottle: bottle(point, all),
    })
}

/// A point as the thermometer's fit wants it; the same name and lot are the same reference.
pub(super) fn temperature_point(point: &Point, all: &[Point]) -> Option<TemperaturePoint> {
    Some(TemperaturePoint {
        reference: Celsius::new(point.value),
        reference_uncertainty_k: point.value_uncertainty,
        reference_number: bottle(point, all)?,
        resistance: resistance(point.signal)?,
    })
}
