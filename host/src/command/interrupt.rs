//! Ctrl-C (and the system's wish to end us) as a question that a long command asks now and then; and what
//! is taken away when nobody asks.

use std::fs;
use std::io::{self, BufRead, Read};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::sync::{Mutex, MutexGuard, Once, PoisonError};
use std::thread;
use std::time::Duration;

static INTERRUPTED: AtomicBool = AtomicBool::new(false);
/// A command asks whether it was.
static ASKED: AtomicBool = AtomicBool::new(false);
/// Files that are not in their place yet.
static BEGUN: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Listens from now on; the returned question says whether somebody wants the command to end. A
/// second Ctrl-C ends the process at once, as far as our files are concerned like a killed one.
pub fn listen() -> fn() -> bool {
    ASKED.store(true, Ordering::SeqCst);
    handle();
    || INTERRUPTED.load(Ordering::SeqCst)
}

fn handle() {
    static SET: Once = Once::new();
    // A listener that cannot be set leaves the system's behaviour.
    SET.call_once(|| {
        let _ = listen_with(interrupted);
    });
}

fn interrupted() {
    let was_interrupted = INTERRUPTED.swap(true, Ordering::SeqCst);
    if was_interrupted || !ASKED.load(Ordering::SeqCst) {
        // Held to the end: nothing is begun any more.
        let begun = begun();
        for path in begun.iter() {
            let _ = fs::remove_file(path);
        }
        std::process::exit(130);
    }
}

#[cfg(unix)]
fn listen_with(interrupted: fn()) -> io::Result<()> {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};

    let mut signals = vec![SIGINT, SIGTERM];
    if !is_hangup_ignored() {
        signals.push(SIGHUP);
    }
    let mut signals = signal_hook::iterator::Signals::new(signals)?;
    thread::spawn(move || signals.forever().for_each(|_| interrupted()));
    Ok(())
}

/// Whether we were begun to outlive the terminal (`nohup`): that wish is left as it is. What is ignored is
/// read where Linux says it; elsewhere a closed terminal ends us.
#[cfg(unix)]
fn is_hangup_ignored() -> bool {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    status
        .lines()
        .find_map(|line| line.strip_prefix("SigIgn:"))
        .and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok())
        .is_some_and(|mask| mask & 1 != 0)
}

#[cfg(windows)]
fn listen_with(interrupted: fn()) -> Result<(), ctrlc::Error> {
    ctrlc::set_handler(interrupted)
}

fn begun() -> MutexGuard<'static, Vec<PathBuf>> {
    // A list of paths is whole whatever panicked.
    BEGUN.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Makes a file that goes when the process is interrupted, until it is let be.
pub(super) fn begin_file<T>(
    make: impl FnOnce() -> io::Result<T>,
    path: impl FnOnce(&T) -> &Path,
) -> io::Result<T> {
    handle();
    let mut begun = begun();
    let made = make()?;
    begun.push(path(&made).to_owned());
    Ok(made)
}

/// It is gone, or in its place.
pub(super) fn let_be(path: &Path) {
    begun().retain(|other| other != path);
}

/// From one look for an interruption to the next, while a person is waited for.
const LOOK: Duration = Duration::from_millis(100);

/// Standard input, whose wait for a person an interruption ends with an error. The system alone would wait
/// on, since we listen for interruptions ourselves.
#[derive(Default)]
pub struct Person {
    /// What a thread of its own has read; begun at the first question.
    inbox: Option<Receiver<io::Result<Vec<u8>>>>,
    held: Vec<u8>,
    used: usize,
}

fn begin() -> Receiver<io::Result<Vec<u8>>> {
    // No room: nothing is read ahead of what was asked for but one piece.
    let (outbox, inbox) = sync_channel(0);
    thread::spawn(move || {
        loop {
            let mut piece = vec![0; 4096];
            let read = io::stdin().read(&mut piece).map(|count| {
                piece.truncate(count);
                piece
            });
            let is_last = !read.as_ref().is_ok_and(|piece| !piece.is_empty());
            if outbox.send(read).is_err() || is_last {
                return;
            }
        }
    });
    inbox
}

impl BufRead for Person {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.used == self.held.len() {
            let inbox = self.inbox.get_or_insert_with(begin);
            self.held = loop {
                match inbox.recv_timeout(LOOK) {
                    Ok(piece) => break piece?,
                    Err(RecvTimeoutError::Disconnected) => break Vec::new(),
                    Err(RecvTimeoutError::Timeout) if INTERRUPTED.load(Ordering::SeqCst) => {
                        // Not the kind that readers take for a reason to try again.
                        return Err(io::ErrorKind::Other.into());
                    }
                    Err(RecvTimeoutError::Timeout) => {}
                }
            };
            self.used = 0;
        }
        Ok(&self.held[self.used..])
    }

    fn consume(&mut self, amount: usize) {
        self.used = (self.used + amount).min(self.held.len());
    }
}

impl Read for Person {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.fill_buf()?.read(into)?;
        self.consume(count);
        Ok(count)
    }
}
