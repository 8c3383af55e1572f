//! What may stand behind a standard's name: `key=value` and words, with commas between.

use jiff::civil::{Date, date};
use rillmark_proto::record::Lot;

use super::OnBench;
use crate::words::en::standard as words;

/// What was written behind the name.
#[derive(Debug, Default)]
pub(super) struct Keys {
    pub(super) lot: Option<Lot>,
    pub(super) expiry_days: Option<i32>,
    pub(super) opened_days: Option<i32>,
    pub(super) single_use: bool,
    pub(super) opened_limit_days: Option<u16>,
    /// Rows of a table: temperature in °C, value.
    pub(super) table: Option<Vec<(f64, f64)>>,
    /// Standard uncertainty of the table's values.
    pub(super) uncertainty: Option<f64>,
    pub(super) on_bench: OnBench,
}

impl Keys {
    /// Understands the parts behind the name of `whole`; the error is a sentence.
    pub(super) fn parse<'a>(
        parts: impl Iterator<Item = &'a str>,
        whole: &str,
    ) -> Result<Self, String> {
        let mut keys = Self::default();
        for part in parts {
            match part.split_once('=') {
                Some(("lot", value)) => keys.lot = Some(lot(value)?),
                Some(("expires", value)) => keys.expiry_days = Some(days_of(value)?),
                Some(("opened", value)) => keys.opened_days = Some(days_of(value)?),
                Some(("opened-limit", value)) => keys.opened_limit_days = Some(limit(value)?),
                Some(("table", value)) => keys.table = Some(rows(value)?),
                Some(("u", value)) => keys.uncertainty = Some(number(value)?),
                Some(("at", value)) => keys.on_bench.stands_at(value)?,
                Some(("beaker", value)) => keys.on_bench.holds(value)?,
                None if part == "single-use" => keys.single_use = true,
                _ => return Err(words::not_a_key(part, whole)),
            }
        }
        Ok(keys)
    }
}

pub(super) fn lot(text: &str) -> Result<Lot, String> {
    Lot::try_from(text).map_err(|_| words::lot_too_long(text, Lot::new().capacity()))
}

fn limit(text: &str) -> Result<u16, String> {
    text.parse().map_err(|_| words::no_days(text))
}

pub(super) fn number(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|number: &f64| number.is_finite())
        .ok_or_else(|| words::no_number(text))
}

/// `C:VALUE/C:VALUE…`
fn rows(text: &str) -> Result<Vec<(f64, f64)>, String> {
    text.split('/')
        .map(|row| {
            let (celsius, value) = row.split_once(':').ok_or_else(|| words::no_row(row))?;
            Ok((number(celsius)?, number(value)?))
        })
        .collect()
}

fn days_of(text: &str) -> Result<i32, String> {
    text.parse().ok().and_then(days).ok_or_else(|| words::no_date(text))
}

/// A date as days since 1970-01-01.
pub(super) fn days(day: Date) -> Option<i32> {
    i32::try_from(day.duration_since(date(1970, 1, 1)).as_hours() / 24).ok()
}
