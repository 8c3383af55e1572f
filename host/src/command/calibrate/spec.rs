//! How a standard is written on the command line.

mod beside;
mod bottle_file;
mod keys;
mod on_bench;
mod sachet;

use std::io::{BufRead, Write};

use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_procedures::routine::standard::{
    Made, Planned, Printed, PrintedError, Source, Stated, UNSTATED_PH, UNSTATED_RELATIVE,
};
use rillmark_proto::record::{Quantity, StandardName};

use self::bottle_file::Bottle;
use self::keys::Keys;
pub(in crate::command) use self::on_bench::OnBench;
use self::sachet::Sachet;
use crate::command::typed::plain;
use crate::words::en::{sachet as sachet_words, standard as words, typed as typed_words};

/// A standard as written: its name, and behind it what `calibrate --help` lists.
#[derive(Debug)]
pub(in crate::command) struct Spec {
    /// For the routine.
    pub(in crate::command) planned: Planned,
    /// For the virtual bench.
    pub(in crate::command) on_bench: OnBench,
    /// What its maker says of it, which is shown and not kept.
    pub(in crate::command) said: Said,
    /// How it was dissolved, as far as that was written.
    sachet: Option<Sachet>,
}

/// What a bottle's maker says of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(in crate::command) struct Said {
    pub(in crate::command) statement: Option<String>,
    pub(in crate::command) traceable_to: Option<String>,
}

impl Spec {
    /// Understands a standard; the error is a sentence.
    pub(in crate::command) fn parse(text: &str, quantity: Quantity) -> Result<Self, String> {
        let mut parts = text.split(',').map(str::trim);
        let name = parts.next().unwrap_or_default();
        let mut keys = Keys::parse(parts, text)?;
        let bottle = match (quantity, file(name)) {
            (Quantity::Temperature, _) => beside::planned(name, &mut keys)?.into(),
            (_, Some(file)) if keys.table.is_none() && keys.stated.is_none() => {
                bottle_file::read(file, quantity)?
            }
            (_, Some(_)) => return Err(words::NOT_BEHIND_A_FILE.to_owned()),
            (_, None) => named(name, quantity, &mut keys)?.into(),
        };
        let Bottle { planned, said, sachet } = bottle;
        let mut planned = overridden(planned, &keys);
        let sachet = match (sachet, keys.sachet) {
            (Some(file), Some(over)) => Some(file.overridden(over)),
            (file, written) => file.or(written),
        };
        match sachet {
            Some(_) if planned.made == Made::Weighed => {
                return Err(sachet_words::SACHET_OR_WEIGHED.to_owned());
            }
            Some(_) if planned.opened_days.is_some() => {
                return Err(sachet_words::NOT_OPENED.to_owned());
            }
            sachet => {
                if let Some(dissolved) = sachet.and_then(Sachet::dissolved) {
                    planned.made = Made::Sachet(dissolved);
                }
            }
        }
        Ok(Self { planned, on_bench: keys.on_bench, said, sachet })
    }

    /// Asks for what was not said of a sachet, where a person is there to be asked; the error is a
    /// sentence that says what to add.
    pub(in crate::command) fn finish(
        &mut self,
        person: Option<&mut dyn BufRead>,
        out: &mut dyn Write,
    ) -> Result<(), String> {
        let Some(sachet) = self.sachet.filter(|_| !matches!(self.planned.made, Made::Sachet(_)))
        else {
            return Ok(());
        };
        let name = self.planned.name.as_str();
        let dissolved = person.and_then(|person| sachet.ask(name, person, out));
        let dissolved =
            dissolved.ok_or_else(|| sachet_words::unfinished(name, &sachet.missing()))?;
        self.planned.made = Made::Sachet(dissolved);
        Ok(())
    }
}

/// A standard of the literature, or one with a table behind its name.
fn named(name: &str, quantity: Quantity, keys: &mut Keys) -> Result<Planned, String> {
    let stated = keys.stated;
    if quantity == Quantity::Ph && matches!(stated, Some(Stated::Relative(_))) {
        return Err(words::PH_IN_PERCENT.to_owned());
    }
    let planned = match keys.table.take() {
        Some(rows) => {
            let printed = Printed::try_new(quantity, &rows, stated.unwrap_or(unstated(quantity)));
            let printed = printed.map_err(|why| words::printed(&why))?;
            Planned::new(standard_name(name)?, Source::Printed(printed))
        }
        None => published(name, quantity)?,
    };
    vouched(planned, stated)
}

/// The same with what is stated of it; the error is a sentence.
fn vouched(planned: Planned, stated: Option<Stated>) -> Result<Planned, String> {
    let value = planned.source.near_25().unwrap_or_default();
    let got = match stated {
        Some(Stated::Absolute(u)) => u,
        Some(Stated::Relative(fraction)) => fraction * value,
        None => 0.0,
    };
    if got >= value {
        return Err(words::printed(&PrintedError::Uncertainty { got }));
    }
    Ok(Planned { stated, ..planned })
}

/// What a bottle with values of its own is taken with when nothing is stated.
const fn unstated(quantity: Quantity) -> Stated {
    match quantity {
        Quantity::Ph | Quantity::Temperature => Stated::Absolute(UNSTATED_PH),
        Quantity::Conductivity => Stated::Relative(UNSTATED_RELATIVE),
    }
}

/// What a bottle's file holds; the error is a sentence.
pub(in crate::command) fn bottle(text: &str, quantity: Quantity) -> Result<Planned, String> {
    let read = bottle_file::understand(text, quantity);
    read.map(|bottle| bottle.planned).map_err(|(_, sentence)| sentence)
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
        made: if keys.weighed { Made::Weighed } else { planned.made },
        certificate: keys.certificate.clone().unwrap_or(planned.certificate),
        ..planned
    }
}

fn standard_name(name: &str) -> Result<StandardName, String> {
    plain(typed_words::NAME, name)?;
    if name.trim().is_empty() {
        return Err(words::NO_NAME.to_owned());
    }
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
