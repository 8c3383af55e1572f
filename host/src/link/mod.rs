//! How bytes travel between host and probe: a serial port, a TCP socket or the virtual bench.

pub mod arrivals;
mod clock;
#[cfg(test)]
pub(crate) mod fake;
pub mod find;
mod orders;
pub mod probe;
mod probe_error;
mod serial;
mod tcp;
pub mod virtual_link;

use std::path::Path;

use self::virtual_link::VirtualLink;
use crate::exit::{Exit, Failure};
use crate::words::en::probe as words;

/// A byte stream to one probe, with the clocks that belong to it.
///
/// The clocks come with the line because on the virtual bench both are simulated: a test at a
/// thousand times real time sees consistent waits and marks.
pub trait Link {
    /// Waits up to `patience_ms` of the link's own time for bytes; `Ok(0)` when none came.
    ///
    /// # Errors
    /// [`LinkError::Lost`] when the line is gone.
    fn receive(&mut self, into: &mut [u8], patience_ms: u64) -> Result<usize, LinkError>;

    /// Sends all bytes.
    ///
    /// # Errors
    /// [`LinkError::Lost`] when the line is gone.
    fn send(&mut self, bytes: &[u8]) -> Result<(), LinkError>;

    /// Tries once to open the line again after it was lost.
    ///
    /// # Errors
    /// Any [`LinkError`]; the caller waits and tries again.
    fn reopen(&mut self) -> Result<(), LinkError>;

    /// Monotonic milliseconds of the host (simulated on the virtual bench).
    fn monotonic_ms(&self) -> u64;

    /// Milliseconds since 1970-01-01 UTC (simulated on the virtual bench).
    fn utc_ms(&self) -> i64;

    /// Lets `ms` milliseconds of the link's own time pass.
    fn wait(&mut self, ms: u64);

    /// Moves the sensors into a standard, named as in `rillmark_proto::reference`; `None` leaves
    /// the temperature to the line. `Ok(true)` when the line did it by itself, which only the
    /// virtual bench can: everywhere else a person has hands.
    ///
    /// # Errors
    /// [`LinkError::Lost`] when the line is gone.
    fn place(&mut self, _standard: &str, _temperature_c: Option<f64>) -> Result<bool, LinkError> {
        Ok(false)
    }

    /// True when [`Link::place`] can do it.
    fn places_by_itself(&self) -> bool {
        false
    }

    /// What a reference thermometer beside the sensors says now, in °C; only the virtual bench can read
    /// one by itself.
    fn reference_c(&mut self) -> Option<f64> {
        None
    }

    /// Has the water moved or left still. `Ok(true)` when the line did it by itself, which only the
    /// virtual bench can.
    ///
    /// # Errors
    /// [`LinkError::Lost`] when the line is gone.
    fn stir(&mut self, _moving: bool) -> Result<bool, LinkError> {
        Ok(false)
    }

    /// Connects loads in place of the sensors. `Ok(true)` when the line did it by itself, which only the
    /// virtual bench can.
    ///
    /// # Errors
    /// [`LinkError::Lost`] when the line is gone.
    fn connect(&mut self, _loads: rillmark_bench::Loads) -> Result<bool, LinkError> {
        Ok(false)
    }

    /// Makes the board one that was built with a mistake; true where that can be, on the virtual bench.
    fn misbuild(&mut self, _mistake: rillmark_bench::BuildFault) -> bool {
        false
    }

    /// Takes the probe's power away for a second; true when the line did it by itself, which only
    /// the virtual bench can.
    fn power_cycle(&mut self) -> bool {
        false
    }

    /// What to call this line when speaking to a person (`/dev/ttyACM0`, `virtual`).
    fn name(&self) -> &str;
}

/// What can go wrong with a line.
#[derive(Debug, thiserror::Error)]
pub enum LinkError {
    /// The line was open and is gone.
    #[error("{}", words::line_lost(name, cause))]
    Lost {
        /// The line's name.
        name: String,
        /// What the system said.
        cause: String,
    },
    /// The line cannot be opened.
    #[error("{}", words::cannot_open(name, cause))]
    CannotOpen {
        /// The line's name.
        name: String,
        /// What the system said, and the remedy.
        cause: String,
    },
    /// There is nothing of that name.
    #[error("{}", words::port_not_there(name))]
    NotThere {
        /// The line's name.
        name: String,
    },
    /// What has that name is no serial port.
    #[error("{}", words::not_a_port(name))]
    NotAPort {
        /// The line's name.
        name: String,
    },
    /// Another program has it open.
    #[error("{}", words::port_busy(name))]
    Busy {
        /// The line's name.
        name: String,
    },
    /// This user may not open it.
    #[error("{}", words::port_denied(name, group.as_deref()))]
    Denied {
        /// The line's name.
        name: String,
        /// The group that may, where the system has such a thing.
        group: Option<String>,
    },
}

/// The flash file of `virtual` or `virtual:FLASH`; `None` when the port is another one.
fn virtual_flash(port: &str) -> Option<&Path> {
    match port.strip_prefix("virtual")? {
        "" => Some(Path::new(virtual_link::DEFAULT_FLASH)),
        rest => rest.strip_prefix(':').map(Path::new),
    }
}

/// Opens the line that a person named, or the only probe there is.
///
/// `port` is a serial port's path, `tcp:HOST:PORT`, `virtual` or `virtual:FLASH`. Without it only
/// ports with our USB identity are considered, and `probe` (a board id) picks among several.
///
/// # Errors
/// A [`Failure`] with [`Exit::Port`] that says what to do.
pub fn open(port: Option<&str>, probe: Option<&str>) -> Result<Box<dyn Link>, Failure> {
    let failure = |error: LinkError| Failure::new(Exit::Port, error.to_string());
    match port {
        Some(named) => match named.strip_prefix("tcp:") {
            Some(address) => Ok(Box::new(tcp::TcpLink::open(address).map_err(failure)?)),
            None => match virtual_flash(named) {
                Some(flash) => Ok(Box::new(VirtualLink::open(Some(flash)).map_err(failure)?)),
                None => Ok(Box::new(serial::SerialLink::open_named(named).map_err(failure)?)),
            },
        },
        None => {
            let candidates = find::candidates()?;
            let found = find::choose(&candidates, probe)?;
            Ok(Box::new(serial::SerialLink::open_found(found).map_err(failure)?))
        }
    }
}
