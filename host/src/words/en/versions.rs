//! Probe and program of different times: what each is told to do.

use std::fmt::Display;

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

/// The probe's firmware cannot keep what a calibration or verification would make.
pub fn older_records(newest: u8, ours: u8) -> String {
    format!(
        "the probe's firmware reads records of version {newest} at most, and this program writes \
         version {ours}: the probe could not keep what is measured now. Update the probe's firmware; \
         what it keeps stays."
    )
}

/// A record in force that the probe cannot read itself.
pub fn in_force_unread(short: &dyn Display, version: u8, newest: u8) -> String {
    format!(
        "Record {short} is in force, but of version {version}, and the probe's firmware reads {newest} at \
         most: the probe keeps it and computes nothing with it. Update the probe's firmware."
    )
}

/// A record that this program cannot read.
pub fn unread_here(version: u8, newest: u8) -> String {
    format!("of version {version}; this program reads {newest} at most: update rillmark")
}
