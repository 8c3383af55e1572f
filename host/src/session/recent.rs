//! Readings that came twice.

use std::collections::BTreeSet;
use std::hash::{DefaultHasher, Hasher};

use rillmark_proto::reading::Reading;
use rillmark_proto::wire::encode_from_probe;
use rillmark_proto::wire::frame::MAX_FRAME;
use rillmark_proto::wire::message::FromProbe;

/// How many readings are known again: a day and a half at one every two seconds.
const KEPT: usize = 65_536;

/// Whether a reading of this start and number came before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Came {
    /// It did not.
    First,
    /// With the same content: a line or a disk doubled it.
    Again,
    /// With another content, or so long ago that nobody can compare: one of them may not be what the probe
    /// said.
    Otherwise,
}

/// The last readings of a run of the log, each by its start, its number and a digest of its content.
#[derive(Clone, Debug, Default)]
pub struct Recent {
    kept: BTreeSet<(u32, u32, u64)>,
    /// The last number that is not kept any more.
    forgotten: Option<(u32, u32)>,
}

impl Recent {
    /// Takes a reading.
    pub fn take(&mut self, reading: &Reading) -> Came {
        let (boot, running) = (reading.time.boot, reading.running);
        let this = (boot, running, digest(reading));
        if self.kept.contains(&this) {
            return Came::Again;
        }
        let is_known =
            self.kept.range((boot, running, 0)..=(boot, running, u64::MAX)).next().is_some();
        let is_forgotten = self.forgotten.is_some_and(|last| (boot, running) <= last);
        if !is_forgotten {
            self.kept.insert(this);
        }
        if self.kept.len() > KEPT {
            self.forgotten = self.kept.pop_first().map(|(boot, running, _)| (boot, running));
        }
        if is_known || is_forgotten { Came::Otherwise } else { Came::First }
    }
}

fn digest(reading: &Reading) -> u64 {
    let (mut frame, mut hasher) = ([0; MAX_FRAME], DefaultHasher::new());
    // Every reading fits.
    let len = encode_from_probe(&FromProbe::Reading(*reading), &mut frame).unwrap_or(0);
    hasher.write(&frame[..len]);
    hasher.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::fake::empty_reading;

    #[test]
    fn a_reading_is_known_again_by_start_number_and_content() {
        let mut recent = Recent::default();
        let other = Reading { flags: rillmark_proto::reading::Flags(1), ..empty_reading(5) };
        assert_eq!(recent.take(&empty_reading(5)), Came::First);
        assert_eq!(recent.take(&empty_reading(7)), Came::First);
        assert_eq!(recent.take(&empty_reading(5)), Came::Again);
        assert_eq!(recent.take(&other), Came::Otherwise);
        assert_eq!(recent.take(&other), Came::Again);
        assert_eq!(recent.take(&empty_reading(5)), Came::Again);
        assert_eq!(recent.take(&empty_reading(6)), Came::First, "late, but never seen");
        assert_eq!(recent.take(&empty_reading(7)), Came::Again);
    }

    #[test]
    fn what_is_too_long_ago_to_compare_is_not_taken_for_the_same() {
        let mut recent = Recent::default();
        for running in 0..KEPT as u32 + 10 {
            assert_eq!(recent.take(&empty_reading(running)), Came::First);
        }
        assert_eq!(recent.take(&empty_reading(9)), Came::Otherwise);
        assert_eq!(recent.take(&empty_reading(10)), Came::Again);
    }
}
