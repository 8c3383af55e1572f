//! `rillmark equip`: what is fitted to the board now.

use clap::Args;
use rillmark_proto::record::fitted::{Equipment, Fitted, Serial};
use serde_json::json;

use super::record_view::{Kept, equipment_json, kept_records};
use super::typed::plain;
use super::{Context, output};
use crate::exit::{Exit, Failure};
use crate::link::probe::{Probe, ProbeError, connect};
use crate::words::en::{probe as words, typed as typed_words};

/// `rillmark equip …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE_EQUIP)]
pub struct Options {
    /// Serial of the pH electrode, your own or its maker's, up to 16 bytes; "" for none.
    #[arg(long, value_name = "SERIAL")]
    electrode: Option<String>,
    /// Serial of the conductivity cell; "" for none.
    #[arg(long, value_name = "SERIAL")]
    cell: Option<String>,
    /// Serial of the thermometer; "" for none.
    #[arg(long, value_name = "SERIAL")]
    thermometer: Option<String>,
}

/// Says what is fitted, or asks.
///
/// # Errors
/// [`Exit::BadInput`] for a serial that cannot be kept; otherwise those of the conversation.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let changes = [&options.electrode, &options.cell, &options.thermometer];
    let changes = changes.map(|serial| serial.as_deref().map(self::serial).transpose());
    let [electrode, cell, thermometer] = changes;
    let (electrode, cell, thermometer) = (electrode?, cell?, thermometer?);
    let change = electrode.is_some() || cell.is_some() || thermometer.is_some();

    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    let mut equipment = probe.equipment()?;
    let mut clock_refused = None;
    if change {
        let fitted = equipment.map(|equipment| equipment.fitted).unwrap_or_default();
        let fitted = Fitted {
            electrode: electrode.unwrap_or(fitted.electrode),
            cell: cell.unwrap_or(fitted.cell),
            thermometer: thermometer.unwrap_or(fitted.thermometer),
        };
        let new = Equipment { fitted, utc_ms: probe.link().utc_ms() };
        probe.equip(new.clone())?;
        equipment = Some(new);
        clock_refused = set_clock(&mut probe)?;
    }
    let in_force: Vec<_> =
        kept_records(&mut probe)?.into_iter().filter(|kept| kept.in_force).collect();
    let board = probe.answer().board.to_string();
    if context.json {
        let value = json!({
            "board": board,
            "changed": change,
            "equipment": equipment_json(equipment.as_ref()),
            "clock_set": change && clock_refused.is_none(),
            "in_force": in_force.iter().map(Kept::json).collect::<Vec<_>>(),
        });
        return output::json(context.out, &value);
    }
    if let Some(refusal) = clock_refused {
        output::line(context.progress, &words::clock_not_set(&refusal))?;
    }
    let mut table = output::Table::pairs();
    table.row([words::BOARD, &board]);
    equipment_rows(&mut table, equipment.as_ref());
    output::text(context.out, &table.text())?;
    let text = match in_force.as_slice() {
        [] => format!("\n{}\n", words::NOTHING_IN_FORCE),
        some => format!("\n{}\n{}", words::IN_FORCE, Kept::table(some, probe.link().utc_ms())),
    };
    output::text(context.out, &text)
}

/// Rows of labels and serials.
pub(super) fn equipment_rows(table: &mut output::Table, equipment: Option<&Equipment>) {
    let Some(equipment) = equipment else {
        table.row([words::FITTED, words::NEVER_SAID]);
        return;
    };
    let Fitted { electrode, cell, thermometer } = &equipment.fitted;
    let rows =
        [(words::ELECTRODE, electrode), (words::CELL, cell), (words::THERMOMETER, thermometer)];
    for (label, serial) in rows {
        table.row([label, serial.as_ref().map_or(words::NONE_FITTED, |serial| serial)]);
    }
    table.row([words::SAID, &super::record_view::utc(equipment.utc_ms)]);
}

/// A serial that the probe can keep; `None` for nothing fitted.
fn serial(text: &str) -> Result<Option<Serial>, Failure> {
    let bad = |sentence| Failure::new(Exit::BadInput, sentence);
    if text.is_empty() {
        return Ok(None);
    }
    plain(typed_words::SERIAL, text).map_err(bad)?;
    if text.trim() != text {
        return Err(bad(words::serial_with_spaces(text)));
    }
    Serial::try_from(text)
        .map(Some)
        .map_err(|_| bad(words::serial_too_long(text, Serial::new().capacity())))
}

/// Sets the probe's clock while we are here; a probe without a working one is no failure.
fn set_clock(probe: &mut Probe) -> Result<Option<String>, Failure> {
    match probe.set_clock() {
        Ok(()) => Ok(None),
        Err(error @ ProbeError::Refused(_)) => Ok(Some(error.to_string())),
        Err(error) => Err(error.into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn serials_are_kept_as_given_or_refused_with_the_limit() {
        assert_eq!(serial(""), Ok(None));
        assert_eq!(serial("E-17").map(|s| s.map(|s| s.to_string())), Ok(Some("E-17".into())));
        assert!(serial("0123456789abcdef").is_ok());
        let long = serial("0123456789abcdefg").expect_err("17 bytes");
        assert_eq!(long.exit, Exit::BadInput);
        assert!(long.sentence.contains("16"), "{long}");
        assert!(serial("éééééééé").is_ok(), "16 bytes");
        assert!(serial("ééééééééé").is_err(), "18 bytes");
        assert!(serial(" x").is_err());
        assert!(serial("a\nb").is_err());
        assert!(serial("a\u{202e}b").is_err());
    }
}
