//! How a standard is written on the command line.

use jiff::civil::Date;
use rillmark_proto::record::{Lot, Quantity, StandardName};
use rillmark_proto::reference::{buffers, conductivity_standards};
use rillmark_proto::routine::standard::{Planned, Printed, Source};

use crate::words::en::routine as words;

/// A standard as written: `NAME[,lot=…][,expires=…][,table=…,u=…][,at=…]`.
pub(in crate::command) struct Spec {
    /// For the routine.
    pub(in crate::command) planned: Planned,
    /// Temperature of the beaker on the virtual bench, in °C.
    pub(in crate::command) at_c: Option<f64>,
}

impl Spec {
    /// Understands a standard; the error is a sentence.
    pub(in crate::command) fn parse(text: &str, quantity: Quantity) -> Result<Self, String> {
        let mut parts = text.split(',').map(str::trim);
        let name = parts.next().unwrap_or_default();
        let (mut lot, mut expiry_days, mut table, mut uncertainty, mut at_c) =
            (Lot::new(), None, None, None, None);
        for part in parts {
            let (key, value) = part.split_once('=').ok_or_else(|| words::not_a_key(part, text))?;
            match key {
                "lot" => {
                    lot = Lot::try_from(value)
                        .map_err(|_| words::lot_too_long(value, Lot::new().capacity()))?;
                }
                "expires" => expiry_days = Some(days(value)?),
                "table" => table = Some(rows(value)?),
                "u" => uncertainty = Some(number(value)?),
                "at" => at_c = Some(number(value)?),
                _ => return Err(words::not_a_key(part, text)),
            }
        }
        let source = match (table, uncertainty) {
            (Some(rows), Some(u)) => Source::Printed(
                Printed::try_new(quantity, &rows, u).map_err(|why| words::printed(&why))?,
            ),
            (None, None) => published(name, quantity)?,
            (Some(_), None) | (None, Some(_)) => return Err(words::TABLE_WITH_U.to_owned()),
        };
        // A name of the literature is kept in full, whatever alias was typed.
        let name = match &source {
            Source::Buffer(buffer) => buffer.name(),
            Source::Solution(standard) => standard.name(),
            Source::Printed(_) => name,
        };
        let fits = |name: &str| StandardName::try_from(name);
        let name =
            fits(name).map_err(|_| words::name_too_long(name, StandardName::new().capacity()))?;
        Ok(Self { planned: Planned { name, lot, expiry_days, source }, at_c })
    }
}

fn published(name: &str, quantity: Quantity) -> Result<Source, String> {
    let found = match quantity {
        Quantity::Ph => buffers::by_name(name).map(Source::Buffer),
        Quantity::Conductivity => conductivity_standards::by_name(name).map(Source::Solution),
    };
    found.ok_or_else(|| {
        let known: Vec<_> = match quantity {
            Quantity::Ph => buffers::ALL.iter().map(buffers::Buffer::name).collect(),
            Quantity::Conductivity => {
                let all = conductivity_standards::ALL.iter();
                all.map(conductivity_standards::Standard::name).collect()
            }
        };
        words::unknown_standard(name, &known)
    })
}

fn number(text: &str) -> Result<f64, String> {
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

/// A date as days since 1970-01-01.
fn days(text: &str) -> Result<i32, String> {
    let date: Date = text.parse().map_err(|_| words::no_date(text))?;
    let span = date.duration_since(jiff::civil::date(1970, 1, 1));
    i32::try_from(span.as_hours() / 24).map_err(|_| words::no_date(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_standard_is_understood_with_everything_that_may_stand_behind_it() {
        let spec = Spec::parse("1413,lot=A12,expires=2027-03-31,at=21.5", Quantity::Conductivity)
            .expect("well formed");
        assert_eq!(spec.planned.name.as_str(), "kcl-0.01-mol-per-l");
        assert_eq!(spec.planned.lot.as_str(), "A12");
        // 2027-03-31 is 20 909 days after 1970-01-01: 57 years with 14 leap days, then 89 days.
        assert_eq!(spec.planned.expiry_days, Some(57 * 365 + 14 + 89));
        assert_eq!(spec.at_c, Some(21.5));
    }

    #[test]
    fn a_bottle_with_its_own_table_keeps_its_own_name() {
        let spec = Spec::parse("our 7,table=20:7.02/25:7.00,u=0.02", Quantity::Ph).expect("fine");
        assert_eq!(spec.planned.name.as_str(), "our 7");
        assert_eq!(spec.planned.source.range(), (20.0, 25.0));
    }

    #[test]
    fn what_is_not_understood_is_a_sentence() {
        for text in [
            "phthalate",
            "",
            "borax,lot",
            "borax,colour=red",
            "borax,expires=31.3.2027",
            "borax,at=warm",
            "borax,lot=01234567890123456",
            "own,table=20:7.02",
            "own,table=20-7.02,u=0.02",
            "own,table=25:7.0/20:7.02,u=0.02",
            "own,table=25:7.0,u=-1",
            "1413",
        ] {
            let sentence = Spec::parse(text, Quantity::Ph).map(|_| ()).expect_err(text);
            assert!(sentence.ends_with('.'), "{text}: {sentence}");
        }
    }
}
