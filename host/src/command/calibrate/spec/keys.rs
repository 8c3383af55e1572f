//! What may stand behind a standard's name: `key=value` and words, with commas between.

use jiff::civil::{Date, date};
use rillmark_procedures::routine::standard::{Stated, rectangle};
use rillmark_proto::record::{CertificateNumber, Lot};

use super::OnBench;
use super::sachet::{self, Sachet};
use crate::command::typed::plain;
use crate::words::en::{standard as words, typed as typed_words};

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
    /// Standard uncertainty that label or certificate state.
    pub(super) stated: Option<Stated>,
    pub(super) certificate: Option<CertificateNumber>,
    pub(super) sachet: Option<Sachet>,
    pub(super) weighed: bool,
    pub(super) on_bench: OnBench,
}

impl Keys {
    /// Understands the parts behind the name of `whole`; the error is a sentence.
    pub(super) fn parse<'a>(
        parts: impl Iterator<Item = &'a str>,
        whole: &str,
    ) -> Result<Self, String> {
        let mut keys = Self::default();
        let mut seen: Vec<&str> = Vec::new();
        for part in parts {
            let key = part.split_once('=').map_or(part, |(key, _)| key);
            // Which of the two is meant nobody knows; of `u` and `tolerance` see below.
            if seen.contains(&key) && !matches!(key, "u" | "tolerance") {
                return Err(words::twice(key, whole));
            }
            seen.push(key);
            match part.split_once('=') {
                Some(("lot", value)) => keys.lot = Some(lot(value)?),
                Some(("expires", value)) => keys.expiry_days = Some(days_of(value)?),
                Some(("opened", value)) => keys.opened_days = Some(days_of(value)?),
                Some(("opened-limit", value)) => keys.opened_limit_days = Some(limit(value)?),
                Some(("table", value)) => keys.table = Some(rows(value)?),
                Some((key @ ("u" | "tolerance"), value)) => {
                    if keys.stated.replace(stated(key, value)?).is_some() {
                        return Err(words::STATED_TWICE.to_owned());
                    }
                }
                Some(("certificate", value)) => keys.certificate = Some(certificate(value)?),
                Some(("water", value)) => keys.sachet().water = Some(sachet::water(value)?),
                Some(("vessel", value)) => keys.sachet().vessel = Some(sachet::vessel(value)?),
                Some(("dissolved", value)) => keys.sachet().days = Some(days_of(value)?),
                None if part == "sachet" => drop(keys.sachet()),
                None if part == "weighed" => keys.weighed = true,
                Some(("at", value)) => keys.on_bench.stands_at(value)?,
                Some(("beaker", value)) => keys.on_bench.holds(value)?,
                None if part == "single-use" => keys.single_use = true,
                _ => return Err(words::not_a_key(part, whole)),
            }
        }
        Ok(keys)
    }

    fn sachet(&mut self) -> &mut Sachet {
        self.sachet.get_or_insert_default()
    }
}

/// `u=` is a standard uncertainty, `tolerance=` half of the width of a rectangle; either in the unit of
/// the value, or in percent of it.
fn stated(key: &str, text: &str) -> Result<Stated, String> {
    let (digits, percent) = match text.strip_suffix('%') {
        Some(digits) => (digits.trim_end(), true),
        None => (text, false),
    };
    let half = number(digits)?;
    let u = if key == "tolerance" { rectangle(half) } else { half };
    if u <= 0.0 {
        return Err(words::not_above_zero(key, half));
    }
    Ok(if percent { Stated::Relative(u / 100.0) } else { Stated::Absolute(u) })
}

pub(super) fn certificate(text: &str) -> Result<CertificateNumber, String> {
    plain(typed_words::CERTIFICATE, text)?;
    CertificateNumber::try_from(text)
        .map_err(|_| words::certificate_too_long(text, CertificateNumber::new().capacity()))
}

pub(super) fn lot(text: &str) -> Result<Lot, String> {
    plain(typed_words::LOT, text)?;
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

pub(super) fn days_of(text: &str) -> Result<i32, String> {
    text.parse().ok().and_then(days).ok_or_else(|| words::no_date(text))
}

/// A date as days since 1970-01-01.
pub(super) fn days(day: Date) -> Option<i32> {
    i32::try_from(day.duration_since(date(1970, 1, 1)).as_hours() / 24).ok()
}
