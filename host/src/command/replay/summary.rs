//! What a replay found, in all.

use rillmark_metrology::assess::States;
use rillmark_metrology::uncertainty::reading::Uncertainty;
use rillmark_proto::reading::Computed;
use serde_json::{Value, json};

use super::super::output::Table;
use super::super::reading_view::{line, tally_json, tally_lines, tally_rows};
use super::super::record_view::{brief, equipment_json, record_json, utc};
use super::super::session_view::{clock_set_rows, clock_sets_json, doubled_rows, store_fault_row};
use super::counted::Counted;
use crate::session::entry::EndReason;
use crate::session::replay::{Gap, Held, Replayed, Session, Summary};
use crate::session::time::utc_text;
use crate::words::en::session as words;

/// The most gaps that are named one by one.
const GAPS_NAMED: usize = 5;

/// The closing object of `--json`.
pub(super) fn json(
    session: &Session,
    summary: &Summary,
    other: &[String],
    counted: &Counted,
) -> Value {
    let first = session.headers.first();
    let tally = tally_json(&summary.tally);
    let mut summary_json = json!({
        "readings": summary.readings,
        "gaps": summary.gaps,
        "missing_readings": summary.missing_readings,
        "gap_list": summary.gap_list.iter().map(gap_json).collect::<Vec<_>>(),
        "gap_list_left_out": summary.gap_list.left_out(),
        "restarts": summary.restarts,
        "damaged_bytes": summary.damaged_bytes,
        "torn_bytes": summary.torn_bytes,
        "line_damaged_bytes": summary.line_damaged_bytes,
        "duplicates": summary.duplicates,
        "contradictions": summary.contradictions,
        "lost_readings": summary.lost_readings,
        "uncounted_readings": summary.uncounted_readings,
        "without_header": summary.without_header,
        "doubtful_dates": summary.doubtful_dates,
        "behind_end": summary.behind_end,
        "runs": summary.parts,
        "repeated_runs": summary.repeated_runs,
        "other_board": summary.other_board,
        "other_sensor": summary.other_sensor,
        "not_in_force": summary.not_in_force,
        "cut_short": summary.cut_short,
        "missing_verifications": summary.missing_verifications.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "store_fault_readings": summary.store_faults,
        "clock_set": clock_sets_json(&summary.clock_sets),
        "clock_set_left_out": summary.clock_sets.left_out(),
        "mismatches": summary.mismatches,
        "unresolved": summary.unresolved,
        "altered_records": summary.altered_records,
        "unknown_frames": summary.unknown_frames,
        "end": match summary.end {
            Some(EndReason::Done) => Some("done"),
            Some(EndReason::Interrupted) => Some("interrupted"),
            None => None,
        },
        "board": first.map(|header| header.board.to_string()),
        "began": first.and_then(|header| utc_text(header.at.utc_ms)),
        "equipment": equipment_json(session.equipment.as_ref()),
        "records": session.all().map(|held| record(session, held)).collect::<Vec<_>>(),
        "notes": *session.notes,
        "notes_left_out": session.notes.left_out(),
        "calibration": other,
        "states": tally["states"],
        "remarks": tally["remarks"],
    });
    // One expansion of the macro takes no more.
    summary_json["later_release"] = json!(summary.later_release);
    summary_json["ambiguous_records"] = json!(summary.ambiguous_records);
    counted.json().into_iter().for_each(|with| summary_json["counted_with"] = with);
    if summary.counted.unclear > 0 {
        summary_json["counted_unclear"] = json!(summary.counted.unclear);
    }
    json!({ "summary": summary_json })
}

fn gap_json(gap: &Gap) -> Value {
    json!({
        "boot": gap.boot,
        "running": gap.running,
        "utc_before": gap.before_utc_ms.and_then(utc_text),
        "utc": gap.utc_ms.and_then(utc_text),
    })
}

/// True for a record that shares its short form with another.
fn is_ambiguous(session: &Session, held: &Held) -> bool {
    session.ambiguous().any(|other| other == held)
}

fn record(session: &Session, held: &Held) -> Value {
    let mut value = match &held.record {
        Ok(record) => record_json(record),
        Err(error) => json!({ "unreadable": error.to_string() }),
    };
    value["id"] = json!(held.id.to_string());
    value["altered"] = json!(held.altered);
    value["ambiguous"] = json!(is_ambiguous(session, held));
    value
}

/// The same for people.
pub(super) fn table(
    name: &str,
    session: &Session,
    summary: &Summary,
    other: &[String],
    mismatched: &[Replayed],
) -> String {
    let mut table = Table::pairs();
    table.row([words::FILE, name]);
    if let Some(header) = session.headers.first() {
        table.row([words::BOARD.to_owned(), header.board.to_string()]);
        table.row([words::BEGAN.to_owned(), utc(header.at.utc_ms)]);
    } else {
        table.row([words::BEGAN, words::NO_HEADER]);
    }
    if let Some(equipment) = &session.equipment {
        let fitted = &equipment.fitted;
        let serials = [&fitted.electrode, &fitted.cell, &fitted.thermometer];
        let serials: Vec<_> = serials.iter().filter_map(|serial| serial.as_deref()).collect();
        table.row([words::FITTED.to_owned(), serials.join(", ")]);
    }
    for held in session.all() {
        let brief = match &held.record {
            Ok(record) => brief(record),
            Err(error) => error.to_string(),
        };
        let said = match is_ambiguous(session, held) {
            true => words::ambiguous(&held.id, &brief),
            false => words::held(&held.id.short(), &brief, held.altered),
        };
        table.row([words::RECORD.to_owned(), said]);
    }
    for id in &summary.missing_verifications {
        table.row([words::VERIFICATION.to_owned(), words::verification_missing(&id.short())]);
    }
    let (first, last) = session.notes.both();
    first.iter().for_each(|note| table.row([words::NOTE, note]));
    if session.notes.left_out() > 0 {
        table.row([words::NOTE.to_owned(), words::notes_more(session.notes.left_out())]);
    }
    last.iter().for_each(|note| table.row([words::NOTE, note]));
    for id in other {
        table.row([words::CALIBRATION, id]);
    }
    let matched = summary.readings - summary.mismatches - summary.unresolved;
    table.row([words::READINGS.to_owned(), summary.readings.to_string()]);
    table.row([words::MATCHED.to_owned(), matched.to_string()]);
    table.row([words::MISMATCHES.to_owned(), summary.mismatches.to_string()]);
    if summary.unresolved > 0 {
        table.row([words::UNRESOLVED.to_owned(), words::unresolved(summary.unresolved)]);
    }
    table.row([words::GAPS.to_owned(), words::gaps(summary.gaps, summary.missing_readings)]);
    for gap in summary.gap_list.iter().take(GAPS_NAMED) {
        let from = gap.before_utc_ms.map(utc);
        let ms = gap.utc_ms.zip(gap.before_utc_ms).map(|(utc, before)| utc.saturating_sub(before));
        table.row([words::GAP.to_owned(), words::gap(gap.running, from.as_deref(), ms)]);
    }
    if let Some(more) = summary.gap_list.count().checked_sub(GAPS_NAMED as u64).filter(|it| *it > 0)
    {
        table.row([words::GAP.to_owned(), words::set_more(more)]);
    }
    if summary.restarts > 0 {
        table.row([words::RESTARTS.to_owned(), summary.restarts.to_string()]);
    }
    table.row([words::DAMAGED.to_owned(), summary.damaged_bytes.to_string()]);
    if summary.torn_bytes > 0 {
        table.row([words::TORN.to_owned(), summary.torn_bytes.to_string()]);
    }
    if summary.line_damaged_bytes > 0 {
        table.row([words::LINE_DAMAGE.to_owned(), summary.line_damaged_bytes.to_string()]);
    }
    doubled_rows(summary.duplicates, summary.contradictions, &mut table);
    for (label, count, said) in [
        (words::LOST, summary.lost_readings, words::lost(summary.lost_readings)),
        (
            words::UNCOUNTED,
            summary.uncounted_readings,
            words::uncounted(summary.uncounted_readings),
        ),
        (
            words::WITHOUT_HEADER,
            summary.without_header,
            words::without_header(summary.without_header),
        ),
        (
            words::DOUBTFUL_DATES,
            summary.doubtful_dates,
            words::doubtful_dates(summary.doubtful_dates),
        ),
        (words::BEHIND_END, summary.behind_end, words::behind_end(summary.behind_end)),
        (words::REPEATED_RUNS, summary.repeated_runs, words::repeated_runs(summary.repeated_runs)),
        (words::OTHER_BOARD, summary.other_board, words::other_boards(summary.other_board)),
        (words::OTHER_SENSOR, summary.other_sensor, words::other_sensor(summary.other_sensor)),
        (words::NOT_IN_FORCE, summary.not_in_force, words::not_in_force(summary.not_in_force)),
    ] {
        if count > 0 {
            table.row([label.to_owned(), said]);
        }
    }
    store_fault_row(summary.store_faults, &mut table);
    clock_set_rows(&summary.clock_sets, &mut table);
    if summary.unknown_frames > 0 {
        table.row([words::UNKNOWN.to_owned(), summary.unknown_frames.to_string()]);
    }
    if summary.parts > 1 {
        table.row([words::PARTS.to_owned(), words::parts(summary.parts, summary.cut_short)]);
    }
    let end = match summary.end {
        Some(EndReason::Done) => words::END_DONE,
        Some(EndReason::Interrupted) => words::END_INTERRUPTED,
        None => words::END_MISSING,
    };
    table.row([words::END, end]);
    tally_rows(&summary.tally, &mut table);
    let mut text = table.text() + &tally_lines(&summary.tally);
    let values = |replayed: &Replayed, computed: &Computed| {
        let (uncertainty, states) = (Uncertainty::default(), States::default());
        line(&replayed.reading, computed, &uncertainty, &states, replayed.utc_ms)
    };
    for replayed in mismatched {
        let reading = &replayed.reading;
        text.push_str(&format!(
            "\n{}\n{} {}{} {}",
            words::mismatch_of(reading.running, reading.time.boot),
            words::RECORDED,
            values(replayed, &reading.computed),
            words::RECOMPUTED,
            values(replayed, &replayed.assessment.computed),
        ));
    }
    text
}
