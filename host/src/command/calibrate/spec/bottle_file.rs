//! A bottle in a TOML file: its own values against temperature, and all that its label says.

use std::ops::Range;

use rillmark_procedures::routine::standard::{
    Made, Planned, Printed, PrintedError, Source, Stated, rectangle,
};
use rillmark_proto::record::Basis;
use rillmark_proto::record::Quantity;
use serde::Deserialize;
use toml::Spanned;
use toml::value::Datetime;

use super::sachet::{self, Sachet};
use super::{Said, keys, published, standard_name, unstated, vouched};
use crate::command::input;
use crate::command::typed::plain;
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
    #[serde(default)]
    weighed: bool,
    label_tolerance: Option<Spanned<f64>>,
    label_tolerance_percent: Option<Spanned<f64>>,
    certificate: Option<Spanned<String>>,
    statement: Option<Spanned<String>>,
    traceable_to: Option<Spanned<String>>,
    sachet: Option<Spanned<FileSachet>>,
}

/// How it was dissolved, as far as the file says.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct FileSachet {
    water: Option<Spanned<String>>,
    vessel: Option<Spanned<String>>,
    dissolved: Option<Spanned<Datetime>>,
}

/// A bottle, with what its file says beside it.
#[derive(Debug)]
pub(super) struct Bottle {
    pub(super) planned: Planned,
    pub(super) said: Said,
    pub(super) sachet: Option<Sachet>,
}

impl From<Planned> for Bottle {
    fn from(planned: Planned) -> Self {
        Self { planned, said: Said::default(), sachet: None }
    }
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
pub(super) fn read(name: &str, quantity: Quantity) -> Result<Bottle, String> {
    let text = input::text(name.as_ref()).map_err(|error| words::cannot_read_file(name, &error))?;
    understand(&text, quantity).map_err(|(span, sentence)| {
        let before = text.as_bytes().iter().take(span.start);
        words::file_line(name, 1 + before.filter(|byte| **byte == b'\n').count(), &sentence)
    })
}

pub(super) fn understand(text: &str, quantity: Quantity) -> Result<Bottle, Wrong> {
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
    let lot = text_of(file.lot.as_ref(), keys::lot)?;
    let certificate = text_of(file.certificate.as_ref(), keys::certificate)?;
    let planned = Planned {
        lot: lot.unwrap_or(planned.lot),
        certificate: certificate.unwrap_or(planned.certificate),
        made: if file.weighed { Made::Weighed } else { Made::Bought },
        expiry_days: days(file.expires.as_ref())?,
        opened_days: days(file.opened.as_ref())?,
        single_use: file.single_use,
        opened_limit_days: file.opened_limit_days,
        basis: file.basis.as_ref().map(|basis| (*basis.get_ref()).into()).or(planned.basis),
        ..planned
    };
    let line =
        |what: &'static str| move |text: &str| plain(what, text).map(|text| text.trim().to_owned());
    let said = Said {
        statement: text_of(file.statement.as_ref(), line("statement"))?,
        traceable_to: text_of(file.traceable_to.as_ref(), line("traceable-to"))?,
    };
    let sachet = file.sachet.as_ref().map(|sachet| dissolved(sachet.get_ref())).transpose()?;
    Ok(Bottle { planned, said, sachet })
}

/// Understands a text where there is one.
fn text_of<T>(
    text: Option<&Spanned<String>>,
    understand: impl Fn(&str) -> Result<T, String>,
) -> Result<Option<T>, Wrong> {
    let understood = text.map(|text| understand(text.get_ref()).map_err(|s| (text.span(), s)));
    understood.transpose()
}

fn dissolved(sachet: &FileSachet) -> Result<Sachet, Wrong> {
    Ok(Sachet {
        water: text_of(sachet.water.as_ref(), sachet::water)?,
        vessel: text_of(sachet.vessel.as_ref(), sachet::vessel)?,
        days: days(sachet.dissolved.as_ref())?,
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
    ];
    if let Some(span) = own.into_iter().flatten().next() {
        return Err((span, words::NOT_WITH_PUBLISHED.to_owned()));
    }
    let planned =
        published(name.get_ref(), quantity).map_err(|sentence| (name.span(), sentence))?;
    // Of one value: that of the label, in the unit that labels are in.
    match uncertainty(file, quantity, 1.0)? {
        Some((stated, at)) => vouched(planned, Some(stated)).map_err(|sentence| (at, sentence)),
        None => Ok(planned),
    }
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
    let stated = uncertainty(file, quantity, scale)?;
    let (taken, stated_at) = match &stated {
        Some((stated, at)) => (*stated, at.clone()),
        None => (unstated(quantity), values.span()),
    };
    let rows = values.get_ref();
    let scaled = rows.iter().map(|row| match row.get_ref().as_slice() {
        [celsius, value] => Ok((*celsius, value * scale)),
        _ => Err((row.span(), words::NO_TOML_ROW.to_owned())),
    });
    let scaled = scaled.collect::<Result<Vec<_>, _>>()?;
    let printed = Printed::try_new(quantity, &scaled, taken).map_err(|why| {
        let at = match why {
            PrintedError::Row { row } => rows.get(row - 1).map(Spanned::span),
            PrintedError::Uncertainty { .. } => Some(stated_at),
            PrintedError::Empty | PrintedError::TooMany { .. } => None,
        };
        (at.unwrap_or(values.span()), words::printed(&why))
    })?;
    let name = standard_name(name.get_ref()).map_err(|sentence| (name.span(), sentence))?;
    let stated = stated.map(|(stated, _)| stated);
    Ok(Planned { stated, ..Planned::new(name, Source::Printed(printed)) })
}

/// What a number says of the values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Says {
    /// Their standard uncertainty.
    Standard,
    /// That, times the coverage factor.
    Expanded,
    /// How far off they are at most: half of the width of a rectangle.
    Limit,
}

/// The six ways to state an uncertainty: the number, what it says, in percent.
fn uncertainties(file: &File) -> impl Iterator<Item = (Option<&Spanned<f64>>, Says, bool)> {
    [
        (file.standard_uncertainty.as_ref(), Says::Standard, false),
        (file.standard_uncertainty_percent.as_ref(), Says::Standard, true),
        (file.expanded_uncertainty.as_ref(), Says::Expanded, false),
        (file.expanded_uncertainty_percent.as_ref(), Says::Expanded, true),
        (file.label_tolerance.as_ref(), Says::Limit, false),
        (file.label_tolerance_percent.as_ref(), Says::Limit, true),
    ]
    .into_iter()
}

/// The standard uncertainty (k = 1), and where the file states it, if it does.
fn uncertainty(
    file: &File,
    quantity: Quantity,
    scale: f64,
) -> Result<Option<(Stated, Range<usize>)>, Wrong> {
    let mut stated =
        uncertainties(file).filter_map(|(number, says, percent)| Some((number?, says, percent)));
    let Some((number, says, percent)) = stated.next() else {
        return match &file.coverage_factor {
            Some(k) => Err((k.span(), words::COVERAGE_OF_NOTHING.to_owned())),
            None => Ok(None),
        };
    };
    if let Some((second, ..)) = stated.next() {
        let later = [number.span(), second.span()].into_iter().max_by_key(|span| span.start);
        return Err((later.unwrap_or_default(), words::TWO_UNCERTAINTIES.to_owned()));
    }
    let factor = match (says, &file.coverage_factor) {
        (Says::Standard, None) => 1.0,
        (Says::Limit, None) => 1.0 / rectangle(1.0),
        (Says::Standard | Says::Limit, Some(k)) => {
            return Err((k.span(), words::COVERAGE_OF_STANDARD.to_owned()));
        }
        (Says::Expanded, None) => return Err((number.span(), words::NO_COVERAGE.to_owned())),
        (Says::Expanded, Some(k)) => {
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
    if !(number.get_ref().is_finite() && *number.get_ref() > 0.0) {
        let sentence = words::not_above_zero(words::UNCERTAINTY, *number.get_ref());
        return Err((number.span(), sentence));
    }
    let standard = number.get_ref() / factor;
    let stated = match percent {
        true => Stated::Relative(standard / 100.0),
        false => Stated::Absolute(standard * scale),
    };
    Ok(Some((stated, number.span())))
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
