//! What the tool says about session files, logging and replay.

use std::fmt::Display;

/// A session file must not be overwritten.
pub fn file_exists(name: &str) -> String {
    format!(
        "{name} exists already and is not overwritten. Choose another name with --out FILE, or go on in it \
         with --continue."
    )
}

/// A session cannot be gone on in.
pub fn cannot_continue(name: &str, error: &dyn Display) -> String {
    format!("cannot go on in {name}: {error}. Choose another name with --out FILE.")
}

/// A log can go on in nothing but a file.
pub fn no_file_on_a_disk(name: &str) -> String {
    format!("cannot go on in {name}: it is no file on a disk. Choose another name with --out FILE.")
}

/// Somebody else writes it.
pub fn file_in_use(name: &str) -> String {
    format!("another program is writing {name}. End that log first, or choose another name.")
}

/// The session is of another probe.
pub fn other_board(name: &str, found: &dyn Display, here: &dyn Display) -> String {
    format!(
        "{name} is a session of board {found}, and this is board {here}. Choose another name with --out FILE."
    )
}

/// A file cannot be made.
pub fn cannot_create(name: &str, error: &dyn Display) -> String {
    format!("cannot create {name}: {error}. Choose another place with --out FILE.")
}

/// The disk is full; `stays` are the bytes that stay, none for a log that came to nothing.
pub fn disk_full(name: &str, stays: Option<u64>) -> String {
    match stays {
        Some(bytes) => format!(
            "the disk is full: {name} ends after {bytes} bytes, all of them whole. Make room, then log into \
             a new file, or go on in it with --continue."
        ),
        None => {
            format!("the disk is full: there is no room for {name}. Make room, then log again.")
        }
    }
}

/// A file cannot be written any more.
pub fn cannot_write(name: &str, error: &dyn Display, stays: Option<u64>) -> String {
    match stays {
        Some(bytes) => format!(
            "cannot write {name} any more: {error}. What was written before, {bytes} bytes, is whole."
        ),
        None => format!("cannot write {name}: {error}. Nothing of this log is left."),
    }
}

/// An entry does not fit a frame.
pub fn entry_too_long(error: &dyn Display) -> String {
    format!("what should be written into the session is too long: {error}. Shorten the note.")
}

/// A note is too long.
pub fn note_too_long(bytes: usize, most: usize) -> String {
    format!("the note has {bytes} bytes, at most {most} fit. Shorten it.")
}

/// A file cannot be read.
pub fn cannot_read(name: &str, error: &dyn Display) -> String {
    format!("cannot read {name}: {error}. Check the name.")
}

/// A pipe that is longer than can be held.
pub fn endless(name: &str, most: u64) -> String {
    let mib = most / (1024 * 1024);
    format!(
        "{name} is no file on a disk, and longer than {mib} MiB. Save what it gives into a file, and name \
         that."
    )
}

/// A file with more records than a log writes.
pub fn crowded_file(name: &str, most: usize) -> String {
    format!(
        "{name} holds or names more than {most} calibrations and verifications, and is not read. Take the \
         sessions that it was put together from, one by one."
    )
}

/// Notes that are not shown.
pub fn notes_more(notes: u64) -> String {
    format!("(and {notes} more)")
}

/// A file without a byte.
pub fn empty_file(name: &str) -> String {
    format!("{name} is empty. Name a file that `rillmark log` wrote.")
}

/// A file that is something else.
pub fn foreign_file(name: &str) -> String {
    format!("{name} is not a session file. Name a file that `rillmark log` wrote.")
}

/// A session of a later release.
pub fn newer_file(name: &str, found: u8, newest: u8) -> String {
    format!(
        "{name} has session format {found}, this program reads {newest} at most. Update rillmark."
    )
}

/// A calibration file that is something else.
pub fn not_a_record(name: &str, error: &dyn Display) -> String {
    format!("{name} is not a calibration record: {error}. Write one with `rillmark show --export`.")
}

/// A record is of the other kind.
pub fn not_a_calibration(name: &str) -> String {
    format!(
        "{name} is a verification, which has no coefficients to compute with. Give a calibration \
         record (`rillmark show` lists them)."
    )
}

/// Two records for one sensor.
pub fn two_calibrations(one: &dyn Display, other: &dyn Display, of: &str) -> String {
    format!(
        "{one} and {other} both calibrate the {of}, and values can be computed under one alone. Give \
         --calibration once for each sensor."
    )
}

/// The probe's store cannot tell what is fitted or in force; kept as a note in the session.
pub fn store_refuses(refusal: &str) -> String {
    format!("The probe cannot tell what is fitted and in force: {refusal}")
}

/// Why a file is not made.
pub const THERE_ALREADY: &str = "it is there already";
/// A file to export into cannot be made or written.
pub fn cannot_export(name: &str, error: &dyn Display) -> String {
    format!("cannot write {name}: {error}. Choose another name; nothing is overwritten.")
}

/// Example of `log`.
pub const EXAMPLE_LOG: &str = "Example:\n  rillmark log --out lake.session --every 60 --note \"north shore, 2 m\"\n\nCtrl-C ends it. A pulled \
     cable does not: it waits, and goes on in the same file. With --continue it can be started \
     again for ever, as a service is.";
/// Example of `replay`.
pub const EXAMPLE_REPLAY: &str = "Example:\n  rillmark replay lake.session --csv lake.csv";

/// CSV and JSON cannot share standard output.
pub const CSV_OR_JSON: &str =
    "--json and --csv - both write to standard output. Give --csv a file.";
/// Columns of readings.
pub const TIME: &str = "UTC";
/// Expanded uncertainty, k = 2.
pub const EXPANDED: &str = "U k=2";
/// Specific conductance.
pub const AT_25: &str = "at 25 °C";
/// Flags.
pub const FLAGS: &str = "flags";
/// A value that is not defined.
pub const NOT_DEFINED: &str = "-";
/// Labels of the tables of `log` and `replay`.
pub const FILE: &str = "file";
/// Size.
pub const BYTES: &str = "bytes";
/// Number of readings.
pub const READINGS: &str = "readings";
/// Number of gaps.
pub const GAPS: &str = "gaps";
/// Damage on the line.
pub const LINE_DAMAGE: &str = "damaged bytes on the line";
/// The board.
pub const BOARD: &str = "board";
/// When the session began.
pub const BEGAN: &str = "began";
/// No header is left.
pub const NO_HEADER: &str = "unknown: the session's header is missing";
/// What is fitted.
pub const FITTED: &str = "fitted";
/// A record.
pub const RECORD: &str = "record";
/// A note.
pub const NOTE: &str = "note";
/// Another calibration was used.
pub const CALIBRATION: &str = "values under";
/// Readings that match.
pub const MATCHED: &str = "match to the bit";
/// Readings that do not.
pub const MISMATCHES: &str = "do not match";
/// Readings whose record is missing.
pub const UNRESOLVED: &str = "cannot be checked";
/// Damage in the file.
pub const DAMAGED: &str = "damaged bytes";
/// A torn end.
pub const TORN: &str = "torn bytes at the end";
/// Frames that this release does not read.
pub const UNKNOWN: &str = "frames not understood";
/// The computer's clock.
pub const CLOCK: &str = "clock";
/// The probe's store.
pub const STORE_FAULT: &str = "store fault";
/// The probe's store, at the first reading that says so.
pub const STORE_FAULT_BEGAN: &str = "store fault: something in the probe's store is damaged or cannot be \
     read; `rillmark show` says what.";
/// Readings that came twice alike.
pub const DUPLICATES: &str = "came twice";
/// Readings that came twice differently.
pub const CONTRADICTIONS: &str = "contradict";
/// Readings that are gone.
pub const LOST: &str = "lost";
/// Readings too many.
pub const UNCOUNTED: &str = "not counted";
/// Readings under no header.
pub const WITHOUT_HEADER: &str = "without a header";
/// A gap.
pub const GAP: &str = "gap";
/// Restarts of the probe.
pub const RESTARTS: &str = "probe started anew";
/// Runs that are there twice.
pub const REPEATED_RUNS: &str = "runs again";
/// Readings of another board.
pub const OTHER_BOARD: &str = "other board";
/// Readings under a calibration of something else.
pub const OTHER_SENSOR: &str = "other sensor";
/// Readings under a calibration that was not in force.
pub const NOT_IN_FORCE: &str = "not in force";
/// Label of readings whose UTC may be off.
pub const DOUBTFUL_DATES: &str = "doubtful UTC";
/// Frames behind an end.
pub const BEHIND_END: &str = "behind the end";
/// Runs of the log.
pub const PARTS: &str = "runs";
/// A verification.
pub const VERIFICATION: &str = "verification";
/// How it ended.
pub const END: &str = "end";
/// As planned.
pub const END_DONE: &str = "as planned";
/// By the operator.
pub const END_INTERRUPTED: &str = "by the operator";
/// Not at all.
pub const END_MISSING: &str = "missing: the log was cut short";
/// Values in the file.
pub const RECORDED: &str = "  recorded  ";
/// Values computed again.
pub const RECOMPUTED: &str = "  recomputed";

/// Logging begins.
pub fn logging_into(name: &str) -> String {
    format!("Logging into {name}. Ctrl-C ends it.")
}

/// Logging goes on.
pub fn going_on_in(name: &str) -> String {
    format!("Going on in {name}. Ctrl-C ends it.")
}

/// The line was lost.
pub fn gap_line_lost(name: &str) -> String {
    format!("The line to {name} is lost; waiting for the probe. The log goes on when it is back.")
}

/// The file under this name is another one now, or shorter.
pub fn not_the_file(name: &str) -> String {
    format!(
        "{name} was moved, replaced, cut or deleted while it was being written, so the log ends here: what was \
         written is where that went. Log into a new file."
    )
}

/// A record that the probe lists and does not hand out.
pub fn record_not_got(short: &dyn Display, why: &dyn Display) -> String {
    format!("record {short} is not in this session: {why}")
}

/// Readings stay away.
pub fn gap_silent(name: &str) -> String {
    format!("Readings from {name} stay away; asking the probe.")
}

/// Still not reachable, for another reason.
pub fn still_gone(error: &dyn Display) -> String {
    format!("Still waiting: {error} The log goes on by itself.")
}

/// Readings come again.
pub fn gap_ended(ms: u64) -> String {
    format!("Going on after {:.1} s without a reading.", ms as f64 / 1000.0)
}

/// A record that the session holds.
pub fn held(short: &dyn Display, brief: &str, altered: bool) -> String {
    match altered {
        true => format!("{short} {brief} (ALTERED: its bytes do not have its identity)"),
        false => format!("{short} {brief}"),
    }
}

/// Before which reading.
pub fn before(running: u32, utc: &str) -> String {
    format!("before reading {running} ({utc})")
}

/// Of several runs of the log.
pub fn in_run(run: u64, sentence: &str) -> String {
    format!("run {run}: {sentence}")
}

/// One of several of the same short form.
pub fn ambiguous(id: &dyn Display, brief: &str) -> String {
    format!("{id} {brief} (AMBIGUOUS: another record has the same short form)")
}

/// The computer's clock was set.
pub fn clock_set(before: &str, by_ms: i64) -> String {
    format!("the computer's clock was set by {:+.1} s {before}", seconds(by_ms))
}

/// It was, or the computer slept.
pub fn clock_set_or_slept(before: &str, by_ms: i64) -> String {
    format!("{}, or it slept so long", clock_set(before, by_ms))
}

/// UTC goes back, for whatever reason.
pub fn clock_back(before: &str, by_ms: i64) -> String {
    format!("UTC goes back by {:.1} s {before}", seconds(by_ms).abs())
}

/// The line had held readings back.
pub fn line_late(before: &str, by_ms: i64) -> String {
    format!(
        "the line had held readings back: UTC of those {before} is up to {:.1} s late",
        seconds(by_ms).abs()
    )
}

/// The probe's clock did not go on as the computer's.
pub fn probe_clock(before: &str, by_ms: i64) -> String {
    format!("the probe's clock went wrong by {:+.1} s {before}", seconds(by_ms))
}

fn seconds(ms: i64) -> f64 {
    ms as f64 / 1000.0
}

/// More of them than are named.
pub fn set_more(times: u64) -> String {
    format!("and {times} times more")
}

/// Readings of a probe whose store was damaged.
pub fn store_fault(readings: u64) -> String {
    format!("in {readings} readings: calibrations may be missing (`rillmark show`)")
}

/// Readings that came twice.
pub fn duplicates(readings: u64) -> String {
    format!("{readings} (the line or a disk doubled them; each counts once)")
}

/// Readings that came with two contents.
pub fn contradictions(readings: u64) -> String {
    format!("{readings} (number seen before, with another content; do not rely on either)")
}

/// Readings that an end counted.
pub fn lost(readings: u64) -> String {
    format!("{readings} (logged, and no longer in the file)")
}

/// Readings that an end did not count.
pub fn uncounted(readings: u64) -> String {
    format!("{readings} (more in the file than were logged)")
}

/// Readings that no header covers.
pub fn without_header(readings: u64) -> String {
    format!("{readings} (what was fitted and verified is not known: U may be too small)")
}

/// Readings behind damage.
pub fn doubtful_dates(readings: u64) -> String {
    format!("{readings} where a mark may be lost (a clock that was set is not seen)")
}

/// When and how long readings are missing.
pub fn gap(running: u32, from: Option<&str>, ms: Option<i64>) -> String {
    let from = from.map_or(String::new(), |from| format!(", after {from}"));
    let long = ms.map_or(String::new(), |ms| format!(", {:.1} s", seconds(ms)));
    format!("before reading {running}{from}{long}")
}

/// The probe started anew.
pub fn restarted(boot: u32) -> String {
    format!("The probe started anew (start {boot}).")
}

/// Runs that stand in the file twice.
pub fn repeated_runs(runs: u64) -> String {
    format!("{runs} (in the file already; each reading counts once)")
}

/// Readings of another board.
pub fn other_boards(readings: u64) -> String {
    format!("{readings} (of another board than the first readings)")
}

/// Readings under a calibration of something else.
pub fn other_sensor(readings: u64) -> String {
    format!("{readings} (their calibration is of another board or sensor)")
}

/// Readings under a calibration that was not in force.
pub fn not_in_force(readings: u64) -> String {
    format!("{readings} (no header or record before them names their calibration)")
}

/// Frames behind an end.
pub fn behind_end(frames: u64) -> String {
    format!("{frames} frames that begin nothing: a header is missing")
}

/// Runs of the log.
pub fn parts(parts: u64, cut_short: u64) -> String {
    match cut_short {
        0 => parts.to_string(),
        cut_short => format!("{parts}, {cut_short} of them cut short"),
    }
}

/// A verification that is not there.
pub fn verification_missing(id: &dyn Display) -> String {
    format!("{id} is missing or cannot be read: U may be too small")
}

/// Readings that cannot be checked.
pub fn unresolved(readings: u64) -> String {
    format!("{readings} (their calibration record is missing or cannot be read)")
}

/// Gaps and what is missing by the running numbers.
pub fn gaps(gaps: u64, missing: u64) -> String {
    match missing {
        0 => gaps.to_string(),
        1 => format!("{gaps} (1 reading missing)"),
        n => format!("{gaps} ({n} readings missing)"),
    }
}

/// A reading that does not match.
pub fn mismatch_of(running: u32, boot: u32) -> String {
    format!("reading {running} of start {boot} does not match:")
}

/// What a replay found wrong, counted.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wrong {
    /// Readings that do not match.
    pub mismatches: u64,
    /// All readings.
    pub readings: u64,
    /// Records that were altered.
    pub altered: u64,
    /// Records that share a short form.
    pub ambiguous: u64,
    /// Readings that cannot be checked, those under records of a later release not counted.
    pub unchecked: u64,
    /// Readings under records of a later release.
    pub later_release: u64,
    /// Verifications that are not to be had.
    pub missing_verifications: usize,
    /// Readings under no header.
    pub without_header: u64,
    /// Readings of another board than the first ones.
    pub other_board: u64,
}

/// A replay that found mismatches, or not all that the readings and their doubt rest on.
pub fn does_not_match(wrong: &Wrong) -> String {
    let Wrong { mismatches, readings, altered, ambiguous, .. } = *wrong;
    let mut said = Vec::new();
    if mismatches > 0 || altered > 0 {
        said.push(format!("{mismatches} of {readings} readings do not match their raw values."));
    }
    match altered {
        0 => {}
        1 => said.push("A record in it was altered.".into()),
        n => said.push(format!("{n} records in it were altered.")),
    }
    if mismatches > 0 || altered > 0 {
        let relied = "Do not rely on the recorded values; those computed again are in the output.";
        said.push(relied.into());
    }
    if ambiguous > 0 {
        said.push(
            "Different records have one short form, and readings name nothing else: nobody can say which \
             record a reading was computed with. Somebody made one of them so, or two probes were mixed up."
                .into(),
        );
    }
    if wrong.unchecked > 0 {
        said.push(format!(
            "{} of {readings} readings cannot be checked: the record of their calibration is missing or \
             cannot be read.",
            wrong.unchecked
        ));
    }
    if wrong.later_release > 0 {
        said.push(format!(
            "{} of {readings} readings cannot be checked by this program: the record of their calibration \
             is of a later release. Update rillmark.",
            wrong.later_release
        ));
    }
    match wrong.missing_verifications {
        0 => {}
        1 => said.push(
            "The record of a verification is missing or cannot be read: U may be too small.".into(),
        ),
        n => said.push(format!(
            "The records of {n} verifications are missing or cannot be read: U may be too small."
        )),
    }
    if wrong.without_header > 0 {
        said.push(format!(
            "{} readings stand under no header, so which verifications belong to them is not known: U may \
             be too small.",
            wrong.without_header
        ));
    }
    if wrong.other_board > 0 {
        said.push(format!(
            "Of another board than the first readings: {}. Keep each board's file apart.",
            wrong.other_board
        ));
    }
    said.join(" ")
}
