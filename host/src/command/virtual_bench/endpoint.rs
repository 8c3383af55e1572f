//! Where the bench is reached: a pseudo-terminal or a TCP socket, one client at a time, never
//! waiting.

use std::io::{self, ErrorKind, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::PathBuf;

#[cfg(unix)]
use super::pseudo_terminal::PseudoTerminal;
use crate::words::en::virtual_bench as words;

/// Where to serve.
#[derive(Clone, Debug)]
pub(super) enum Place {
    PseudoTerminal { link: Option<PathBuf> },
    Tcp(String),
}

/// The served end.
#[derive(Debug)]
pub(super) enum Endpoint {
    #[cfg(unix)]
    PseudoTerminal(PseudoTerminal),
    Tcp(Socket),
}

impl Endpoint {
    /// Makes the place; an error is a sentence.
    pub(super) fn open(place: Place) -> Result<Self, String> {
        match place {
            #[cfg(unix)]
            Place::PseudoTerminal { link } => PseudoTerminal::open(link).map(Self::PseudoTerminal),
            #[cfg(not(unix))]
            Place::PseudoTerminal { link: _link } => Err(words::NO_PSEUDO_TERMINAL.to_owned()),
            Place::Tcp(address) => Socket::open(&address)
                .map(Self::Tcp)
                .map_err(|error| words::cannot_serve(&address, &error)),
        }
    }

    /// What a client has to open.
    pub(super) fn at(&self) -> String {
        match self {
            #[cfg(unix)]
            Self::PseudoTerminal(terminal) => terminal.at(),
            Self::Tcp(socket) => format!("tcp:{}", socket.address),
        }
    }

    /// Bytes from the client that are there already; 0 when there are none.
    pub(super) fn receive(&mut self, into: &mut [u8]) -> usize {
        match self {
            #[cfg(unix)]
            Self::PseudoTerminal(terminal) => terminal.receive(into),
            Self::Tcp(socket) => socket.receive(into),
        }
    }

    /// Sends what the client takes now; the rest is lost, as on a cable that nobody listens to.
    pub(super) fn send(&mut self, bytes: &[u8]) {
        match self {
            #[cfg(unix)]
            Self::PseudoTerminal(terminal) => terminal.send(bytes),
            Self::Tcp(socket) => socket.send(bytes),
        }
    }

    /// The cable is pulled: a client finds its end closed.
    pub(super) fn unplug(&mut self) {
        match self {
            #[cfg(unix)]
            Self::PseudoTerminal(terminal) => terminal.unplug(),
            Self::Tcp(socket) => (socket.client, socket.plugged) = (None, false),
        }
    }

    /// The cable is plugged in.
    pub(super) fn plug(&mut self) -> Result<(), String> {
        match self {
            #[cfg(unix)]
            Self::PseudoTerminal(terminal) => terminal.plug(),
            Self::Tcp(socket) => {
                socket.plugged = true;
                Ok(())
            }
        }
    }
}

/// A listening socket and its client.
#[derive(Debug)]
pub(super) struct Socket {
    listener: TcpListener,
    address: std::net::SocketAddr,
    client: Option<TcpStream>,
    plugged: bool,
}

impl Socket {
    fn open(address: &str) -> io::Result<Self> {
        let listener = TcpListener::bind(address)?;
        listener.set_nonblocking(true)?;
        let address = listener.local_addr()?;
        Ok(Self { listener, address, client: None, plugged: true })
    }

    /// Takes the next client when there is none; while unplugged every client is turned away.
    fn welcome(&mut self) {
        if self.client.is_some() {
            return;
        }
        let Ok((client, _)) = self.listener.accept() else {
            return;
        };
        if self.plugged && client.set_nonblocking(true).is_ok() {
            // Without this the pacing is lost to packet coalescing; the line works all the same.
            let _ = client.set_nodelay(true);
            self.client = Some(client);
        }
    }

    fn receive(&mut self, into: &mut [u8]) -> usize {
        self.welcome();
        match self.client.as_mut().map(|client| client.read(into)) {
            Some(Ok(count)) if count > 0 => count,
            Some(Err(error)) if waits(&error) => 0,
            Some(_) => {
                self.client = None;
                0
            }
            None => 0,
        }
    }

    fn send(&mut self, mut bytes: &[u8]) {
        while let (Some(client), false) = (self.client.as_mut(), bytes.is_empty()) {
            match client.write(bytes) {
                Ok(count) if count > 0 => bytes = &bytes[count..],
                Err(error) if waits(&error) => return,
                _ => self.client = None,
            }
        }
    }
}

/// True for an error that only says 'not now'.
fn waits(error: &io::Error) -> bool {
    matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::Interrupted)
}
