//! What the demo came to, for people and machines.

use std::path::{Path, PathBuf};

use rillmark_proto::record::Quantity;
use serde_json::{Value, json};

use super::super::calibrate::guide::Done;
use super::super::output::{Lean, Table};
use super::super::record_view::{calibration_brief, calibration_json};
use super::check::Check;
use crate::exit::{Exit, Failure};
use crate::session::replay::Summary;
use crate::session::source::Source;
use crate::words::en::demo as words;

/// Lowest, mean and highest of a column of the log.
#[derive(Clone, Copy, Debug)]
struct Spread {
    name: &'static str,
    label: &'static str,
    digits: usize,
    lowest: f64,
    mean: f64,
    highest: f64,
}

/// Everything to tell at the end.
pub(super) struct Outcome {
    folder: PathBuf,
    records: [Done; 2],
    pub(super) checks: [Check; 2],
    summary: Summary,
    spreads: Vec<Spread>,
    files: Vec<(String, u64)>,
}

impl Outcome {
    /// Reads the session once more, and the folder.
    pub(super) fn of(
        folder: &Path,
        session: &Path,
        records: [Done; 2],
        checks: [Check; 2],
    ) -> Result<Self, Failure> {
        let failed = |error: std::io::Error| {
            Failure::new(Exit::Storage, words::cannot_read(&folder.display(), &error))
        };
        let source = Source::of(session)?;
        let opened = source.session()?;
        let mut columns: [Vec<f64>; 3] = Default::default();
        let summary = source.replay(&opened, &[], |replayed| {
            let computed = &replayed.assessment.computed;
            let values = [computed.temperature_c, computed.ph, computed.specific_conductance_us_cm];
            for (column, value) in columns.iter_mut().zip(values) {
                column.extend(value.map(f64::from));
            }
        })?;
        let names = [
            ("temperature_c", words::TEMPERATURE, 2),
            ("ph", words::PH, 3),
            ("specific_conductance_us_cm", words::SPECIFIC_CONDUCTANCE, 1),
        ];
        let spreads =
            names.into_iter().zip(&columns).filter_map(|((name, label, digits), column)| {
                let mean = column.iter().sum::<f64>() / column.len() as f64;
                let lowest = column.iter().copied().reduce(f64::min)?;
                let highest = column.iter().copied().reduce(f64::max)?;
                Some(Spread { name, label, digits, lowest, mean, highest })
            });
        let mut files = Vec::new();
        for entry in std::fs::read_dir(folder).map_err(failed)? {
            let entry = entry.map_err(failed)?;
            let size = entry.metadata().map_err(failed)?.len();
            files.push((entry.file_name().to_string_lossy().into_owned(), size));
        }
        files.sort();
        Ok(Self {
            folder: folder.to_path_buf(),
            records,
            checks,
            summary,
            spreads: spreads.collect(),
            files,
        })
    }

    pub(super) fn text(&self) -> String {
        let mut calibrations = Table::pairs();
        for done in &self.records {
            calibrations.row([done.id.short().to_string(), calibration_brief(&done.record)]);
        }
        let mut checks = Table::new(&[
            (words::CHECK_STANDARD, Lean::Left),
            ("°C", Lean::Right),
            (words::EXPECTED, Lean::Right),
            (words::FOUND, Lean::Right),
            (words::WITHIN, Lean::Left),
        ]);
        for check in &self.checks {
            let digits = if check.quantity == Quantity::Ph { 3 } else { 1 };
            checks.row([
                check.standard.to_owned(),
                format!("{:.2}", check.temperature_c),
                format!("{:.digits$} {}", check.expected, check.unit()),
                format!("{:.digits$} {}", check.found, check.unit()),
                if check.within() { words::YES } else { words::NO }.to_owned(),
            ]);
        }
        let mut lake = Table::new(&[
            (words::IN_THE_LAKE, Lean::Left),
            (words::LOWEST, Lean::Right),
            (words::MEAN, Lean::Right),
            (words::HIGHEST, Lean::Right),
        ]);
        for spread in &self.spreads {
            let digits = spread.digits;
            let text = |value: f64| format!("{value:.digits$}");
            let row = [spread.lowest, spread.mean, spread.highest].map(text);
            lake.row([spread.label.to_owned()].into_iter().chain(row));
        }
        let mut files = Table::new(&[
            (words::FILE, Lean::Left),
            (words::BYTES, Lean::Right),
            (words::WHAT, Lean::Left),
        ]);
        for (name, size) in &self.files {
            files.row([name.clone(), size.to_string(), words::file(name).to_owned()]);
        }
        format!(
            "{}\n{}\n{}\n{}\n{}\n{}\n",
            words::INVENTED,
            calibrations.text(),
            checks.text(),
            lake.text(),
            words::replayed(self.summary.readings, self.summary.mismatches),
            words::files(&self.folder.display(), &files.text()),
        )
    }

    pub(super) fn json(&self) -> Value {
        json!({
            "invented": true,
            "folder": self.folder.display().to_string(),
            "records": self.records.iter().map(|done| {
                let mut value = calibration_json(&done.record);
                value["id"] = json!(done.id.to_string());
                value
            }).collect::<Vec<_>>(),
            "checks": self.checks.iter().map(|check| json!({
                "standard": check.standard,
                "unit": if check.quantity == Quantity::Ph { "pH" } else { "uS/cm" },
                "temperature_c": check.temperature_c,
                "expected": check.expected,
                "found": check.found,
                "within_tolerance": check.within(),
            })).collect::<Vec<_>>(),
            "lake": self.spreads.iter().map(|spread| (spread.name.to_owned(), json!({
                "lowest": spread.lowest, "mean": spread.mean, "highest": spread.highest,
            }))).collect::<serde_json::Map<_, _>>(),
            "replay": {
                "readings": self.summary.readings,
                "mismatches": self.summary.mismatches,
                "gaps": self.summary.gaps,
                "damaged_bytes": self.summary.damaged_bytes,
            },
            "files": self.files.iter().map(|(name, _)| name).collect::<Vec<_>>(),
        })
    }
}
