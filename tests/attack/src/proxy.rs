//! A line between a command and a probe that keeps all that travels on it, over a cable of our choice.

mod pump;

use std::net::{Shutdown, TcpListener, TcpStream};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering::SeqCst};
use std::sync::{Arc, Mutex, MutexGuard};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use self::pump::pump;
use crate::cable::{Cable, Strand};
use crate::delivered::Delivered;

/// All that travelled.
#[derive(Debug, Default)]
pub(crate) struct Travelled {
    /// What the probe sent.
    pub(crate) from_probe: Vec<u8>,
    /// What the command got of it, by connection.
    pub(crate) delivered: Vec<Delivered>,
    /// What the command sent.
    pub(crate) to_probe: Vec<u8>,
}

#[derive(Debug, Default)]
struct Line {
    travelled: Mutex<Travelled>,
    cable: Mutex<Cable>,
    /// Where the probe is.
    probe: Mutex<String>,
    /// The next reading goes on when this file holds the one before.
    pace: Mutex<Option<PathBuf>>,
    ended: AtomicBool,
    /// Number of the connection that is cut now.
    cut: AtomicUsize,
    /// An order to keep something is to be held up, and is.
    hold: AtomicBool,
    is_held: AtomicBool,
}

/// The line; it ends with this value.
#[derive(Debug)]
pub(crate) struct Proxy {
    /// Where a command reaches it.
    pub(crate) port: String,
    line: Arc<Line>,
    thread: Option<JoinHandle<()>>,
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

impl Proxy {
    /// A good line to the probe at this port.
    pub(crate) fn to(probe: &str, seed: u64) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        listener.set_nonblocking(true).expect("TCP can do it");
        let port = format!("tcp:{}", listener.local_addr().expect("it is bound"));
        let line = Arc::new(Line::default());
        let accepting = Arc::clone(&line);
        let thread = thread::spawn(move || accept(&listener, &accepting, seed));
        let proxy = Self { port, line, thread: Some(thread) };
        proxy.lead_to(probe);
        proxy
    }

    /// The probe is there from now on.
    pub(crate) fn lead_to(&self, probe: &str) {
        *locked(&self.line.probe) = probe.trim_start_matches("tcp:").to_owned();
    }

    pub(crate) fn over(&self, cable: Cable) {
        *locked(&self.line.cable) = cable;
    }

    /// From now on a reading waits until this file holds the one before.
    pub(crate) fn pace(&self, file: Option<PathBuf>) {
        *locked(&self.line.pace) = file;
    }

    /// From now on an order to keep something is held up, or goes on.
    pub(crate) fn hold(&self, hold: bool) {
        self.line.hold.store(hold, SeqCst);
    }

    /// One is held up.
    pub(crate) fn is_held(&self) -> bool {
        self.line.is_held.load(SeqCst)
    }

    /// Cuts the connection that is there.
    pub(crate) fn cut(&self) {
        self.line.cut.store(locked(&self.line.travelled).delivered.len(), SeqCst);
    }

    pub(crate) fn travelled(&self) -> MutexGuard<'_, Travelled> {
        locked(&self.line.travelled)
    }
}

impl Drop for Proxy {
    fn drop(&mut self) {
        self.line.ended.store(true, SeqCst);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn accept(listener: &TcpListener, line: &Arc<Line>, seed: u64) {
    let mut pumps: Vec<JoinHandle<()>> = Vec::new();
    while !line.ended.load(SeqCst) {
        let Ok((command, _)) = listener.accept() else {
            thread::sleep(Duration::from_millis(1));
            continue;
        };
        // A probe serves one at a time.
        for pump in pumps.drain(..) {
            let _ = pump.join();
        }
        let Ok(probe) = TcpStream::connect(&*locked(&line.probe)) else { continue };
        let number = {
            let mut travelled = locked(&line.travelled);
            travelled.delivered.push(Delivered::default());
            travelled.delivered.len()
        };
        for (from, to, is_probe) in [(&command, &probe, false), (&probe, &command, true)] {
            let (Ok(from), Ok(to)) = (from.try_clone(), to.try_clone()) else { continue };
            let (line, strand) = (Arc::clone(line), Strand::new(seed ^ (number as u64) << 1));
            pumps.push(thread::spawn(move || {
                pump(&from, &to, &line, strand, number, is_probe);
                locked(&line.travelled).delivered[number - 1].end();
                let _ = (from.shutdown(Shutdown::Both), to.shutdown(Shutdown::Both));
            }));
        }
    }
    for pump in pumps {
        let _ = pump.join();
    }
}
