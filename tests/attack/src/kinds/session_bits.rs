//! Every bit of a session is turned, in this process: what is read back is what was logged, or it is told
//! that something is missing.

use std::sync::OnceLock;

use rillmark::session::replay::{Replayed, Summary, open, replay};

use crate::case::Case;
use crate::outcome::{Outcome, Wrong};

/// An invented session with a gap, two runs and all that a session can hold.
const SESSION: &[u8] = include_bytes!("../../../golden/session-v1.session");
/// Its bits.
pub(crate) const BITS: u64 = SESSION.len() as u64 * 8;
/// Cases that try them all.
const CASES: usize = 64;

fn read(bytes: &[u8]) -> Option<(Vec<Replayed>, Summary)> {
    let session = open(bytes).ok()?;
    let mut all = Vec::new();
    let summary = replay(bytes, &session, &[], |it| all.push(it)).ok()?;
    Some((all, summary))
}

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    static WHOLE: OnceLock<(Vec<Replayed>, Summary)> = OnceLock::new();
    let (logged, whole) = WHOLE.get_or_init(|| read(SESSION).expect("a session"));
    let mut outcome = Outcome::default();
    for bit in (0..SESSION.len() * 8).skip(case.seed as usize % CASES).step_by(CASES) {
        outcome.tried += 1;
        let mut bytes = SESSION.to_vec();
        bytes[bit / 8] ^= 1 << (bit % 8);
        let Some((mut held, summary)) = read(&bytes) else {
            outcome.lost += logged.len() as u64;
            continue;
        };
        if let Some(last) = held.last_mut().filter(|_| case.plant) {
            last.reading.raw.potential_nv = Some(1);
        }
        if held.iter().any(|it| !logged.iter().any(|one| one.reading == it.reading)) {
            outcome.find(Wrong::Invented, format!("bit {bit}: a reading that nobody logged"));
        }
        outcome.lost += (logged.len() as u64).saturating_sub(held.len() as u64);
        let damage = |it: &Summary| it.damaged_bytes + it.torn_bytes;
        if damage(&summary) <= damage(whole) {
            outcome.find(Wrong::Silent, format!("bit {bit}: no damage is told: {summary:?}"));
        }
    }
    outcome
}
