//! A pseudo-terminal in front of a TCP socket, so that what serves on TCP looks like a serial port.

use std::fs::File;
use std::io::{self, ErrorKind, Read, Write};
use std::net::{Shutdown, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{self, JoinHandle};

use serialport::{SerialPort, TTYPort};

/// The terminal; it is gone with this value.
pub struct TerminalBridge {
    /// What a client opens.
    pub path: String,
    socket: TcpStream,
    ended: Arc<AtomicBool>,
    /// Kept open, so that a client may leave and come back.
    _theirs: File,
    pumps: Vec<JoinHandle<()>>,
}

impl TerminalBridge {
    /// Connects a new pseudo-terminal to the server at this address (`127.0.0.1:PORT`).
    ///
    /// # Panics
    /// When the system has no pseudo-terminals, or nobody serves there.
    pub fn open(address: &str) -> Self {
        let socket = TcpStream::connect(address).expect("somebody serves there");
        // A frame is small and somebody waits for it.
        socket.set_nodelay(true).expect("TCP can do it");
        let (from_line, theirs) = TTYPort::pair().expect("the system has pseudo-terminals");
        let path = theirs.name().expect("it has a path");
        // A port locks what it opens; a file does not.
        let kept = File::options().read(true).write(true).open(&path).expect("it is there");
        drop(theirs);
        let to_line = from_line.try_clone_native().expect("another handle");
        let another = || socket.try_clone().expect("another handle");
        let (to_socket, from_socket) = (another(), another());
        let ended = Arc::new(AtomicBool::new(false));
        let pumps = vec![
            pump(from_line, to_socket, Arc::clone(&ended)),
            pump(from_socket, to_line, Arc::clone(&ended)),
        ];
        Self { path, socket, ended, _theirs: kept, pumps }
    }
}

impl Drop for TerminalBridge {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
        let _ = self.socket.shutdown(Shutdown::Both);
        for pump in self.pumps.drain(..) {
            let _ = pump.join();
        }
    }
}

/// Carries bytes until an end is gone. An end that takes nothing holds the other one up, as a USB host
/// does whose program does not read.
fn pump(
    mut from: impl Read + Send + 'static,
    mut to: impl Write + Send + 'static,
    ended: Arc<AtomicBool>,
) -> JoinHandle<()> {
    thread::spawn(move || {
        let mut bytes = [0; 4096];
        let mut unsent = 0..0;
        while !ended.load(Ordering::Relaxed) {
            let result = if unsent.is_empty() {
                from.read(&mut bytes).inspect(|&count| unsent = 0..count)
            } else {
                to.write(&bytes[unsent.clone()]).inspect(|&count| unsent.start += count)
            };
            match result {
                Ok(0) => return,
                Ok(_) => {}
                Err(error) if is_patient(&error) => {}
                Err(_) => return,
            }
        }
    })
}

fn is_patient(error: &io::Error) -> bool {
    matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::WouldBlock | ErrorKind::Interrupted)
}
