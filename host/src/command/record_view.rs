//! Records for people and machines, the same in every command.

mod calibration;
mod drift;
mod point;
mod verification;

use rillmark_procedures::routine::judgement::Judgement;
use rillmark_proto::identity::{BoardId, RecordId};
use rillmark_proto::record::fitted::{Equipment, Fitted, Serial};
use rillmark_proto::record::{Operator, Override, Quantity, Record, RecordBytes, codec};
use rillmark_proto::wire::message::{Listed, Refusal};
use serde_json::{Value, json};

pub(super) use self::calibration::{brief as calibration_brief, calibration_json};
pub(super) use self::point::point_json;
pub(super) use self::verification::verification_json;
use super::output::{Lean, Table};
use crate::exit::{Exit, Failure};
use crate::link::probe::{Probe, ProbeError};
use crate::session::time::utc_text;
use crate::words::en::{probe as words, verification as verification_words, versions};

/// Milliseconds of a day.
const DAY_MS: f64 = 86_400_000.0;

/// A record that a probe keeps.
pub(super) struct Kept {
    pub(super) id: RecordId,
    pub(super) quantity: Quantity,
    pub(super) in_force: bool,
    /// As the probe hands them out; empty when it cannot.
    pub(super) bytes: RecordBytes,
    pub(super) record: Result<Record, Unread>,
}

/// Why nobody knows what a record says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Unread {
    /// This release cannot read it.
    Here(codec::DecodeError),
    /// Its bytes are damaged in the probe's store.
    Damaged,
    /// The probe does not hand it out, for this reason.
    NotGiven(String),
}

/// All records that the probe keeps. One that it cannot hand out spoils none of the others.
pub(super) fn kept_records(probe: &mut Probe) -> Result<Vec<Kept>, Failure> {
    let mut kept = Vec::new();
    for Listed { id, quantity, in_force, whole, .. } in probe.records()? {
        let given = match whole {
            true => probe.record(id),
            false => Err(ProbeError::Refused(Refusal::RecordDamaged { id })),
        };
        let (bytes, record) = match given {
            Ok(bytes) => {
                let record = codec::decode(&bytes).map_err(Unread::Here);
                (bytes, record)
            }
            Err(ProbeError::Refused(Refusal::RecordDamaged { .. })) => {
                (RecordBytes::new(), Err(Unread::Damaged))
            }
            Err(error @ (ProbeError::Refused(_) | ProbeError::OtherRecord { .. })) => {
                (RecordBytes::new(), Err(Unread::NotGiven(error.to_string())))
            }
            Err(error) => return Err(error.into()),
        };
        kept.push(Kept { id, quantity, in_force, bytes, record });
    }
    Ok(kept)
}

/// Why a record cannot be read, and what to do about it.
fn unreadable(error: &Unread) -> String {
    match error {
        Unread::Here(codec::DecodeError::NewerVersion { found, newest }) => {
            versions::unread_here(*found, *newest)
        }
        Unread::Here(error) => error.to_string(),
        Unread::Damaged => words::RECORD_DAMAGED.to_owned(),
        Unread::NotGiven(why) => why.clone(),
    }
}

/// Nothing, unless the calibration of this quantity that is in force cannot be read.
///
/// # Errors
/// [`Exit::Refused`] then, with the way back: it is not so that there is none.
pub(super) fn readable(kept: &[Kept], quantity: Quantity) -> Result<(), Failure> {
    let mut in_force = kept.iter().filter(|kept| kept.in_force && kept.quantity == quantity);
    let refusal = in_force.find_map(|kept| match &kept.record {
        Ok(_) => None,
        Err(error) => Some(kept.way_back().unwrap_or_else(|| unreadable(error))),
    });
    refusal.map_or(Ok(()), |sentence| Err(Failure::new(Exit::Refused, sentence)))
}

/// UTC for people, to the second.
pub(super) fn utc(utc_ms: i64) -> String {
    utc_text(utc_ms).map_or_else(
        || words::NO_TIME.to_owned(),
        |text| format!("{} UTC", text[..19].replace('T', " ")),
    )
}

/// What is fitted, as JSON.
pub(super) fn equipment_json(equipment: Option<&Equipment>) -> Value {
    equipment.map_or(Value::Null, |equipment| {
        json!({
            "electrode": equipment.fitted.electrode.as_ref().map(|serial| serial.as_str()),
            "cell": equipment.fitted.cell.as_ref().map(|serial| serial.as_str()),
            "thermometer": equipment.fitted.thermometer.as_ref().map(|serial| serial.as_str()),
            "utc": utc_text(equipment.utc_ms),
        })
    })
}

impl Kept {
    /// The whole record as JSON.
    pub(super) fn json(&self) -> Value {
        let mut value = match &self.record {
            Ok(record) => record_json(record),
            Err(Unread::Here(error)) => json!({ "unreadable": error.to_string() }),
            Err(error) => json!({ "unreadable": unreadable(error) }),
        };
        value["damaged"] = json!(self.record == Err(Unread::Damaged));
        value["id"] = json!(self.id.to_string());
        value["short"] = json!(self.id.short().to_string());
        value["in_force"] = json!(self.in_force);
        value
    }

    /// What to say when the record is in force and the probe, with firmware that reads records up to
    /// this version, cannot read it.
    pub(super) fn unread_by_probe(&self, record_max: u8) -> Option<String> {
        let version = *self.bytes.first()?;
        let is_unread = self.in_force && version > record_max;
        is_unread.then(|| versions::in_force_unread(&self.id.short(), version, record_max))
    }

    /// What to do about a record that is damaged; one of a later release is whole.
    pub(super) fn way_back(&self) -> Option<String> {
        match self.record.as_ref().err()? {
            Unread::Here(codec::DecodeError::NewerVersion { .. }) => None,
            error => Some(words::keep_again(&self.id.short(), &unreadable(error))),
        }
    }

    /// One line a record.
    pub(super) fn table(kept: &[Self], now_ms: i64) -> String {
        let mut table = Table::new(&[
            (words::RECORD, Lean::Left),
            (words::OF, Lean::Left),
            (words::RESULT, Lean::Left),
            (words::STANDARDS, Lean::Left),
            (words::AGE, Lean::Right),
            (words::DUE, Lean::Left),
            (words::IN_FORCE_COLUMN, Lean::Left),
        ]);
        for kept in kept {
            let short = kept.id.short().to_string();
            let record = match &kept.record {
                Ok(record) => record,
                Err(error) => {
                    let (of, result) = (what(kept.quantity).to_owned(), unreadable(error));
                    let unknown = String::new;
                    let in_force = yes(kept.in_force);
                    table.row([short, of, result, unknown(), unknown(), unknown(), in_force]);
                    continue;
                }
            };
            let (result, points, due) = match record {
                Record::Calibration(record) => (
                    calibration::result(&record.result),
                    record.points.as_slice(),
                    calibration::due(record, now_ms),
                ),
                Record::Verification(record) => (
                    verification::result(record),
                    std::slice::from_ref(&record.point),
                    String::new(),
                ),
            };
            table.row([
                short,
                of(record.quantity(), record.of()),
                result,
                points.iter().map(point::standard).collect::<Vec<_>>().join(", "),
                age(record.utc_ms(), now_ms),
                due,
                yes(kept.in_force),
            ]);
        }
        table.text()
    }

    /// Everything of one record.
    pub(super) fn whole(&self, now_ms: i64) -> String {
        let mut table = Table::pairs();
        table.row([words::RECORD.to_owned(), self.id.to_string()]);
        table.row([words::IN_FORCE_COLUMN.to_owned(), yes(self.in_force)]);
        let record = match &self.record {
            Ok(record) => record,
            Err(error) => {
                table.row([words::UNREADABLE.to_owned(), unreadable(error)]);
                return table.text();
            }
        };
        if record.verification().is_some() {
            table.row([words::KIND, verification_words::KIND]);
        }
        table.row([words::OF.to_owned(), of(record.quantity(), record.of())]);
        table.row([words::BOARD.to_owned(), record.board().to_string()]);
        table.row([words::DONE_AT.to_owned(), utc(record.utc_ms())]);
        table.row([words::AGE.to_owned(), age(record.utc_ms(), now_ms)]);
        let points = match record {
            Record::Calibration(record) => {
                calibration::rows(record, now_ms, &mut table);
                point::points(&record.points)
            }
            Record::Verification(record) => {
                verification::rows(record, &mut table);
                point::points(std::slice::from_ref(&record.point))
            }
        };
        format!("{}\n{points}", table.text())
    }
}

/// What a record is of and what it says, in few words.
pub(super) fn brief(record: &Record) -> String {
    match record {
        Record::Calibration(record) => calibration_brief(record),
        Record::Verification(record) => verification::brief(record),
    }
}

/// A record as JSON.
pub(super) fn record_json(record: &Record) -> Value {
    match record {
        Record::Calibration(record) => calibration_json(record),
        Record::Verification(record) => verification_json(record),
    }
}

/// What every record begins with.
fn head_json(kind: &str, quantity: Quantity, board: BoardId, fitted: &Fitted) -> Value {
    json!({
        "kind": kind,
        "quantity": quantity_code(quantity),
        "board": board.to_string(),
        "fitted": fitted_json(fitted),
    })
}

/// The serials of what is fitted.
pub(super) fn fitted_json(fitted: &Fitted) -> Value {
    let serial = |quantity| fitted.serial_for(quantity).map(|serial| serial.as_str());
    json!({
        "electrode": serial(Quantity::Ph),
        "cell": serial(Quantity::Conductivity),
        "thermometer": serial(Quantity::Temperature),
    })
}

fn overrides_json(overrides: &[Override]) -> Value {
    let each = |each: &Override| {
        json!({
            "judgement": each.judgement,
            "code": Judgement::code_of(each.judgement),
            "reason": each.reason.as_str(),
        })
    };
    overrides.iter().map(each).collect()
}

fn operator_row(operator: &Operator, table: &mut Table) {
    if !operator.is_empty() {
        table.row([words::OPERATOR, operator.as_str()]);
    }
}

fn overridden_rows(overrides: &[Override], table: &mut Table) {
    for each in overrides {
        // A judgement of a later release has only its number.
        let code = Judgement::code_of(each.judgement);
        let what = code.map_or_else(|| each.judgement.to_string(), str::to_owned);
        table.row([words::OVERRIDE.to_owned(), format!("{what}: {}", each.reason)]);
    }
}

/// A sensor with its serial.
pub(super) fn of(quantity: Quantity, serial: Option<&Serial>) -> String {
    let serial = serial.map_or(words::UNNAMED, |serial| serial);
    format!("{} {serial}", what(quantity))
}

/// The name that machine-readable output gives a quantity.
pub(super) const fn quantity_code(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Ph => "ph",
        Quantity::Conductivity => "conductivity",
        Quantity::Temperature => "temperature",
    }
}

/// What is calibrated, for people.
pub(super) const fn what(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Ph => words::ELECTRODE,
        Quantity::Conductivity => words::CELL,
        Quantity::Temperature => words::THERMOMETER,
    }
}

fn yes(yes: bool) -> String {
    if yes { words::YES } else { words::NO }.to_owned()
}

fn age(utc_ms: i64, now_ms: i64) -> String {
    words::days(age_days(utc_ms, now_ms))
}

/// Days from one moment to another, negative when the clock was set back between.
pub(super) fn age_days(utc_ms: i64, now_ms: i64) -> f64 {
    // A calendar's milliseconds fit f64's 53 bits.
    now_ms.saturating_sub(utc_ms) as f64 / DAY_MS
}

/// A day counted from 1970-01-01 as a date.
fn day(days: i32) -> String {
    day_of(i64::from(days) * 86_400_000)
}

fn day_of(utc_ms: i64) -> String {
    utc_text(utc_ms).map_or_else(|| words::NO_TIME.to_owned(), |text| text[..10].to_owned())
}

#[cfg(test)]
#[path = "record_view_tests.rs"]
mod tests;
