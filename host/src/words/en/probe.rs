//! What the tool says about ports, lines and probes.

use std::fmt::Display;

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
    format!("the line to {name} was lost ({cause}). Check the cable, then run this again.")
}

/// A line cannot be opened for a reason only the system knows.
pub fn cannot_open(name: &str, cause: &str) -> String {
    format!("cannot open {name}: {cause}.")
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
    format!("{name} is in use by another program. Close that program, then run this again.")
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
        "what is connected to {name} is not a Rillmark probe: it sent {bytes} bytes without one \
         answer. Name the right port with --port PORT."
    )
}

/// Frames of ours came, but no answer to the hello.
pub fn no_hello(name: &str) -> String {
    format!(
        "the probe at {name} sends, but does not answer. Unplug it, plug it in, then run this again."
    )
}

/// The probe speaks only older wire versions.
pub fn update_firmware(probe_max: u8, host_min: u8) -> String {
    format!(
        "the probe speaks wire version {probe_max} at most, this program {host_min} at least. \
         Update the probe's firmware."
    )
}

/// The probe speaks only newer wire versions.
pub fn update_host(probe_min: u8, host_max: u8) -> String {
    format!(
        "the probe speaks wire version {probe_min} at least, this program {host_max} at most. \
         Update rillmark."
    )
}

/// The probe stopped answering.
pub fn no_answer(name: &str, order: &str) -> String {
    format!(
        "the probe at {name} did not answer when asked to {order}. Unplug it, plug it in, then run \
         this again."
    )
}

/// The probe answered with something that this release does not know.
pub fn unknown_answer(order: &str) -> String {
    format!("the probe's answer when asked to {order} is unknown to this program. Update rillmark.")
}

/// Another board than expected.
pub fn other_board(expected: &dyn Display, found: &dyn Display) -> String {
    format!("board {found} is connected, not {expected}. Connect the right one.")
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
    pub const KEEP: &str = "keep a calibration record";
    /// List records.
    pub const LIST_RECORDS: &str = "list its calibration records";
    /// Tell a record.
    pub const TELL_RECORD: &str = "hand out a calibration record";
    /// Set the clock.
    pub const SET_CLOCK: &str = "set its clock";
    /// Tell the clock.
    pub const TELL_CLOCK: &str = "tell its clock";
}

/// A typed refusal as a sentence.
pub fn refusal(refusal: &Refusal) -> String {
    match refusal {
        Refusal::UnknownOrder => "the probe's firmware does not know this command. Update the \
             firmware."
            .into(),
        Refusal::RecordUnreadable => {
            "the probe cannot read that calibration record. Calibrate again.".into()
        }
        Refusal::RecordVersion { found, newest } => format!(
            "the record has version {found}, but the probe's firmware reads {newest} at most. \
             Update the firmware."
        ),
        Refusal::OtherBoard { made_for } => format!(
            "the record was made for board {made_for}, not for this one. Calibrate this board."
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
            format!("the probe's store has no room for {needed} more bytes; nothing was lost.")
        }
        Refusal::StoreCorrupt => "the probe's store is damaged. Nothing was erased; have its \
             flash looked at before anything is written to it."
            .into(),
        Refusal::StoreFault => {
            "the probe's flash chip reported an error; nothing was changed.".into()
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
