//! `rillmark show`: who the probe is, what is fitted, and which calibrations it keeps.

use rillmark_metrology::uncertainty::conductivity::ConductivityUncertainty;
use rillmark_metrology::uncertainty::ph::PhUncertainty;
use rillmark_metrology::uncertainty::reading::ReadingUncertainty;
use std::path::{Path, PathBuf};

use clap::{ArgGroup, Args};
use rillmark_metrology::assess::InForce;
use rillmark_proto::calibration::conductivity::Range;
use rillmark_proto::reading::Computed;
use rillmark_proto::record::Quantity;
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm, Millivolts};
use serde_json::json;

use super::budget::{self, pair, water};
use super::equip::equipment_rows;
use super::in_force::{in_force, lines, remarks_json};
use super::measured::{Measured, limits};
use super::new_file::NewFile;
use super::record_view::{Kept, equipment_json, kept_records, readable, utc};
use super::{Context, output, start_view};
use crate::exit::{Exit, Failure};
use crate::link::probe::{Probe, ProbeError, connect};
use crate::session::time::utc_text;
use crate::words::en::{budget as budget_words, probe as words, start as start_words};

/// `rillmark show …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE_SHOW)]
#[command(group(ArgGroup::new("budgets").args(["budget", "budget_conductivity"])))]
pub struct Options {
    /// Show one record whole, by the short form that the list gives or any longer beginning of its identity.
    #[arg(long, value_name = "SHORT")]
    record: Option<String>,
    /// Write that record's canonical bytes into a new file, for `replay --calibration`.
    #[arg(long, value_name = "FILE", requires = "record")]
    export: Option<PathBuf>,
    /// Copy all that the probe's flash keeps into a new file, as it is and damaged or not.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["record", "budget", "budget_conductivity"])]
    image: Option<PathBuf>,
    /// Show all that makes a pH uncertain, at this potential in mV and temperature in °C, under the
    /// calibration in force.
    #[arg(long, value_name = "MV,C", allow_hyphen_values = true, conflicts_with = "record", value_parser = potential)]
    budget: Option<(f64, f64)>,
    /// Conductivity at 25 °C of the water that pH is of [default: an ordinary water].
    #[arg(long, value_name = "US/CM", requires = "budget", value_parser = water)]
    water: Option<MicrosiemensPerCm>,
    /// Show all that makes conductivity and specific conductance uncertain, at this conductance in µS and
    /// temperature in °C.
    #[arg(long, value_name = "US,C", conflicts_with_all = ["record", "budget"], value_parser = conductance)]
    budget_conductivity: Option<(f64, f64)>,
    /// What was measured of the board while it was built (hardware-notes/bring-up.md): a budget counts with
    /// it in place of the parts' limits. Nothing checks it here; `check-board --measured` does.
    #[arg(long, value_name = "FILE", requires = "budgets")]
    measured: Option<PathBuf>,
}

fn potential(text: &str) -> Result<(f64, f64), &'static str> {
    pair(text).ok_or(budget_words::PH_FORM)
}

fn conductance(text: &str) -> Result<(f64, f64), &'static str> {
    pair(text).ok_or(budget_words::CONDUCTIVITY_FORM)
}

/// Asks the probe and prints.
///
/// # Errors
/// Those of the conversation; [`Exit::BadInput`] for a record that the probe does not keep;
/// [`Exit::Storage`] when the export cannot be written.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let measured = options.measured.as_deref().map(Measured::read).transpose()?;
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    let board = limits(measured.as_ref(), probe.answer().board)?;
    if let Some(path) = &options.image {
        return image(&mut probe, path, context);
    }
    let kept = kept_records(&mut probe)?;
    let equipment = probe.equipment()?;
    let now_ms = probe.link().utc_ms();
    let mut in_force = in_force(&kept, equipment.as_ref(), now_ms);
    in_force.circumstances.board = board;
    if let Some((mv, celsius)) = options.budget {
        readable(&kept, Quantity::Ph)?;
        return ph_budget(&in_force, mv, celsius, options.water, measured.as_ref(), context);
    }
    if let Some((us, celsius)) = options.budget_conductivity {
        readable(&kept, Quantity::Conductivity)?;
        return conductivity_budget(&in_force, us, celsius, measured.as_ref(), context);
    }
    if let Some(wanted) = options.record {
        let record = find(&kept, &wanted)?;
        if let Some(path) = &options.export {
            if record.bytes.is_empty() {
                let sentence = words::cannot_export_damaged(&record.id.short());
                return Err(Failure::new(Exit::BadInput, sentence));
            }
            NewFile::write(path, &record.bytes)?;
        }
        return match context.json {
            true => output::json(context.out, &record.json()),
            false => output::text(context.out, &record.whole(now_ms)),
        };
    }
    let clock = match probe.clock() {
        Ok(clock) => Ok(clock),
        Err(error @ ProbeError::Refused(_)) => Err(error.to_string()),
        Err(error) => return Err(error.into()),
    };
    let answer = probe.answer();
    let [major, minor, patch] = answer.firmware;
    let firmware = format!("{major}.{minor}.{patch}");
    if context.json {
        let time = clock.as_ref().ok().copied().flatten();
        let value = json!({
            "port": probe.link().name(),
            "board": answer.board.to_string(),
            "firmware": firmware,
            "boot": answer.boot,
            "start": start_view::json(&answer.start),
            "wire": { "min": answer.wire_min, "max": answer.wire_max },
            "record_max": answer.record_max,
            "equipment": equipment_json(equipment.as_ref()),
            "clock": {
                "utc": time.and_then(utc_text),
                "ahead_ms": time.map(|time| time.saturating_sub(now_ms)),
                "problem": match &clock {
                    Ok(Some(_)) => None,
                    Ok(None) => Some("lost"),
                    Err(_) => Some("silent"),
                },
            },
            "records": kept.iter().map(Kept::json).collect::<Vec<_>>(),
            "remarks": remarks_json(&in_force),
        });
        return output::json(context.out, &value);
    }
    let mut table = output::Table::pairs();
    table.row([words::PORT, probe.link().name()]);
    table.row([words::BOARD.to_owned(), answer.board.to_string()]);
    table.row([words::FIRMWARE.to_owned(), firmware]);
    table.row([words::BOOT.to_owned(), answer.boot.to_string()]);
    table.row([start_words::LAST_START.to_owned(), start_words::whole(&answer.start)]);
    equipment_rows(&mut table, equipment.as_ref());
    let clock = match clock {
        Ok(Some(time)) => words::clock(&utc(time), time.saturating_sub(now_ms)),
        Ok(None) => words::CLOCK_LOST.to_owned(),
        Err(refusal) => refusal,
    };
    table.row([words::CLOCK.to_owned(), clock]);
    let records = match kept.as_slice() {
        [] => format!("{}\n", words::NO_RECORDS),
        kept => Kept::table(kept, now_ms),
    };
    let unread = kept.iter().filter_map(|kept| kept.unread_by_probe(answer.record_max));
    let unread = unread.chain(kept.iter().filter_map(Kept::way_back));
    let sentence = |sentence: String| format!("\n{}", output::line_of(&sentence));
    let records = records + &unread.map(sentence).collect::<String>();
    let remarks = match lines(&in_force) {
        none if none.is_empty() => none,
        lines => format!("\n{lines}"),
    };
    output::text(context.out, &format!("{}\n{records}{remarks}", table.text()))
}

/// Copies the store, piece by piece.
fn image(probe: &mut Probe, path: &Path, context: &mut Context<'_>) -> Result<(), Failure> {
    let file = NewFile::beside(path)?;
    let store = probe.store()?;
    file.fill(&store)?;
    let name = path.display().to_string();
    if context.json {
        let board = probe.answer().board.to_string();
        let value = json!({ "board": board, "image": name, "bytes": store.len() });
        return output::json(context.out, &value);
    }
    output::text(context.out, &format!("{}\n", words::store_copied(&name, store.len())))
}

fn ph_budget(
    in_force: &InForce,
    mv: f64,
    celsius: f64,
    water: Option<MicrosiemensPerCm>,
    measured: Option<&Measured>,
    context: &mut Context<'_>,
) -> Result<(), Failure> {
    let coefficients = &in_force.coefficients;
    let calibration = coefficients
        .ph
        .ok_or_else(|| Failure::new(Exit::BadInput, budget_words::not_calibrated("pH", "ph")))?;
    let (potential, temperature) = (Millivolts::new(mv), Celsius::new(celsius));
    let circumstances = &in_force.circumstances;
    let found = coefficients
        .ph_conditions(potential, temperature, water, circumstances)
        .and_then(|conditions| calibration.budget(potential, temperature, &conditions))
        .ok_or_else(|| Failure::new(Exit::BadInput, budget_words::no_value(mv, "mV", celsius)))?;
    let values = Computed {
        ph: Some(found.ph.get() as f32),
        temperature_c: Some(celsius as f32),
        specific_conductance_us_cm: water.map(|water| water.get() as f32),
        ..Computed::default()
    };
    let in_force = &of(in_force, Quantity::Ph, &values);
    if context.json {
        let mut value = budget::ph_json(&found);
        value["age_days"] = in_force.ages.ph.into();
        value["remarks"] = remarks_json(in_force);
        measured.into_iter().for_each(|it| value["counted_with"] = it.json());
        return output::json(context.out, &value);
    }
    let age = budget_words::at_age(in_force.ages.ph);
    let (found, with) = (budget::ph_text(&found), counted_with(measured));
    output::text(context.out, &format!("{found}{age}\n{with}{}", lines(in_force)))
}

fn conductivity_budget(
    in_force: &InForce,
    us: f64,
    celsius: f64,
    measured: Option<&Measured>,
    context: &mut Context<'_>,
) -> Result<(), Failure> {
    let coefficients = &in_force.coefficients;
    let calibration = coefficients.conductivity.ok_or_else(|| {
        Failure::new(Exit::BadInput, budget_words::not_calibrated("conductivity", "conductivity"))
    })?;
    let (conductance, temperature) = (Microsiemens::new(us), Celsius::new(celsius));
    let range = Range::for_conductance(conductance);
    let circumstances = &in_force.circumstances;
    let found = coefficients
        .conductivity_conditions(conductance, range, temperature, circumstances)
        .and_then(|conditions| {
            let specific =
                calibration.specific_budget(conductance, range, temperature, &conditions)?;
            Some((calibration.budget(conductance, range, &conditions)?, specific))
        });
    let Some((as_is, specific)) = found else {
        return Err(Failure::new(Exit::BadInput, budget_words::no_value(us, "µS", celsius)));
    };
    let values = Computed {
        temperature_c: Some(celsius as f32),
        conductivity_us_cm: Some(as_is.value.get() as f32),
        specific_conductance_us_cm: Some(specific.value.get() as f32),
        ..Computed::default()
    };
    let in_force = &of(in_force, Quantity::Conductivity, &values);
    if context.json {
        let mut value = json!({
            "conductivity": budget::conductivity_json(&as_is),
            "specific_conductance": budget::conductivity_json(&specific),
            "age_days": in_force.ages.conductivity,
            "remarks": remarks_json(in_force),
        });
        measured.into_iter().for_each(|it| value["counted_with"] = it.json());
        return output::json(context.out, &value);
    }
    let as_is = budget::conductivity_text(budget_words::CONDUCTIVITY, &as_is);
    let specific = budget::conductivity_text(budget_words::SPECIFIC, &specific);
    let age = budget_words::at_age(in_force.ages.conductivity);
    let with = counted_with(measured);
    output::text(context.out, &format!("{as_is}\n{specific}{age}\n{with}{}", lines(in_force)))
}

/// Under a budget: what it counts with besides.
fn counted_with(measured: Option<&Measured>) -> String {
    measured.map_or_else(String::new, |measured| output::folded(&measured.said(), 2))
}

/// The calibrations in force as far as they concern one quantity, with what is to be said of these values.
fn of(in_force: &InForce, quantity: Quantity, values: &Computed) -> InForce {
    let mut in_force = in_force.clone();
    let beyond = in_force.beyond(values);
    in_force.remarks.extend(beyond);
    let concerns = |about| about == quantity || about == Quantity::Temperature;
    in_force.remarks.retain(|remark| remark.quantity().is_none_or(concerns));
    in_force
}

/// The record whose identity begins so.
fn find<'a>(kept: &'a [Kept], wanted: &str) -> Result<&'a Kept, Failure> {
    let wanted = wanted.to_ascii_lowercase();
    let mut found = kept.iter().filter(|kept| kept.id.to_string().starts_with(&wanted));
    match (found.next(), found.next()) {
        (Some(one), None) if !wanted.is_empty() => Ok(one),
        (None, _) => Err(Failure::new(
            Exit::BadInput,
            words::no_such_record(&wanted, &kept.iter().map(short).collect::<Vec<_>>()),
        )),
        (Some(_), _) => Err(Failure::new(Exit::BadInput, words::several_records(&wanted))),
    }
}

fn short(kept: &Kept) -> String {
    kept.id.short().to_string()
}
