//! A probe at a serial port.

use std::io::{ErrorKind, Read, Write};
use std::time::Duration;

use serialport::SerialPort;

use super::clock::HostClock;
use super::find::{self, Candidate};
use super::{Link, LinkError};

/// USB serial ignores it; a real one on the board's debug pins would run at this rate.
const BAUD: u32 = 115_200;
/// How long the port may take to take bytes.
const SEND_PATIENCE: Duration = Duration::from_secs(2);

/// An open port, and what is needed to open it again.
pub(super) struct SerialLink {
    path: String,
    /// USB serial by which it is found again under another path; `None` when it was named.
    usb_serial: Option<String>,
    /// `None` from a failed attempt to open it again to the next.
    port: Option<Box<dyn SerialPort>>,
    clock: HostClock,
}

impl SerialLink {
    /// Opens the port that a person named, whatever is behind it.
    pub(super) fn open_named(path: &str) -> Result<Self, LinkError> {
        Self::open(path, None)
    }

    /// Opens a port that was found by its USB identity.
    pub(super) fn open_found(found: &Candidate) -> Result<Self, LinkError> {
        Self::open(&found.path, found.usb_serial.clone())
    }

    fn open(path: &str, usb_serial: Option<String>) -> Result<Self, LinkError> {
        let port = Some(open_exclusively(path)?);
        Ok(Self { path: path.to_owned(), usb_serial, port, clock: HostClock::new() })
    }

    fn lost(&self, cause: impl ToString) -> LinkError {
        LinkError::Lost { name: self.path.clone(), cause: cause.to_string() }
    }
}

fn open_exclusively(path: &str) -> Result<Box<dyn SerialPort>, LinkError> {
    let name = || path.to_owned();
    device::check(path)?;
    // Data terminal ready tells the board's USB side that somebody listens.
    let builder = serialport::new(path, BAUD).timeout(SEND_PATIENCE).dtr_on_open(true);
    builder.open().map_err(|error| match error.kind() {
        serialport::ErrorKind::Io(ErrorKind::PermissionDenied) => {
            LinkError::Denied { name: name(), group: device::group(path) }
        }
        serialport::ErrorKind::Io(ErrorKind::NotFound) => LinkError::NotThere { name: name() },
        serialport::ErrorKind::NoDevice => device::no_device(path),
        _ if device::is_no_terminal(path) => LinkError::NotAPort { name: name() },
        _ => LinkError::CannotOpen { name: name(), cause: error.to_string() },
    })
}

#[cfg(unix)]
mod device {
    use std::fs;
    use std::os::unix::fs::{FileTypeExt, MetadataExt};

    use super::LinkError;

    /// Tells a missing name and a plain file from a device before it is opened.
    pub(super) fn check(path: &str) -> Result<(), LinkError> {
        match fs::metadata(path) {
            Ok(metadata) if metadata.file_type().is_char_device() => Ok(()),
            Ok(_) => Err(LinkError::NotAPort { name: path.to_owned() }),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                Err(LinkError::NotThere { name: path.to_owned() })
            }
            // What else is wrong shows when it is opened.
            Err(_) => Ok(()),
        }
    }

    /// True for a device that is none a program can talk to by serial rules, such as `/dev/null`.
    pub(super) fn is_no_terminal(path: &str) -> bool {
        use std::io::IsTerminal;
        fs::File::open(path).is_ok_and(|device| !device.is_terminal())
    }

    /// Name of the group that may read and write the device node; never the administrator's own, which
    /// nobody should join for the sake of a cable.
    pub(super) fn group(path: &str) -> Option<String> {
        let node = fs::metadata(path).ok()?;
        let groups = fs::read_to_string("/etc/group").ok()?;
        super::group_to_join(&groups, node.gid(), node.mode()).map(str::to_owned)
    }

    /// The system says 'no device' only of a port that is locked: that it exists was checked.
    pub(super) fn no_device(path: &str) -> LinkError {
        LinkError::Busy { name: path.to_owned() }
    }
}

#[cfg(not(unix))]
mod device {
    use super::LinkError;

    pub(super) fn check(_path: &str) -> Result<(), LinkError> {
        Ok(())
    }

    pub(super) fn group(_path: &str) -> Option<String> {
        None
    }

    pub(super) fn is_no_terminal(_path: &str) -> bool {
        false
    }

    /// Windows refuses access to an open port and reports both that and a missing one as 'no
    /// device'; the list of ports tells them apart.
    pub(super) fn no_device(path: &str) -> LinkError {
        let name = path.to_owned();
        let listed = serialport::available_ports().unwrap_or_default();
        match listed.iter().any(|port| port.port_name.eq_ignore_ascii_case(path)) {
            true => LinkError::Busy { name },
            false => LinkError::NotThere { name },
        }
    }
}

/// The group whose members may read and write a node of this mode, by the text of `/etc/group`
/// (`name:password:id:members`); `None` when there is none, or only the administrator's.
#[cfg_attr(not(unix), allow(dead_code))]
fn group_to_join(groups: &str, gid: u32, mode: u32) -> Option<&str> {
    const READ_AND_WRITE: u32 = 0o060;
    if gid == 0 || mode & READ_AND_WRITE != READ_AND_WRITE {
        return None;
    }
    groups.lines().find_map(|line| {
        let mut fields = line.split(':');
        let name = fields.next()?;
        (fields.nth(1)?.parse() == Ok(gid)).then_some(name)
    })
}

impl Link for SerialLink {
    fn receive(&mut self, into: &mut [u8], patience_ms: u64) -> Result<usize, LinkError> {
        let patience = Duration::from_millis(patience_ms);
        let result = match &mut self.port {
            Some(port) => match port.set_timeout(patience) {
                Ok(()) => port.read(into),
                Err(error) => return Err(self.lost(error)),
            },
            None => return Err(self.lost(ErrorKind::NotConnected)),
        };
        match result {
            Ok(0) if !into.is_empty() => Err(self.lost(ErrorKind::UnexpectedEof)),
            Ok(count) => Ok(count),
            Err(error) => match error.kind() {
                ErrorKind::TimedOut | ErrorKind::WouldBlock | ErrorKind::Interrupted => Ok(0),
                _ => Err(self.lost(error)),
            },
        }
    }

    fn send(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        let result = match &mut self.port {
            Some(port) => match port.set_timeout(SEND_PATIENCE) {
                Ok(()) => port.write_all(bytes),
                Err(error) => return Err(self.lost(error)),
            },
            None => return Err(self.lost(ErrorKind::NotConnected)),
        };
        result.map_err(|error| self.lost(error))
    }

    fn reopen(&mut self) -> Result<(), LinkError> {
        // Closed first: the port is locked against everyone, ourselves included.
        self.port = None;
        if let Some(serial) = &self.usb_serial {
            let found = find::candidates().ok().unwrap_or_default();
            let same = |port: &&Candidate| port.ours && port.usb_serial.as_ref() == Some(serial);
            match found.iter().find(same) {
                Some(again) => self.path.clone_from(&again.path),
                None => return Err(LinkError::NotThere { name: self.path.clone() }),
            }
        }
        self.port = Some(open_exclusively(&self.path)?);
        Ok(())
    }

    fn monotonic_ms(&self) -> u64 {
        self.clock.monotonic_ms()
    }

    fn utc_ms(&self) -> i64 {
        self.clock.utc_ms()
    }

    fn wait(&mut self, ms: u64) {
        self.clock.wait(ms);
    }

    fn name(&self) -> &str {
        &self.path
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_group_to_join_may_read_and_write_and_is_never_the_administrators() {
        let groups = "root:x:0:\ndialout:x:20:ann,bob\nbroken\n";
        assert_eq!(group_to_join(groups, 20, 0o020_660), Some("dialout"));
        assert_eq!(group_to_join(groups, 2, 0o020_660), None);
        assert_eq!(group_to_join(groups, 0, 0o020_660), None);
        // A terminal of a login is like this: its group may write messages to it, and that is all.
        assert_eq!(group_to_join(groups, 20, 0o020_620), None);
        assert_eq!(group_to_join(groups, 20, 0o020_600), None);
    }

    #[test]
    fn who_may_not_open_it_is_told_the_exact_remedy() {
        let denied = |group: Option<&str>| {
            let group = group.map(str::to_owned);
            LinkError::Denied { name: "/dev/ttyACM0".into(), group }.to_string()
        };
        assert!(denied(Some("dialout")).contains("`sudo usermod -aG dialout $USER`"));
        assert!(!denied(None).contains("usermod"));
    }

    #[cfg(unix)]
    #[test]
    fn what_is_not_a_port_is_said_before_it_is_opened() {
        let file = tempfile::NamedTempFile::new().expect("a temporary file");
        let path = file.path().to_string_lossy().into_owned();
        assert!(matches!(SerialLink::open_named(&path), Err(LinkError::NotAPort { .. })));
        file.close().expect("it is removed");
        assert!(matches!(SerialLink::open_named(&path), Err(LinkError::NotThere { .. })));
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_pseudo_terminal_carries_bytes_is_locked_and_its_end_is_a_loss() {
        use serialport::TTYPort;

        let (mut master, slave) = TTYPort::pair().expect("a pseudo-terminal");
        let path = slave.name().expect("it has a path");
        drop(slave);
        let mut link = SerialLink::open_named(&path).expect("nobody else has it");
        assert!(matches!(SerialLink::open_named(&path), Err(LinkError::Busy { .. })));
        master.write_all(b"abc\0\r\n").expect("open");
        let mut space = [0; 16];
        assert_eq!(link.receive(&mut space, 1000).expect("open"), 6);
        assert_eq!(&space[..6], b"abc\0\r\n");
        assert_eq!(link.receive(&mut space, 1).expect("open"), 0);
        link.send(b"xy\x03").expect("open");
        let mut got = [0; 3];
        master.read_exact(&mut got).expect("three bytes");
        assert_eq!(&got, b"xy\x03");
        drop(master);
        assert!(matches!(link.receive(&mut space, 1000), Err(LinkError::Lost { .. })));
        assert!(link.reopen().is_err());
        assert!(matches!(link.send(b"x"), Err(LinkError::Lost { .. })));
    }
}
