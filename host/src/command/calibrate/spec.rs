//! How a standard is written on the command line.

mod beside;
mod bottle_file;
mod keys;
mod on_bench;

use rillmark_proto::record::{Quantity, StandardName};
use rillmark_proto::reference::{buffers, conductivity_standards};
use rillmark_proto::routine::standard::{Planned, Printed, Source, Stated};

use self::keys::Keys;
pub(in crate::command) use self::on_bench::OnBench;
use crate::words::en::standard as words;

/// A standard as written: its name, and behind it what `calibrate --help` lists.
#[derive(Debug)]
pub(in crate::command) struct Spec {
    /// For the routine.
    pub(in crate::command) planned: Planned,
    /// For the virtual bench.
    pub(in crate::command) on_bench: OnBench,
}

impl Spec {
    /// Understands a standard; the error is a sentence.
    pub(in crate::command) fn parse(text: &str, quantity: Quantity) -> Result<Self, String> {
        let mut parts = text.split(',').map(str::trim);
        let name = parts.next().unwrap_or_default();
        let mut keys = Keys::parse(parts, text)?;
        if quantity == Quantity::Temperature {
            let planned = overridden(beside::planned(name, &mut keys)?, &keys);
            return Ok(Self { planned, on_bench: keys.on_bench });
        }
        if let Some(file) = file(name) {
            if keys.table.is_some() || keys.uncertainty.is_some() {
                let key = if keys.table.is_some() { "table" } else { "u" };
                return Err(words::not_behind_a_file(key));
            }
            let planned = overridden(bottle_file::read(file, quantity)?, &keys);
            return Ok(Self { planned, on_bench: keys.on_bench });
        }
        let planned = match (keys.table.take(), keys.uncertainty) {
            (Some(rows), Some(u)) => {
                let printed = Printed::try_new(quantity, &rows, Stated::Absolute(u));
                let printed = printed.map_err(|why| words::printed(&why))?;
                Planned::new(standard_name(name)?, Source::Printed(printed))
            }
            (None, None) => published(name, quantity)?,
            (Some(_), None) | (None, Some(_)) => return Err(words::TABLE_WITH_U.to_owned()),
        };
        Ok(Self { planned: overridden(planned, &keys), on_bench: keys.on_bench })
    }
}

/// The file of a bottle: `FILE.toml`, or `file=FILE` whatever its ending.
fn file(name: &str) -> Option<&str> {
    let ends = |name: &str| name.len() > 5 && name.to_ascii_lowercase().ends_with(".toml");
    name.strip_prefix("file=").or_else(|| ends(name).then_some(name))
}

/// What stands on the command line goes before what was known.
fn overridden(planned: Planned, keys: &Keys) -> Planned {
    Planned {
        lot: keys.lot.clone().unwrap_or(planned.lot),
        expiry_days: keys.expiry_days.or(planned.expiry_days),
        opened_days: keys.opened_days.or(planned.opened_days),
        single_use: keys.single_use || planned.single_use,
        opened_limit_days: keys.opened_limit_days.or(planned.opened_limit_days),
        ..planned
    }
}

fn standard_name(name: &str) -> Result<StandardName, String> {
    StandardName::try_from(name)
        .map_err(|_| words::name_too_long(name, StandardName::new().capacity()))
}

/// A standard of the literature, under its full name, whatever alias was typed.
fn published(name: &str, quantity: Quantity) -> Result<Planned, String> {
    let found = match quantity {
        Quantity::Ph => {
            buffers::by_name(name).map(|buffer| (buffer.name(), Source::Buffer(buffer)))
        }
        Quantity::Conductivity => conductivity_standards::by_name(name)
            .map(|standard| (standard.name(), Source::Solution(standard))),
        Quantity::Temperature => None,
    };
    let Some((name, source)) = found else {
        let known: Vec<_> = match quantity {
            Quantity::Ph => buffers::ALL.iter().map(buffers::Buffer::name).collect(),
            Quantity::Conductivity => {
                let all = conductivity_standards::ALL.iter();
                all.map(conductivity_standards::Standard::name).collect()
            }
            Quantity::Temperature => Vec::new(),
        };
        return Err(words::unknown_standard(name, &known));
    };
    Ok(Planned::new(standard_name(name)?, source))
}

#[cfg(test)]
mod tests;
