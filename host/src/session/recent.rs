//! Readings that came twice.

use std::collections::VecDeque;

use rillmark_proto::reading::Reading;

/// How many readings back one that comes again is known.
const KEPT: usize = 256;

/// Whether a reading of this start and number came before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Came {
    /// Not among the last ones.
    First,
    /// With the same content: a line or a disk doubled it.
    Again,
    /// With another content: one of them is not what the probe said.
    Otherwise,
}

/// The last readings.
#[derive(Clone, Debug, Default)]
pub struct Recent {
    kept: VecDeque<Reading>,
    newest: Option<(u32, u32)>,
}

impl Recent {
    /// Takes a reading.
    pub fn take(&mut self, reading: &Reading) -> Came {
        let number = (reading.time.boot, reading.running);
        // As a rule it is newer than all, and need not be looked for.
        let came = if self.newest.is_none_or(|newest| number > newest) {
            self.newest = Some(number);
            Came::First
        } else {
            let mut same = self.kept.iter().filter(|it| (it.time.boot, it.running) == number);
            match (same.clone().next(), same.any(|it| it == reading)) {
                (_, true) => return Came::Again,
                (Some(_), false) => Came::Otherwise,
                (None, false) => Came::First,
            }
        };
        if self.kept.len() == KEPT {
            self.kept.pop_front();
        }
        self.kept.push_back(*reading);
        came
    }
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
}
