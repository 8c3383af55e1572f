//! What a bad cable does to frames.

use std::io::{self, Write};
use std::net::TcpStream;
use std::thread;
use std::time::Duration;

use rillmark_fuzz::random::Random;

/// One thing that happens to a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Trouble {
    /// The connection ends within it.
    Cut,
    Delay,
    Drop,
    /// Some of its bytes are gone.
    Bite,
    Double,
    Flip,
    Insert,
    /// It comes byte by byte.
    Trickle,
    /// It comes behind the next one.
    Reorder,
}

impl Trouble {
    pub(crate) const ALL: [Self; 9] = [
        Self::Cut,
        Self::Delay,
        Self::Drop,
        Self::Bite,
        Self::Double,
        Self::Flip,
        Self::Insert,
        Self::Trickle,
        Self::Reorder,
    ];
}

/// How bad a cable is.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cable {
    pub(crate) troubles: Vec<Trouble>,
    /// One frame in so many meets one of them; 0 for none.
    pub(crate) one_in: usize,
}

/// One direction of it.
pub(crate) struct Strand {
    random: Random,
    /// A frame that comes behind the next one.
    held: Option<Vec<u8>>,
}

impl Strand {
    pub(crate) fn new(seed: u64) -> Self {
        Self { random: Random::new(seed), held: None }
    }

    /// Carries a frame; what arrived of it, `None` when the connection is cut.
    pub(crate) fn carry(
        &mut self,
        cable: &Cable,
        mut frame: Vec<u8>,
        to: &mut TcpStream,
    ) -> io::Result<Option<Vec<u8>>> {
        let hit = cable.one_in > 0 && !cable.troubles.is_empty();
        let hit = hit && self.random.below(cable.one_in) == 0;
        let trouble = hit.then(|| *self.random.one_of(&cable.troubles));
        let random = &mut self.random;
        let place = random.below(frame.len().max(1));
        match trouble {
            Some(Trouble::Cut) => {
                let _ = to.write_all(&frame[..place]);
                return Ok(None);
            }
            Some(Trouble::Delay) => {
                let most = if random.below(8) == 0 { 300 } else { 15 };
                thread::sleep(Duration::from_millis(random.below(most) as u64));
            }
            Some(Trouble::Drop) => frame.clear(),
            Some(Trouble::Bite) => {
                let end = frame.len().min(place + 1 + random.below(8));
                frame.drain(place..end);
            }
            Some(Trouble::Double) => frame.extend(frame.clone()),
            Some(Trouble::Flip) => {
                for _ in 0..=random.below(3) {
                    let at = random.below(frame.len());
                    frame[at] ^= 1 << random.below(8);
                }
            }
            Some(Trouble::Insert) => {
                let bytes: Vec<u8> = (0..=random.below(40)).map(|_| random.bits() as u8).collect();
                frame.splice(place..place, bytes);
            }
            Some(Trouble::Trickle) => {
                for byte in &frame {
                    to.write_all(std::slice::from_ref(byte))?;
                    thread::sleep(Duration::from_micros(random.below(300) as u64));
                }
                return Ok(Some(frame));
            }
            Some(Trouble::Reorder) if self.held.is_none() => {
                self.held = Some(frame);
                return Ok(Some(Vec::new()));
            }
            Some(Trouble::Reorder) | None => {}
        }
        frame.extend(self.held.take().unwrap_or_default());
        to.write_all(&frame)?;
        Ok(Some(frame))
    }
}
