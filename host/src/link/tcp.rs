//! A probe behind a TCP socket.

use std::io::{ErrorKind, Read, Write};
use std::net::{TcpStream, ToSocketAddrs};
use std::time::Duration;

use super::clock::HostClock;
use super::{Link, LinkError};

/// How long the other side may take to accept a connection, or to take bytes.
const PATIENCE: Duration = Duration::from_secs(5);

/// A connection, and what is needed to make it again.
#[derive(Debug)]
pub(super) struct TcpLink {
    name: String,
    stream: TcpStream,
    clock: HostClock,
}

impl TcpLink {
    pub(super) fn open(address: &str) -> Result<Self, LinkError> {
        let name = format!("tcp:{address}");
        Ok(Self { stream: connect(&name, address)?, name, clock: HostClock::new() })
    }

    fn lost(&self, cause: &dyn ToString) -> LinkError {
        LinkError::Lost { name: self.name.clone(), cause: cause.to_string() }
    }
}

fn connect(name: &str, address: &str) -> Result<TcpStream, LinkError> {
    let cannot = |error: std::io::Error| LinkError::CannotOpen {
        name: name.to_owned(),
        cause: error.to_string(),
    };
    let mut refused = std::io::Error::from(ErrorKind::AddrNotAvailable);
    for address in address.to_socket_addrs().map_err(cannot)? {
        match TcpStream::connect_timeout(&address, PATIENCE) {
            Ok(stream) => {
                stream.set_nodelay(true).map_err(cannot)?;
                stream.set_write_timeout(Some(PATIENCE)).map_err(cannot)?;
                return Ok(stream);
            }
            Err(error) => refused = error,
        }
    }
    Err(cannot(refused))
}

impl Link for TcpLink {
    fn receive(&mut self, into: &mut [u8], patience_ms: u64) -> Result<usize, LinkError> {
        // A time-out of zero means 'for ever' to the system.
        let patience = Duration::from_millis(patience_ms.max(1));
        let result =
            self.stream.set_read_timeout(Some(patience)).and_then(|()| self.stream.read(into));
        match result {
            Ok(0) if !into.is_empty() => Err(self.lost(&ErrorKind::UnexpectedEof)),
            Ok(count) => Ok(count),
            Err(error) => match error.kind() {
                ErrorKind::TimedOut | ErrorKind::WouldBlock | ErrorKind::Interrupted => Ok(0),
                _ => Err(self.lost(&error)),
            },
        }
    }

    fn send(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        self.stream.write_all(bytes).map_err(|error| self.lost(&error))
    }

    fn reopen(&mut self) -> Result<(), LinkError> {
        // Ends the old connection first: the other side may serve only one.
        let _ = self.stream.shutdown(std::net::Shutdown::Both);
        let address = self.name.trim_start_matches("tcp:").to_owned();
        self.stream = connect(&self.name, &address)?;
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
        &self.name
    }
}

#[cfg(test)]
mod tests {
    use std::net::TcpListener;

    use super::*;

    #[test]
    fn bytes_travel_silence_is_no_error_and_an_end_is_a_loss_that_reopens() {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        let address = listener.local_addr().expect("it is bound").to_string();
        let mut link = TcpLink::open(&address).expect("it listens");
        let (mut other, _) = listener.accept().expect("it connected");
        let mut space = [0; 16];
        assert_eq!(link.receive(&mut space, 1).expect("open"), 0);
        other.write_all(b"abc").expect("open");
        assert_eq!(link.receive(&mut space, 1000).expect("open"), 3);
        link.send(b"xy").expect("open");
        let mut got = [0; 2];
        other.read_exact(&mut got).expect("two bytes");
        assert_eq!(&got, b"xy");
        drop(other);
        assert!(matches!(link.receive(&mut space, 1000), Err(LinkError::Lost { .. })));
        link.reopen().expect("it still listens");
        drop(listener);
        assert!(matches!(link.reopen(), Err(LinkError::CannotOpen { .. })));
        assert!(matches!(TcpLink::open("no port"), Err(LinkError::CannotOpen { .. })));
    }
}
