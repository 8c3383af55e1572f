//! A line between a command and a probe that keeps all that travels on it, over a cable of our choice.

use std::io::Read;
use std::net::{Shutdown, TcpListener, TcpStream};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering::SeqCst};
use std::sync::{Arc, Mutex, MutexGuard};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use rillmark_proto::wire::frame::{DELIMITER, MAX_FRAME, unpack};
use rillmark_proto::wire::message::{Order, Sampling};
use rillmark_proto::wire::{Incoming, decode};

use crate::cable::{Cable, Strand};
use crate::truth::readings;

/// How long a paced line waits for a reading to be in the file.
const PACE: Duration = Duration::from_millis(500);

/// All that travelled.
#[derive(Debug, Default)]
pub(crate) struct Travelled {
    /// What the probe sent.
    pub(crate) from_probe: Vec<u8>,
    /// What the command got of it, by connection.
    pub(crate) delivered: Vec<Vec<u8>>,
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
    /// Number of the connection on which a log has the probe sample.
    sampling: AtomicUsize,
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
            travelled.delivered.push(Vec::new());
            travelled.delivered.len()
        };
        for (from, to, is_probe) in [(&command, &probe, false), (&probe, &command, true)] {
            let (Ok(from), Ok(to)) = (from.try_clone(), to.try_clone()) else { continue };
            let (line, strand) = (Arc::clone(line), Strand::new(seed ^ (number as u64) << 1));
            pumps.push(thread::spawn(move || {
                pump(&from, &to, &line, strand, number, is_probe);
                let _ = (from.shutdown(Shutdown::Both), to.shutdown(Shutdown::Both));
            }));
        }
    }
    for pump in pumps {
        let _ = pump.join();
    }
}

/// Carries frames until an end is gone or the cable is cut.
fn pump(
    mut from: &TcpStream,
    to: &TcpStream,
    line: &Line,
    mut strand: Strand,
    number: usize,
    is_probe: bool,
) {
    let Ok(mut to) = to.try_clone() else { return };
    let ready = from.set_nonblocking(false).and(from.set_nodelay(true)).and(to.set_nodelay(true));
    let ready = ready.and(from.set_read_timeout(Some(Duration::from_millis(5))));
    let ready = ready.and(to.set_write_timeout(Some(Duration::from_secs(2))));
    let (mut space, mut segment) = ([0; 4096], Vec::new());
    while ready.is_ok() && !line.ended.load(SeqCst) && line.cut.load(SeqCst) != number {
        let count = match from.read(&mut space) {
            Ok(0) => return,
            Ok(count) => count,
            Err(error) if matches!(error.kind(), std::io::ErrorKind::ConnectionReset) => return,
            Err(_) => continue,
        };
        for &byte in &space[..count] {
            segment.push(byte);
            if byte != DELIMITER {
                continue;
            }
            let frame = std::mem::take(&mut segment);
            {
                let mut travelled = locked(&line.travelled);
                let sent = match is_probe {
                    true => &mut travelled.from_probe,
                    false => &mut travelled.to_probe,
                };
                sent.extend(&frame);
            }
            match if is_probe { None } else { order(&frame) } {
                Some(Order::Sample(Sampling::Full { .. })) => line.sampling.store(number, SeqCst),
                Some(Order::Keep(_) | Order::Equip(_)) => {
                    let until = Instant::now() + PACE;
                    while line.hold.load(SeqCst) && Instant::now() < until {
                        line.is_held.store(true, SeqCst);
                        thread::sleep(Duration::from_micros(200));
                    }
                }
                _ => {}
            }
            // What an earlier sampling left under way is written by nobody.
            let is_awaited = is_probe && line.sampling.load(SeqCst) == number;
            let paced = if is_awaited { locked(&line.pace).clone() } else { None };
            let paced = paced.filter(|_| !readings(&frame).is_empty()).map(|file| {
                let size = size(&file) + frame.len() as u64;
                (file, size)
            });
            let cable = locked(&line.cable).clone();
            let Ok(Some(arrived)) = strand.carry(&cable, frame, &mut to) else { return };
            if is_probe {
                locked(&line.travelled).delivered[number - 1].extend(arrived);
            }
            let until = Instant::now() + PACE;
            while let Some((file, enough)) = &paced {
                let over = line.ended.load(SeqCst) || line.cut.load(SeqCst) == number;
                if size(file) >= *enough || over || Instant::now() > until {
                    break;
                }
                thread::sleep(Duration::from_micros(200));
            }
        }
    }
}

fn order(frame: &[u8]) -> Option<Order> {
    let mut space = [0; MAX_FRAME];
    match decode(&unpack(frame, &mut space)?) {
        Ok(Incoming::Command(command)) => Some(command.order),
        _ => None,
    }
}

fn size(file: &PathBuf) -> u64 {
    std::fs::metadata(file).map_or(0, |metadata| metadata.len())
}
