//! Reads an independent standard, as the probe computes it, once it has settled.

use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_metrology::signal::settle::{
    CONDUCTANCE, POTENTIAL, Rule, TEMPERATURE_BESIDE_CELL, TEMPERATURE_BESIDE_PH, Window,
};
use rillmark_procedures::routine::limits;
use rillmark_proto::reading::{Flags, Reading};
use rillmark_proto::record::Quantity;
use rillmark_proto::units::Celsius;
use rillmark_proto::wire::message::Sampling;

use crate::exit::{Exit, Failure};
use crate::link::probe::Probe;
use crate::words::en::demo as words;

/// Longest wait for a standard to settle, in ms of probe time.
const PATIENCE_MS: u64 = limits::PATIENCE_MS.value;

/// When an electrode and its thermometer have settled.
const PH_RULES: (Rule, Rule) = (POTENTIAL, TEMPERATURE_BESIDE_PH);
/// When a cell and its thermometer have settled.
const CONDUCTIVITY_RULES: (Rule, Rule) = (CONDUCTANCE, TEMPERATURE_BESIDE_CELL);

/// What was read in a standard that the calibration did not use.
#[derive(Clone, Debug)]
pub(super) struct Check {
    pub(super) quantity: Quantity,
    pub(super) standard: &'static str,
    /// pH, or µS/cm at the standard's own temperature.
    pub(super) expected: f64,
    pub(super) found: f64,
    pub(super) temperature_c: f64,
}

impl Check {
    pub(super) fn unit(&self) -> &'static str {
        match self.quantity {
            Quantity::Ph => "pH",
            Quantity::Conductivity => "µS/cm",
            Quantity::Temperature => "°C",
        }
    }

    /// True within the tolerance that a calibration allows as found.
    pub(super) fn within(&self) -> bool {
        let off = (self.found - self.expected).abs();
        match self.quantity {
            Quantity::Ph => off <= limits::AS_FOUND_PH.value,
            Quantity::Conductivity => off <= self.expected * limits::AS_FOUND_PERCENT.value / 100.0,
            Quantity::Temperature => off <= limits::AS_FOUND_K.value,
        }
    }
}

/// pH in a buffer.
pub(super) fn ph(probe: &mut Probe, name: &'static str, at_c: f64) -> Result<Check, Failure> {
    let (found, temperature) = settled(probe, name, at_c, Sampling::Ph, PH_RULES, |reading| {
        Some((reading.raw.potential()?.get(), f64::from(reading.computed.ph?)))
    })?;
    let buffer = buffers::by_name(name).ok_or_else(no_value)?;
    let expected = buffer.ph(temperature).map_err(|_| no_value())?.value;
    let temperature_c = temperature.get();
    Ok(Check { quantity: Quantity::Ph, standard: name, expected, found, temperature_c })
}

/// Conductivity in a standard.
pub(super) fn conductivity(
    probe: &mut Probe,
    name: &'static str,
    at_c: f64,
) -> Result<Check, Failure> {
    let sampling = Sampling::Conductivity;
    let (found, temperature) =
        settled(probe, name, at_c, sampling, CONDUCTIVITY_RULES, |reading| {
            let conductivity = f64::from(reading.computed.conductivity_us_cm?);
            (conductivity > 0.0).then(|| (100.0 * conductivity.ln(), conductivity))
        })?;
    let standard = conductivity_standards::by_name(name).ok_or_else(no_value)?;
    let expected = standard.conductivity(temperature).map_err(|_| no_value())?.value;
    let temperature_c = temperature.get();
    Ok(Check { quantity: Quantity::Conductivity, standard: name, expected, found, temperature_c })
}

fn no_value() -> Failure {
    Failure::new(Exit::BadInput, words::CHECK_HAS_NO_VALUE)
}

/// Places, waits, and gives the mean of what the probe computed with the mean temperature.
fn settled(
    probe: &mut Probe,
    name: &str,
    at_c: f64,
    sampling: Sampling,
    (rule, warm): (Rule, Rule),
    signal: impl Fn(&Reading) -> Option<(f64, f64)>,
) -> Result<(f64, Celsius), Failure> {
    probe.link_mut().place(name, Some(at_c))?;
    probe.sample(sampling)?;
    probe.forget_readings();
    // The thermometer has to have come along too: a window of its own.
    let (mut window, mut temperatures) = (Window::new(rule), Window::new(warm));
    let mut began = None;
    loop {
        let quiet = || Failure::new(Exit::Probe, words::CHECK_QUIET);
        let reading = probe.next_reading(PATIENCE_MS)?.ok_or_else(quiet)?.reading;
        let (boot, ms) = (reading.time.boot, reading.time.ms);
        if let (Some((value, computed)), Some(celsius)) =
            (signal(&reading), reading.computed.temperature_c)
        {
            let celsius = f64::from(celsius);
            window.push(boot, ms, value, (computed, celsius));
            if !reading.flags.has(Flags::TEMPERATURE_HELD) {
                temperatures.push(boot, ms, celsius, ());
            }
        }
        if window.verdict().settled && temperatures.verdict().settled {
            break;
        }
        if ms.saturating_sub(*began.get_or_insert(ms)) > PATIENCE_MS {
            return Err(Failure::new(Exit::Refused, words::CHECK_NOT_SETTLED));
        }
    }
    probe.sample(Sampling::Off)?;
    probe.forget_readings();
    let count = window.entries().len() as f64;
    let (found, celsius) = window
        .entries()
        .fold((0.0, 0.0), |(found, celsius), entry| (found + entry.with.0, celsius + entry.with.1));
    Ok((found / count, Celsius::new(celsius / count)))
}
