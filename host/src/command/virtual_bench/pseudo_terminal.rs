//! A pseudo-terminal that looks to its client like a serial port.

use std::fs::{self, File};
use std::io::{ErrorKind, Read, Write};
use std::path::PathBuf;

use rustix::fs::{Mode, OFlags};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, ioctl_tiocnxcl, tcgetattr, tcsetattr};

use crate::words::en::virtual_bench as words;

/// How often the exclusive mark is taken off, in receptions.
const RELEASE_EVERY: u32 = 32;

/// The two ends; both closed while unplugged.
#[derive(Debug)]
pub(super) struct PseudoTerminal {
    ends: Option<Ends>,
    path: String,
    link: Option<PathBuf>,
    receptions: u32,
}

#[derive(Debug)]
struct Ends {
    ours: File,
    /// Kept open, so that a client may leave and come back, and so that the settings stay.
    theirs: File,
}

impl Ends {
    fn open() -> rustix::io::Result<(Self, String)> {
        let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY)?;
        grantpt(&ours)?;
        unlockpt(&ours)?;
        let path = ptsname(&ours, Vec::new())?;
        let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC;
        let theirs = rustix::fs::open(&path, flags, Mode::empty())?;
        let mut settings = tcgetattr(&theirs)?;
        settings.make_raw();
        tcsetattr(&theirs, OptionalActions::Now, &settings)?;
        rustix::io::ioctl_fionbio(&ours, true)?;
        let ends = Self { ours: File::from(ours), theirs: File::from(theirs) };
        Ok((ends, path.to_string_lossy().into_owned()))
    }
}

impl PseudoTerminal {
    pub(super) fn open(link: Option<PathBuf>) -> Result<Self, String> {
        let mut terminal = Self { ends: None, path: String::new(), link, receptions: 0 };
        terminal.plug()?;
        Ok(terminal)
    }

    /// The path that a client opens: the link where there is one.
    pub(super) fn at(&self) -> String {
        match &self.link {
            Some(link) => link.display().to_string(),
            None => self.path.clone(),
        }
    }

    pub(super) fn plug(&mut self) -> Result<(), String> {
        if self.ends.is_some() {
            return Ok(());
        }
        let (ends, path) =
            Ends::open().map_err(|error| words::cannot_serve("a pseudo-terminal", &error))?;
        self.path = path;
        if let Some(link) = &self.link {
            // A link of an earlier run may stand there; anything else is not ours to remove.
            if link.is_symlink() {
                let _ = fs::remove_file(link);
            }
            std::os::unix::fs::symlink(&self.path, link)
                .map_err(|error| words::cannot_serve(&link.display().to_string(), &error))?;
        }
        self.ends = Some(ends);
        Ok(())
    }

    pub(super) fn unplug(&mut self) {
        if self.ends.take().is_some() {
            self.remove_link();
        }
    }

    fn remove_link(&self) {
        if let Some(link) = self.link.as_ref().filter(|link| link.is_symlink()) {
            // Nothing is lost when it stays: the next start takes its place.
            let _ = fs::remove_file(link);
        }
    }

    pub(super) fn receive(&mut self, into: &mut [u8]) -> usize {
        let Some(ends) = &mut self.ends else {
            return 0;
        };
        // A client that was killed leaves its exclusive mark on the terminal, because this end
        // stays open; whoever is still there holds a file lock too.
        self.receptions = self.receptions.wrapping_add(1);
        if self.receptions.is_multiple_of(RELEASE_EVERY) {
            let _ = ioctl_tiocnxcl(&ends.theirs);
        }
        ends.ours.read(into).unwrap_or(0)
    }

    pub(super) fn send(&mut self, mut bytes: &[u8]) {
        let Some(ends) = &mut self.ends else {
            return;
        };
        while !bytes.is_empty() {
            match ends.ours.write(bytes) {
                Ok(count) if count > 0 => bytes = &bytes[count..],
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                // Full, since nobody reads.
                _ => return,
            }
        }
    }
}

impl Drop for PseudoTerminal {
    fn drop(&mut self) {
        self.unplug();
    }
}
