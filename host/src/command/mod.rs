//! One file a command: options in, work done, a table or JSON out. Only this layer writes to the
//! terminal, and only through the [`Context`] it is handed.

mod budget;
pub mod calibrate;
pub mod check_board;
pub mod demo;
pub mod diagnose;
pub mod doors;
pub mod equip;
pub mod fit;
mod guided;
mod in_force;
mod input;
pub mod interrupt;
pub mod keep;
pub mod log;
mod measured;
mod missing;
mod new_file;
pub mod output;
pub mod probes;
mod reading_view;
pub mod recognise;
mod record_view;
pub mod reference;
pub mod replay;
mod session_view;
pub mod show;
mod start_view;
pub mod stir_check;
mod typed;
pub mod verify;
pub mod virtual_bench;
pub mod watch;

use std::io::{BufRead, Write};

pub(crate) use crate::words::en::cli::EXAMPLE;

/// What `--junction` of several commands takes.
fn junction(text: &str) -> Result<f64, &'static str> {
    let u_ph = text.trim().parse().ok().filter(|u_ph: &f64| *u_ph > 0.0 && *u_ph < 2.0);
    u_ph.ok_or(crate::words::en::assess::JUNCTION_FORM)
}

/// What a command may touch of the world around it.
pub struct Context<'a> {
    /// Machine-readable output was asked for.
    pub json: bool,
    /// `--port`, as given.
    pub port: Option<String>,
    /// `--probe`, as given.
    pub probe: Option<String>,
    /// Standard output.
    pub out: &'a mut dyn Write,
    /// Standard error: progress and questions to a person.
    pub progress: &'a mut dyn Write,
    /// Where a person's answers come from.
    pub answers: &'a mut dyn BufRead,
}
