//! Readings as CSV, units in the names of the columns.

use std::io::{self, Write};

use rillmark_metrology::assess::{Assessment, Remark};

use super::super::output::written;
use super::super::reading_view::range_ohm;
use super::super::record_view::quantity_code;
use crate::exit::Failure;
use crate::session::replay::{Match, Replayed};
use crate::session::time::utc_text;
use crate::words::en::assess::state_code;

const COLUMNS: [&str; 29] = [
    "running",
    "boot",
    "probe_ms",
    "utc",
    "ph",
    "temperature_c",
    "conductivity_us_cm",
    "specific_conductance_us_cm",
    "u_ph",
    "u_temperature_k",
    "u_conductivity_us_cm",
    "u_specific_conductance_us_cm",
    "ph_state",
    "temperature_state",
    "conductivity_state",
    "remarks",
    "ph_calibration_age_days",
    "conductivity_calibration_age_days",
    "temperature_calibration_age_days",
    "raw_potential_nv",
    "raw_conductance_ps",
    "raw_range_ohm",
    "raw_thermometer_milliohm",
    "flags",
    "ph_calibration",
    "conductivity_calibration",
    "temperature_calibration",
    "match",
    "utc_doubtful",
];

/// A CSV file being written; an undefined value is an empty field.
pub(super) struct CsvFile<'a> {
    writer: csv::Writer<&'a mut dyn Write>,
}

impl<'a> CsvFile<'a> {
    /// Onto an output that is open already.
    pub(super) fn over(out: &'a mut dyn Write) -> Result<Self, Failure> {
        let mut file = Self { writer: csv::Writer::from_writer(out) };
        file.row(&COLUMNS.map(str::to_owned))?;
        Ok(file)
    }

    pub(super) fn reading(&mut self, replayed: &Replayed) -> Result<(), Failure> {
        fn text<T: ToString>(value: Option<T>) -> String {
            value.map_or_else(String::new, |value| value.to_string())
        }
        // An uncertainty has two digits that mean something; three are kept.
        fn rounded(value: Option<f64>) -> String {
            value.map_or_else(String::new, |value| {
                let digits = 2 - value.abs().max(1e-9).log10().floor() as i32;
                format!("{value:.*}", usize::try_from(digits).unwrap_or(0))
            })
        }
        // Two minutes more or less of an age say nothing.
        fn days(age: f64) -> String {
            format!("{age:.3}")
        }
        let reading = &replayed.reading;
        let Assessment { uncertainty: uncertain, states, ages, remarks, .. } = &replayed.assessment;
        let values = replayed.values();
        let raw = &reading.raw;
        let flags: Vec<_> = reading.flags.names().collect();
        let remark = |remark: &Remark| match remark.quantity() {
            Some(quantity) => format!("{}:{}", remark.code(), quantity_code(quantity)),
            None => remark.code().to_owned(),
        };
        let remarks: Vec<_> = remarks.iter().map(remark).collect();
        let matches = match replayed.matches {
            Match::Same => "true",
            Match::Different => "false",
            Match::Unresolved => "",
        };
        self.row(&[
            reading.running.to_string(),
            reading.time.boot.to_string(),
            reading.time.ms.to_string(),
            text(replayed.utc_ms.and_then(utc_text)),
            text(values.ph),
            text(values.temperature_c),
            text(values.conductivity_us_cm),
            text(values.specific_conductance_us_cm),
            rounded(uncertain.ph),
            rounded(uncertain.temperature_k),
            rounded(uncertain.conductivity_us_cm),
            rounded(uncertain.specific_conductance_us_cm),
            text(states.ph.map(state_code)),
            text(states.temperature.map(state_code)),
            text(states.conductivity.map(state_code)),
            remarks.join(" "),
            text(ages.ph.map(days)),
            text(ages.conductivity.map(days)),
            text(ages.temperature.map(days)),
            text(raw.potential_nv),
            text(raw.conductance.map(|raw| raw.conductance_ps)),
            text(raw.conductance.map(|raw| range_ohm(raw.range))),
            text(raw.thermometer_milliohm),
            flags.join(" "),
            text(reading.calibrations.ph),
            text(reading.calibrations.conductivity),
            text(reading.calibrations.temperature),
            matches.to_owned(),
            replayed.is_utc_doubtful.to_string(),
        ])
    }

    fn row(&mut self, cells: &[String; COLUMNS.len()]) -> Result<(), Failure> {
        written(self.writer.write_record(cells).map_err(io::Error::from))
    }

    pub(super) fn finish(mut self) -> Result<(), Failure> {
        written(self.writer.flush())
    }
}
