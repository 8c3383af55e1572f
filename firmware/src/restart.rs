//! What outlives a restart: a few bytes of RAM that nobody clears, and what they say of the next start.
//!
//! The board keeps [`Kept::to_bytes`] where its start-up code leaves RAM alone. After a loss of power
//! they are noise, which the CRC tells.

use crc::{CRC_32_ISO_HDLC, Crc};
use rillmark_proto::wire::start::{Cause, START_LEN, Start, Trouble};

/// Bytes of a [`Kept`].
pub const KEPT_LEN: usize = 1 + START_LEN + 4;

const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// What the board's own registers say about why it starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reset {
    /// They do not say.
    Unknown,
    /// The power came on, or fell too low and came back.
    PowerOn,
    /// The reset pin.
    Pin,
    /// A debug probe.
    Debugger,
    /// A watchdog that this program had started was not fed.
    WatchdogExpired,
    /// A watchdog was told to restart the board at once, or was started by somebody else.
    WatchdogForced,
}

/// How the run before ended, as far as it could still say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    /// It did not say anything.
    None,
    Panic,
    Fault,
}

/// What one run leaves to the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kept {
    end: End,
    start: Start,
}

impl Kept {
    /// Begins a run: how it came to start, and what to keep from now on. `kept` is what was found, if
    /// it was whole.
    #[must_use]
    pub fn begin(reset: Reset, kept: Option<Self>) -> Self {
        // Without power there was nothing to keep, whatever the bytes look like.
        let kept = kept.filter(|_| reset != Reset::PowerOn);
        let end = kept.map_or(End::None, |kept| kept.end);
        let cause = match (reset, end) {
            (Reset::PowerOn, _) => Cause::PowerOn,
            (Reset::Pin, _) => Cause::ResetPin,
            (Reset::Debugger, _) => Cause::Debugger,
            (Reset::WatchdogExpired | Reset::WatchdogForced | Reset::Unknown, End::Panic) => {
                Cause::Panic
            }
            (Reset::WatchdogExpired | Reset::WatchdogForced | Reset::Unknown, End::Fault) => {
                Cause::Fault
            }
            (Reset::WatchdogExpired, End::None) => Cause::Stalled,
            (Reset::WatchdogForced, End::None) => Cause::Asked,
            (Reset::Unknown, End::None) => Cause::Unknown,
        };
        let restarts = kept.map_or(0, |kept| kept.start.restarts.saturating_add(1));
        let trouble = kept.and_then(|kept| kept.start.trouble);
        Self { end: End::None, start: Start { cause, restarts, trouble } }
    }

    /// How the current run came to start.
    #[must_use]
    pub fn start(&self) -> Start {
        self.start
    }

    /// Ends the run: this is why it cannot go on.
    #[must_use]
    pub fn ended(self, trouble: Trouble) -> Self {
        let end = match trouble {
            Trouble::Panic { .. } => End::Panic,
            Trouble::Fault { .. } => End::Fault,
        };
        Self { end, start: Start { trouble: Some(trouble), ..self.start } }
    }

    /// The bytes to keep.
    #[must_use]
    pub fn to_bytes(self) -> [u8; KEPT_LEN] {
        let mut bytes = [0; KEPT_LEN];
        bytes[0] = match self.end {
            End::None => 0,
            End::Panic => 1,
            End::Fault => 2,
        };
        let (content, crc) = bytes.split_at_mut(KEPT_LEN - 4);
        content[1..].copy_from_slice(&self.start.to_bytes());
        crc.copy_from_slice(&CRC.checksum(content).to_le_bytes());
        bytes
    }

    /// Reads the bytes found; `None` when they are not whole.
    #[must_use]
    pub fn from_bytes(bytes: &[u8; KEPT_LEN]) -> Option<Self> {
        let (content, crc) = bytes.split_last_chunk::<4>()?;
        let (end, start) = content.split_first()?;
        let end = match end {
            0 => End::None,
            1 => End::Panic,
            2 => End::Fault,
            _ => return None,
        };
        let is_whole = CRC.checksum(content) == u32::from_le_bytes(*crc);
        is_whole.then_some(Self { end, start: Start::from_bytes(start.try_into().ok()?) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rillmark_proto::wire::start::FileTail;

    const PANIC: Trouble = Trouble::Panic { file: FileTail::of("src/adc.rs"), line: 12 };
    const FAULT: Trouble = Trouble::Fault { address: 0x1000_0200 };

    fn cause(reset: Reset, kept: Option<Kept>) -> Cause {
        Kept::begin(reset, kept).start().cause
    }

    #[test]
    fn a_cause_is_what_the_registers_and_the_last_words_say_together() {
        let run = Kept::begin(Reset::PowerOn, None);
        let cases = [
            (Reset::PowerOn, Some(run.ended(PANIC)), Cause::PowerOn),
            (Reset::Pin, Some(run), Cause::ResetPin),
            (Reset::Debugger, Some(run), Cause::Debugger),
            (Reset::WatchdogExpired, Some(run), Cause::Stalled),
            (Reset::WatchdogExpired, None, Cause::Stalled),
            (Reset::WatchdogForced, Some(run), Cause::Asked),
            (Reset::WatchdogForced, Some(run.ended(PANIC)), Cause::Panic),
            (Reset::WatchdogExpired, Some(run.ended(PANIC)), Cause::Panic),
            (Reset::WatchdogForced, Some(run.ended(FAULT)), Cause::Fault),
            (Reset::Unknown, Some(run.ended(FAULT)), Cause::Fault),
            (Reset::Unknown, None, Cause::Unknown),
        ];
        for (reset, kept, expected) in cases {
            assert_eq!(cause(reset, kept), expected, "{reset:?} after {kept:?}");
        }
    }

    #[test]
    fn restarts_are_counted_and_trouble_remembered_until_the_power_goes() {
        let mut kept = Kept::begin(Reset::PowerOn, None);
        assert_eq!(kept.start(), Start::POWER_ON);
        kept = Kept::begin(Reset::WatchdogForced, Some(kept.ended(PANIC)));
        kept = Kept::begin(Reset::WatchdogExpired, Some(kept));
        let told = Start { cause: Cause::Stalled, restarts: 2, trouble: Some(PANIC) };
        assert_eq!(kept.start(), told);
        assert_eq!(Kept::begin(Reset::PowerOn, Some(kept)).start(), Start::POWER_ON);
        for _ in 0..70_000 {
            kept = Kept::begin(Reset::Pin, Some(kept));
        }
        assert_eq!(kept.start().restarts, u16::MAX);
    }

    #[test]
    fn bytes_come_back_whole_or_not_at_all() {
        let run = Kept::begin(Reset::Pin, None);
        for kept in [run, run.ended(PANIC), run.ended(FAULT)] {
            let bytes = kept.to_bytes();
            assert_eq!(Kept::from_bytes(&bytes), Some(kept));
            for bit in 0..8 * KEPT_LEN {
                let mut bytes = bytes;
                bytes[bit / 8] ^= 1 << (bit % 8);
                assert_eq!(Kept::from_bytes(&bytes), None, "bit {bit}");
            }
        }
        // RAM as it may be after the power came on.
        for noise in [[0; KEPT_LEN], [0xff; KEPT_LEN], [0xa5; KEPT_LEN]] {
            assert_eq!(Kept::from_bytes(&noise), None);
        }
    }
}
