//! A bottle in a TOML file: its own values against temperature, and all that its label says.

use std::fs;
use std::ops::Range;

use rillmark_proto::record::Quantity;
use rillmark_proto::reference::conductivity_standards::Basis;
use rillmark_proto::routine::standard::{Planned, Printed, PrintedError, Source, Stated};
use serde::Deserialize;
use toml::Spanned;
use toml::value::Datetime;

use super::{keys, published, standard_name};
use crate::words::en::standard as words;

/// Coverage factors that a certificate can mean: 1 is a standard uncertainty, 3.3 covers a normal
/// distribution to 99.9 %.
const COVERAGE: (f64, f64) = (1.0, 4.0);

/// Rows of a temperature in °C and a value each. A tuple would not see a third number.
type Rows = Vec<Spanned<Vec<f64>>>;

/// The file, key by key. The README explains it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct File {
    quantity: Spanned<Kind>,
    name: Option<Spanned<String>>,
    published: Option<Spanned<String>>,
    values: Option<Spanned<Rows>>,
    unit: Option<Spanned<Unit>>,
    standard_uncertainty: Option<Spanned<f64>>,
    standard_uncertainty_percent: Option<Spanned<f64>>,
    expanded_uncertainty: Option<Spanned<f64>>,
    expanded_uncertainty_percent: Option<Spanned<f64>>,
    coverage_factor: Option<Spanned<f64>>,
    basis: Option<Spanned<FileBasis>>,
    lot: Option<Spanned<String>>,
    expires: Option<Spanned<Datetime>>,
    opened: Option<Spanned<Datetime>>,
    opened_limit_days: Option<u16>,
    #[serde(default)]
    single_use: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
enum Kind {
    #[serde(rename = "ph")]
    Ph,
    #[serde(rename = "conductivity")]
    Conductivity,
}

#[derive(Clone, Copy, Debug, Deserialize)]
enum Unit {
    #[serde(rename = "uS/cm", alias = "µS/cm", alias = "μS/cm")]
    MicrosiemensPerCm,
    #[serde(rename = "mS/cm")]
    MillisiemensPerCm,
    #[serde(rename = "mS/m")]
    MillisiemensPerM,
    #[serde(rename = "S/m")]
    SiemensPerM,
}

impl Unit {
    /// How many µS/cm one of it is.
    const fn us_cm(self) -> f64 {
        match self {
            Self::MicrosiemensPerCm => 1.0,
            Self::MillisiemensPerCm => 1_000.0,
            Self::MillisiemensPerM => 10.0,
            Self::SiemensPerM => 10_000.0,
        }
    }
}

#[derive(Clone, Copy, Debug, Deserialize)]
enum FileBasis {
    #[serde(rename = "mol/L", alias = "mol/l")]
    Molarity,
    #[serde(rename = "mol/kg")]
    Molality,
    #[serde(rename = "mass-fraction")]
    MassFraction,
    #[serde(rename = "label")]
    Label,
}

impl From<FileBasis> for Basis {
    fn from(basis: FileBasis) -> Self {
        match basis {
            FileBasis::Molarity => Self::Molarity,
            FileBasis::Molality => Self::Molality,
            FileBasis::MassFraction => Self::MassFraction,
            FileBasis::Label => Self::Label,
        }
    }
}

/// A sentence, and the bytes that it is about.
type Wrong = (Range<usize>, String);

/// Reads a bottle's file; the error is a sentence that names file and line.
pub(super) fn read(name: &str, quantity: Quantity) -> Result<Planned, String> {
    let text = fs::read_to_string(name).map_err(|error| words::cannot_read_file(name, &error))?;
    understand(&text, quantity).map_err(|(span, sentence)| {
        let before = text.as_bytes().iter().take(span.start);
        words::file_line(name, 1 + before.filter(|byte| **byte == b'\n').count(), &sentence)
    })
}

fn understand(text: &str, quantity: Quantity) -> Result<Planned, Wrong> {
    let file: File = toml::from_str(text)
        .map_err(|error| (error.span().unwrap_or(0..0), words::toml_message(error.message())))?;
    let kind = match quantity {
        Quantity::Ph => Some(Kind::Ph),
        Quantity::Conductivity => Some(Kind::Conductivity),
        // No bottle holds a temperature.
        Quantity::Temperature => None,
    };
    if Some(*file.quantity.get_ref()) != kind {
        return Err((file.quantity.span(), words::OTHER_QUANTITY.to_owned()));
    }
    let planned = match (&file.published, &file.values) {
        (Some(name), None) => of_the_literature(&file, name, quantity)?,
        (None, Some(values)) => of_its_own(&file, values, quantity)?,
        (Some(name), Some(_)) => return Err((name.span(), words::BOTH_VALUES.to_owned())),
        (None, None) => return Err((file.quantity.span(), words::NO_VALUES.to_owned())),
    };
    let lot = file.lot.as_ref().map(|lot| keys::lot(lot.get_ref()).map_err(|s| (lot.span(), s)));
    Ok(Planned {
        lot: lot.transpose()?.unwrap_or(planned.lot),
        expiry_days: days(file.expires.as_ref())?,
        opened_days: days(file.opened.as_ref())?,
        single_use: file.single_use,
        opened_limit_days: file.opened_limit_days,
        basis: file.basis.as_ref().map(|basis| (*basis.get_ref()).into()).or(planned.basis),
        ..planned
    })
}

/// A bottle whose values are those of the literature.
fn of_the_literature(
    file: &File,
    name: &Spanned<String>,
    quantity: Quantity,
) -> Result<Planned, Wrong> {
    let own = [
        file.name.as_ref().map(Spanned::span),
        file.unit.as_ref().map(Spanned::span),
        file.basis.as_ref().map(Spanned::span),
        file.coverage_factor.as_ref().map(Spanned::span),
    ];
    let uncertainties = uncertainties(file).map(|(stated, ..)| stated.map(Spanned::span));
    if let Some(span) = own.into_iter().chain(uncertainties).flatten().next() {
        return Err((span, words::NOT_WITH_PUBLISHED.to_owned()));
    }
    published(name.get_ref(), quantity).map_err(|sentence| (name.span(), sentence))
}

/// A bottle with a table of its own.
fn of_its_own(file: &File, values: &Spanned<Rows>, quantity: Quantity) -> Result<Planned, Wrong> {
    let name = file.name.as_ref().ok_or((values.span(), words::NO_NAME.to_owned()))?;
    let scale = match (quantity, &file.unit) {
        (Quantity::Ph, None) => 1.0,
        (Quantity::Ph, Some(unit)) => return Err((unit.span(), words::PH_HAS_NO_UNIT.to_owned())),
        (Quantity::Conductivity, Some(unit)) => unit.get_ref().us_cm(),
        (Quantity::Conductivity, None) => return Err((values.span(), words::NO_UNIT.to_owned())),
        (Quantity::Temperature, _) => {
            return Err((file.quantity.span(), words::OTHER_QUANTITY.to_owned()));
        }
    };
    let (stated, stated_at) = uncertainty(file, values, quantity, scale)?;
    let rows = values.get_ref();
    let scaled = rows.iter().map(|row| match row.get_ref().as_slice() {
        [celsius, value] => Ok((*celsius, value * scale)),
        _ => Err((row.span(), words::NO_TOML_ROW.to_owned())),
    });
    let scaled = scaled.collect::<Result<Vec<_>, _>>()?;
    let printed = Printed::try_new(quantity, &scaled, stated).map_err(|why| {
        let at = match why {
            PrintedError::Row { row } => rows.get(row - 1).map(Spanned::span),
            PrintedError::Uncertainty { .. } => Some(stated_at),
            PrintedError::Empty | PrintedError::TooMany { .. } => None,
        };
        (at.unwrap_or(values.span()), words::printed(&why))
    })?;
    let name = standard_name(name.get_ref()).map_err(|sentence| (name.span(), sentence))?;
    Ok(Planned::new(name, Source::Printed(printed)))
}

/// The four ways to state an uncertainty: the number, expanded, in percent.
fn uncertainties(file: &File) -> impl Iterator<Item = (Option<&Spanned<f64>>, bool, bool)> {
    [
        (file.standard_uncertainty.as_ref(), false, false),
        (file.standard_uncertainty_percent.as_ref(), false, true),
        (file.expanded_uncertainty.as_ref(), true, false),
        (file.expanded_uncertainty_percent.as_ref(), true, true),
    ]
    .into_iter()
}

/// The standard uncertainty (k = 1), and where the file states it.
fn uncertainty(
    file: &File,
    values: &Spanned<Rows>,
    quantity: Quantity,
    scale: f64,
) -> Result<(Stated, Range<usize>), Wrong> {
    let mut stated = uncertainties(file)
        .filter_map(|(number, expanded, percent)| Some((number?, expanded, percent)));
    let Some((number, expanded, percent)) = stated.next() else {
        return Err((values.span(), words::NO_UNCERTAINTY.to_owned()));
    };
    if let Some((second, ..)) = stated.next() {
        let later = [number.span(), second.span()].into_iter().max_by_key(|span| span.start);
        return Err((later.unwrap_or_default(), words::TWO_UNCERTAINTIES.to_owned()));
    }
    let factor = match (expanded, &file.coverage_factor) {
        (false, None) => 1.0,
        (false, Some(k)) => return Err((k.span(), words::COVERAGE_OF_STANDARD.to_owned())),
        (true, None) => return Err((number.span(), words::NO_COVERAGE.to_owned())),
        (true, Some(k)) => {
            let (min, max) = COVERAGE;
            if !(min..=max).contains(k.get_ref()) {
                return Err((k.span(), words::bad_coverage(*k.get_ref(), min, max)));
            }
            *k.get_ref()
        }
    };
    if percent && quantity == Quantity::Ph {
        return Err((number.span(), words::PH_IN_PERCENT.to_owned()));
    }
    let standard = number.get_ref() / factor;
    let stated = match percent {
        true => Stated::Relative(standard / 100.0),
        false => Stated::Absolute(standard * scale),
    };
    Ok((stated, number.span()))
}

/// A date without a time, as days since 1970-01-01.
fn days(date: Option<&Spanned<Datetime>>) -> Result<Option<i32>, Wrong> {
    let Some(date) = date else { return Ok(None) };
    let day = match date.get_ref() {
        Datetime { date: Some(day), time: None, offset: None } => {
            // A year of a TOML date has four digits, a month and a day two.
            let (year, month, day) = (day.year as i16, day.month as i8, day.day as i8);
            jiff::civil::Date::new(year, month, day).ok().and_then(keys::days)
        }
        _ => None,
    };
    day.map(Some).ok_or_else(|| (date.span(), words::NO_TOML_DATE.to_owned()))
}

#[cfg(test)]
#[path = "bottle_file_tests.rs"]
mod tests;
