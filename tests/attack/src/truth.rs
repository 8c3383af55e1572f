//! What the probe sent, against what a session holds and says.

use std::collections::{BTreeMap, BTreeSet};

use rillmark::session::replay::{Summary, open, replay};
use rillmark_proto::wire::frame::{MAX_FRAME, Piece, pieces, unpack};
use rillmark_proto::wire::message::FromProbe;
use rillmark_proto::wire::{Incoming, decode, encode_from_probe};

use crate::case::Case;
use crate::outcome::{Outcome, Wrong};

/// Number of the probe's start, and the reading's running number.
pub(crate) type Number = (u32, u32);

/// The frames of the readings in these bytes, in their order.
pub(crate) fn readings(bytes: &[u8]) -> Vec<(Number, Vec<u8>)> {
    let mut space = [0; MAX_FRAME];
    let mut found = Vec::new();
    for piece in pieces(bytes) {
        let Piece::Frame { raw, .. } = piece else { continue };
        let Some(payload) = unpack(raw, &mut space) else { continue };
        if let Ok(Incoming::FromProbe(FromProbe::Reading(reading))) = decode(&payload) {
            found.push(((reading.time.boot, reading.running), raw.to_vec()));
        }
    }
    found
}

/// Every reading that the probe sent.
#[derive(Debug, Default)]
pub(crate) struct Truth(BTreeMap<Number, Vec<u8>>);

impl Truth {
    /// Of the bytes that came from the probe.
    pub(crate) fn of(from_probe: &[u8]) -> Self {
        Self(readings(from_probe).into_iter().collect())
    }

    /// Judges a session file: nothing in it is made up, what a log owed is in it, and what else is missing
    /// between its first and its last reading is told.
    pub(crate) fn judge(
        &self,
        file: &[u8],
        owed: &BTreeSet<Number>,
        outcome: &mut Outcome,
    ) -> Option<Summary> {
        let held = readings(file);
        for (number, raw) in &held {
            if self.0.get(number) != Some(raw) {
                outcome.find(Wrong::Invented, format!("reading {number:?} of the file"));
            }
        }
        let numbers: BTreeSet<Number> = held.iter().map(|(number, _)| *number).collect();
        let gone: BTreeSet<_> =
            owed.difference(&numbers).filter(|it| self.0.contains_key(it)).collect();
        if let Some(first) = gone.first() {
            let why = "readings that came whole to the log are not in its file";
            outcome
                .find(Wrong::Silent, format!("{} of {} {why}: {first:?}", gone.len(), owed.len()));
        }
        let session = match open(file) {
            Ok(session) => session,
            // Nothing came of it, and nothing was owed that is not told above.
            Err(_) if held.is_empty() => return None,
            Err(why) => {
                outcome.find(Wrong::Silent, format!("a file with readings is no session: {why:?}"));
                return None;
            }
        };
        let summary = replay(file, &session, &[], drop).expect("bytes can be read");
        if !summary.verified() {
            outcome.find(Wrong::Silent, format!("the replay does not verify: {summary:?}"));
        }
        let lost = self.lost(&numbers);
        outcome.lost += lost;
        if lost > summary.missing_readings {
            let told = summary.missing_readings;
            outcome.find(Wrong::Silent, format!("{lost} readings are gone and {told} are told"));
        }
        if self.lost_between_starts(&numbers) && summary.gaps == 0 {
            outcome.find(Wrong::Silent, "readings are gone where the probe started anew");
        }
        Some(summary)
    }

    /// Readings sent between the first and the last one held of the same start, and not held.
    fn lost(&self, held: &BTreeSet<Number>) -> u64 {
        let starts: BTreeSet<u32> = held.iter().map(|(boot, _)| *boot).collect();
        let of_start = |boot: u32| {
            let mut of = held.range((boot, 0)..=(boot, u32::MAX));
            let first = of.next().copied().unwrap_or_default();
            let last = of.next_back().copied().unwrap_or(first);
            self.0.range(first..=last).filter(|(number, _)| !held.contains(number)).count() as u64
        };
        starts.into_iter().map(of_start).sum()
    }

    fn lost_between_starts(&self, held: &BTreeSet<Number>) -> bool {
        let (Some(first), Some(last)) = (held.first(), held.last()) else { return false };
        let in_all = self.0.range(first..=last).filter(|(number, _)| !held.contains(number));
        in_all.count() as u64 > self.lost(held)
    }
}

/// Spoils what a log wrote, before it is judged.
pub(crate) fn spoil(file: &mut Vec<u8>, case: &Case<'_>) {
    let last = readings(file).pop().map(|(_, raw)| raw);
    let at = last.and_then(|raw| Some((file.windows(raw.len()).rposition(|it| it == raw)?, raw)));
    match at {
        Some((at, raw)) if case.is_planted("invented") => {
            let frame = altered(&raw);
            file.splice(at..at + raw.len(), frame);
        }
        _ if case.is_planted("lost") => file.clear(),
        _ => {}
    }
}

/// The same reading with another content, whole.
fn altered(raw: &[u8]) -> Vec<u8> {
    let mut space = [0; MAX_FRAME];
    let payload = unpack(raw, &mut space).expect("a reading");
    let Ok(Incoming::FromProbe(FromProbe::Reading(mut reading))) = decode(&payload) else {
        return Vec::new();
    };
    reading.time.ms ^= 1;
    let mut frame = [0; MAX_FRAME];
    let len = encode_from_probe(&FromProbe::Reading(reading), &mut frame).expect("it fits");
    frame[..len].to_vec()
}
