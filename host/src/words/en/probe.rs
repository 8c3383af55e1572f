//! What the tool says about ports, lines and probes.

use std::fmt::Display;

use rillmark_proto::record::fitted::Serial;
use rillmark_proto::wire::message::Refusal;

/// A reader closed our output; never shown.
pub const CLOSED_PIPE: &str = "the reader of the output closed it";

/// Standard output cannot be written.
pub fn cannot_write_output(error: &dyn Display) -> String {
    format!("cannot write the output: {error}. Check where it is sent to, and the disk's space.")
}

/// The system does not list its ports.
pub fn cannot_list_ports(error: &dyn Display) -> String {
    format!("cannot list the serial ports: {error}. Name one with --port PORT.")
}

/// No port is ours.
pub fn no_probe(others: usize) -> String {
    let others = match others {
        0 => "no serial port is there at all".to_owned(),
        1 => "the one serial port that is there does not identify itself as one".to_owned(),
        n => format!("none of the {n} serial ports identifies itself as one"),
    };
    format!(
        "no probe found: {others}. Plug the probe in, or name its port with --port PORT \
         (--port virtual is the simulated bench)."
    )
}

fn ports(list: &[(String, Option<String>)]) -> String {
    let each = |(path, serial): &(String, Option<String>)| match serial {
        Some(serial) => format!("{serial} at {path}"),
        None => format!("one without a serial at {path}"),
    };
    list.iter().map(each).collect::<Vec<_>>().join(", ")
}

/// Several ports are ours.
pub fn several_probes(list: &[(String, Option<String>)]) -> String {
    format!("{} probes found: {}. Pick one with --probe SERIAL.", list.len(), ports(list))
}

/// The wanted probe is not among ours.
pub fn not_that_probe(wanted: &str, list: &[(String, Option<String>)]) -> String {
    match list {
        [] => format!("probe {wanted} is not connected, and no other is. Plug it in."),
        list => format!("probe {wanted} is not connected; found: {}.", ports(list)),
    }
}

/// A line that was open is gone.
pub fn line_lost(name: &str, cause: &str) -> String {
    format!("the line to {name} was lost ({cause}). Check the cable.")
}

/// A line cannot be opened for a reason only the system knows.
pub fn cannot_open(name: &str, cause: &str) -> String {
    format!(
        "cannot open {name}: {cause}. Check that the name is right and that something is there."
    )
}

/// Nothing has that name.
pub fn port_not_there(name: &str) -> String {
    format!("{name} is not there. Plug the probe in; `rillmark probes` lists the ports.")
}

/// What has that name is no port.
pub fn not_a_port(name: &str) -> String {
    format!("{name} is not a serial port. `rillmark probes` lists the ports.")
}

/// Another program has the port.
pub fn port_busy(name: &str) -> String {
    format!("{name} is in use by another program. Close that program.")
}

/// This user may not open the port.
pub fn port_denied(name: &str, group: Option<&str>) -> String {
    match group {
        Some(group) => format!(
            "you may not open {name}, which belongs to the group {group}. Run `sudo usermod -aG \
             {group} $USER`, then log out and in again."
        ),
        None => format!("you may not open {name}. Ask the administrator for access to it."),
    }
}

/// Nothing came at all.
pub fn silent(name: &str) -> String {
    format!(
        "nothing answers at {name}. Check that it is the probe's port, and that the probe has power."
    )
}

/// Bytes came, but nothing of ours.
pub fn foreign(name: &str, bytes: u64) -> String {
    format!(
        "what is connected to {name} is not a Rillmark probe, or its line is disturbed: it sent \
         {bytes} bytes without one answer. Name the right port with --port PORT, or check cable and \
         plugs and try again."
    )
}

/// Frames of ours came, but no answer to the hello.
pub fn no_hello(name: &str) -> String {
    format!("the probe at {name} sends, but does not answer. Unplug it and plug it in.")
}

/// The probe stopped answering.
pub fn no_answer(name: &str, order: &str) -> String {
    format!("the probe at {name} did not answer when asked to {order}. Unplug it and plug it in.")
}

/// The probe answered with something that this release does not know.
pub fn unknown_answer(order: &str) -> String {
    format!("the probe's answer when asked to {order} is unknown to this program. Update rillmark.")
}

/// Another board than expected.
pub fn other_board(expected: &dyn Display, found: &dyn Display) -> String {
    format!("board {found} is connected, not {expected}. Connect the right one.")
}

/// Another record than the one asked for.
pub fn other_record(asked: &dyn Display, found: &dyn Display) -> String {
    format!(
        "the probe was asked for record {asked} and handed out another record, or a damaged one \
         ({found}): it is not used. Ask again; if it stays so, calibrate again and report it."
    )
}

/// What cannot be said to a probe.
pub fn order_too_long(order: &str) -> String {
    format!("what should be sent to {order} is too long for one frame.")
}

/// What each order asks of the probe, to fit "when asked to …".
pub mod order {
    /// Sampling.
    pub const SAMPLE: &str = "change its sampling";
    /// Equip.
    pub const EQUIP: &str = "keep what is fitted";
    /// Tell equipment.
    pub const TELL_EQUIPMENT: &str = "say what is fitted";
    /// Keep a record.
    pub const KEEP: &str = "keep a record";
    /// List records.
    pub const LIST_RECORDS: &str = "list its records";
    /// Tell a record.
    pub const TELL_RECORD: &str = "hand out a record";
    /// Set the clock.
    pub const SET_CLOCK: &str = "set its clock";
    /// Tell the clock.
    pub const TELL_CLOCK: &str = "tell its clock";
    /// Hand out the store's bytes.
    pub const TELL_STORE: &str = "hand out its store";
}

/// A typed refusal as a sentence.
pub fn refusal(refusal: &Refusal) -> String {
    match refusal {
        Refusal::UnknownOrder => "the probe's firmware does not know this command. Update the \
             firmware."
            .into(),
        Refusal::RecordUnreadable => {
            "the probe cannot read that record. Calibrate or verify again.".into()
        }
        Refusal::RecordVersion { found, newest } => format!(
            "the record has version {found}, but the probe's firmware reads {newest} at most. \
             Update the firmware."
        ),
        Refusal::OtherBoard { made_for } => format!(
            "the record was made for board {made_for}, not for this one. Calibrate or verify this board."
        ),
        Refusal::NotFitted => "the record was made for another electrode or cell than the one \
             fitted now. Say what is fitted with `rillmark equip`, or calibrate what is."
            .into(),
        Refusal::ShortIdTaken { short } => format!(
            "the probe already keeps another record with the short identity {short}, so readings \
             could be mistaken. Calibrate again: a new record gets a new identity."
        ),
        Refusal::NoSuchRecord { id } => {
            format!("the probe keeps no record {id}. `rillmark show` lists those it keeps.")
        }
        Refusal::StoreFull { needed } => {
            format!(
                "the probe's store has no room for {needed} more bytes; nothing was lost. Copy its \
                 records out with `rillmark show --export` and use another board for more sensors."
            )
        }
        Refusal::StoreCorrupt => {
            "the probe's store is damaged, and nothing in it was changed. Copy it with \
             `rillmark show --image FILE`, then see the README, *When the store is damaged*."
                .into()
        }
        Refusal::RecordDamaged { id } => format!(
            "the probe's record {id} is damaged, and nothing is computed with it. The others can be used; \
             keep it again from a copy (`rillmark keep FILE`), or calibrate."
        ),
        Refusal::StoreFault => {
            "the probe's flash chip reported an error; nothing was changed. Take the probe's power \
             away, give it back and try again."
                .into()
        }
        Refusal::ClockSilent => {
            "the probe's clock chip does not answer. Check its wiring and its battery.".into()
        }
        Refusal::ClockRange => {
            "the probe's clock holds the years 2000 to 2099 only. Check this computer's clock."
                .into()
        }
    }
}

/// Example of `equip`.
pub const EXAMPLE_EQUIP: &str = "Example:\n  rillmark equip --electrode E-17 --cell K1-3 --thermometer T2\n\nWithout options it says what is \
     fitted. Setting also sets the probe's clock.";
/// Example of `show`.
pub const EXAMPLE_SHOW: &str = "Example:\n  rillmark show --record 3f8a12cc --export ph.record\n  rillmark show \
     --budget -20.5,25 --water 480 --measured board-3.toml";
/// Example of `keep`.
pub const EXAMPLE_KEEP: &str = "Example:\n  rillmark keep ph.record lake.session\n\nThe board, and the sensors that are fitted, must be those \
     that the records are of. What is in force\nstays so; for a sensor without a calibration the newest one is then.";
/// A record that is kept again.
pub fn kept_again(short: &dyn Display, brief: &str) -> String {
    format!("kept: {short} {brief}")
}
/// A record for which the probe has no place.
pub fn too_early(short: &dyn Display, brief: &str) -> String {
    format!("not kept, for the probe keeps two later ones of this sensor: {short} {brief}")
}
/// A record of a sensor that is not fitted.
pub fn other_sensor(
    short: &dyn Display,
    brief: &str,
    of: Option<&Serial>,
    fitted: Option<&Serial>,
) -> String {
    let name = |serial: Option<&Serial>| serial.map_or("none", |serial| serial.as_str()).to_owned();
    let (of, fitted) = (name(of), name(fitted));
    format!("not kept, for it is of {of} and {fitted} is fitted: {short} {brief}")
}
/// A record that is damaged, and that no file brought back.
pub fn still_damaged(short: &dyn Display, of: &str) -> String {
    format!("still damaged: {short} ({of}). No file named here holds it.")
}
/// It broke off.
pub const KEEP_BROKE_OFF: &str = "What was in force still is. Have it keep the files once more.";
/// Nothing is new to the probe.
pub const ALL_KEPT_ALREADY: &str = "the probe keeps all of them already.";
/// A file to keep records from.
pub fn no_record_in(name: &str) -> String {
    format!(
        "{name} holds no record that this program can read. Name a file of `rillmark show --export`, or a \
         session."
    )
}
/// A damaged record cannot be exported.
pub fn cannot_export_damaged(short: &dyn Display) -> String {
    format!(
        "the probe cannot hand out record {short}, so there is nothing to export. `rillmark show --image \
         FILE` copies the store as it is."
    )
}
/// The store was copied.
pub fn store_copied(name: &str, bytes: usize) -> String {
    format!("The probe's store, {bytes} bytes, is in {name}.")
}
/// Example of `probes`.
pub const EXAMPLE_PROBES: &str = "Example:\n  rillmark probes --json\n\nOnly ports with the USB identity of a probe are opened, and the one \
     that --port names.";
/// Example of `watch`.
pub const EXAMPLE_WATCH: &str = "Example:\n  rillmark watch --only ph --count 20";

/// Labels.
pub const PORT: &str = "port";
/// The board.
pub const BOARD: &str = "board";
/// Firmware version.
pub const FIRMWARE: &str = "firmware";
/// Number of starts.
pub const BOOT: &str = "starts";
/// The clock chip.
pub const CLOCK: &str = "clock";
/// The clock chip has no time.
pub const CLOCK_LOST: &str = "has lost its time; `rillmark equip` sets it";
/// What is fitted.
pub const FITTED: &str = "fitted";
/// A record whose bytes are damaged.
pub const RECORD_DAMAGED: &str = "damaged in the probe's store: nothing is computed with it";
/// The way back from a record of a probe that cannot be read.
pub fn keep_again(short: &dyn Display, why: &str) -> String {
    format!(
        "Record {short}: {why}. Keep it again from a copy (`rillmark keep FILE`), or calibrate. See the \
         README, *When the store is damaged*."
    )
}
/// Nobody said what is fitted.
pub const NEVER_SAID: &str = "nobody said yet; say it with `rillmark equip`";
/// The electrode.
pub const ELECTRODE: &str = "electrode";
/// The cell.
pub const CELL: &str = "cell";
/// The thermometer.
pub const THERMOMETER: &str = "thermometer";
/// Nothing fitted.
pub const NONE_FITTED: &str = "none";
/// A record that names no serial.
pub const UNNAMED: &str = "without a serial";
/// When it was said.
pub const SAID: &str = "said";
/// Title of the calibrations in force.
pub const IN_FORCE: &str = "calibrations in force:";
/// No calibration is in force.
pub const NOTHING_IN_FORCE: &str = "no calibration is in force; make one with `rillmark calibrate`";
/// No record is kept.
pub const NO_RECORDS: &str = "no calibration records; make one with `rillmark calibrate`";
/// Column and label words of records.
pub const RECORD: &str = "record";
/// What kind of record it is.
pub const KIND: &str = "kind";
/// What a record is of.
pub const OF: &str = "of";
/// What it arrived at.
pub const RESULT: &str = "result";
/// Its standards.
pub const STANDARDS: &str = "standards";
/// One standard.
pub const STANDARD: &str = "standard";
/// Its lot.
pub const LOT: &str = "lot";
/// Its expiry.
pub const EXPIRY: &str = "expires";
/// When the bottle was opened.
pub const OPENED: &str = "opened";
/// A portion that is used once.
pub const SINGLE_USE: &str = "single use";
/// What its amount is counted against.
pub const BASIS: &str = "basis";
/// Standard uncertainty of the value.
pub const UNCERTAINTY: &str = "u (k = 1)";
/// Its value.
pub const VALUE: &str = "value";
/// The raw signal in it.
pub const SIGNAL: &str = "signal";
/// What the calibration before made of it.
pub const AS_FOUND: &str = "as found";
/// Whether the signal had come to rest.
pub const SETTLED: &str = "settled";
/// How old.
pub const AGE: &str = "age";
/// When the next is due.
pub const DUE: &str = "due";
/// Whether readings use it now.
pub const IN_FORCE_COLUMN: &str = "in force";
/// Yes.
pub const YES: &str = "yes";
/// No.
pub const NO: &str = "no";
/// When it was done.
pub const DONE_AT: &str = "done";
/// Who did it.
pub const OPERATOR: &str = "operator";
/// Whether coefficients changed.
pub const OUTCOME: &str = "outcome";
/// They did.
pub const ADJUSTED: &str = "adjusted";
/// They did not.
pub const LEFT_UNADJUSTED: &str = "within tolerance, left unadjusted";
/// The record before.
pub const PREVIOUS: &str = "before it";
/// The check after.
pub const AS_LEFT: &str = "as left";
/// A warning overridden.
pub const OVERRIDE: &str = "overridden";
/// A record that cannot be read.
pub const UNREADABLE: &str = "unreadable";
/// No due date.
pub const NOT_STATED: &str = "not stated";
/// A time outside the calendar.
pub const NO_TIME: &str = "unknown time";

/// Slope and offset with their standard uncertainties.
pub fn ph_result(slope_percent: f64, u_slope: f64, offset_mv: f64, u_offset: f64) -> String {
    let [slope, u_slope, offset, u_offset] =
        [slope_percent, u_slope, offset_mv, u_offset].map(|value| computed(value, 2));
    format!("slope {slope} ± {u_slope} %, offset {offset} ± {u_offset} mV (k = 1)")
}

/// What is computed from numbers of a record, which may lead beyond all numbers where somebody altered it.
pub(super) fn computed(value: f64, decimals: usize) -> String {
    match value.abs() {
        0.0..1e9 => format!("{value:.decimals$}"),
        // Nobody reads three hundred digits.
        size if size.is_finite() => format!("{value:.1e}"),
        _ => "not known".to_owned(),
    }
}

/// Cell constant with its standard uncertainty.
pub fn cell_result(per_cm: f64, uncertainty: f64) -> String {
    let [per_cm, uncertainty] = [per_cm, uncertainty].map(|value| computed(value, 4));
    format!("cell constant {per_cm} ± {uncertainty} /cm (k = 1)")
}

/// The check after a calibration.
pub fn as_left(expected: f64, found: f64) -> String {
    format!("{} found, {} expected", computed(found, 3), computed(expected, 3))
}

/// An age, for a table.
pub fn days(days: f64) -> String {
    // A record of this minute is not "-0.0 d" old when two clocks disagree by a second.
    let tenths = (days * 10.0).round() + 0.0;
    if tenths < 0.0 { "in the future".to_owned() } else { format!("{:.1} d", tenths / 10.0) }
}

/// An age, within a sentence.
pub fn old(days: f64) -> String {
    match (days * 10.0).round() < 0.0 {
        true => format!("made {:.1} d in the clock's future", -days),
        false => format!("{} old", self::days(days)),
    }
}

/// A due date that has passed.
pub fn overdue(day: &str) -> String {
    format!("{day} (overdue)")
}

/// The clock chip's time against ours.
pub fn clock(time: &str, ahead_ms: i64) -> String {
    let seconds = ahead_ms.unsigned_abs() as f64 / 1000.0;
    match ahead_ms {
        // The chip keeps whole seconds.
        -1000..=1000 => format!("{time} (right to the second)"),
        1001.. => format!("{time} ({seconds:.0} s ahead of this computer)"),
        _ => format!("{time} ({seconds:.0} s behind this computer)"),
    }
}

/// The clock chip could not be set.
pub fn clock_not_set(refusal: &str) -> String {
    format!("The clock was not set: {refusal}")
}

/// A serial that is too long.
pub fn serial_too_long(serial: &str, most: usize) -> String {
    format!("the serial {serial:?} has {} bytes, at most {most} fit. Shorten it.", serial.len())
}

/// A reading whose probe does not know the time.
pub const READ_WITHOUT_CLOCK: &str = "clock-lost: the probe's clock has lost its time, which makes no value \
     wrong; readings are dated by this computer. `rillmark equip` sets it; lost again, its battery may be empty.";
/// Why there is no pH.
pub const NO_PH_UNCALIBRATED: &str = "pH is '-' because this electrode has no calibration in the probe: say \
     what is fitted (`rillmark equip`), then `rillmark calibrate ph`.";
/// The same, when the probe's store is damaged.
pub const NO_PH_UNREAD: &str = "pH is '-' because no calibration of this electrode can be read in the probe, \
     whose store is damaged (`rillmark show` says what). If its record is: keep it again from a copy \
     (`rillmark keep FILE`), or `rillmark calibrate ph`. See the README, *When the store is damaged*.";
/// The same.
pub const NO_PH_WITHOUT_TEMPERATURE: &str = "pH is '-' because there is no temperature: look at the \
     thermometer's plug and lead.";
/// The same.
pub const NO_PH_OUTSIDE: &str = "pH is '-' because the potential has none under the calibration: is the \
     electrode plugged in and wet, and is it the one that was calibrated?";
/// Why there is no conductivity.
pub const NO_CONDUCTIVITY_UNCALIBRATED: &str = "conductivity is '-' because this cell has no calibration in \
     the probe: say what is fitted (`rillmark equip`), then `rillmark calibrate conductivity`.";
/// The same, when the probe's store is damaged.
pub const NO_CONDUCTIVITY_UNREAD: &str = "conductivity is '-' because no calibration of this cell can be read \
     in the probe, whose store is damaged (`rillmark show` says what). If its record is: keep it again from a \
     copy (`rillmark keep FILE`), or `rillmark calibrate conductivity`. See the README, *When the store is \
     damaged*.";

/// A serial that would not be found again.
pub fn serial_with_spaces(serial: &str) -> String {
    format!("the serial {serial:?} has spaces at its ends. Leave them out.")
}

/// No record of that identity.
pub fn no_such_record(wanted: &str, kept: &[String]) -> String {
    match kept {
        [] => format!("the probe keeps no record {wanted}, and no other."),
        kept => format!("the probe keeps no record {wanted}, but {}.", kept.join(", ")),
    }
}

/// Several records of that beginning.
pub fn several_records(wanted: &str) -> String {
    format!("several records begin with {wanted:?}. Give more of the identity.")
}

/// The system lists no ports.
pub const NO_PORTS: &str = "no serial ports; plug the probe in, or try `--port virtual`";
/// Column of board ids.
pub const PROBE: &str = "probe";
/// Column of USB product strings.
pub const USB: &str = "USB";
/// A port that is not ours and was not named.
pub const NOT_ASKED: &str = "not asked; name it with --port";
