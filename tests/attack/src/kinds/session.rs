//! Session files that are damaged, in this process: every bit, and pairs, runs and pieces.

use std::sync::OnceLock;

use rillmark_fuzz::session::{Damage, Fault, Original, Verdict, originals};

use super::{every, some_of};
use crate::case::Case;
use crate::outcome::{Outcome, Wrong};

/// Damages of a case.
const A_CASE: usize = 256;

fn sessions() -> &'static [Original] {
    static SESSIONS: OnceLock<[Original; 2]> = OnceLock::new();
    SESSIONS.get_or_init(originals)
}

fn all_bits() -> impl Iterator<Item = (&'static Original, Damage)> {
    let of = |it: &'static Original| (0..it.size() * 8).map(move |at| (it, Damage::Bit { at }));
    sessions().iter().flat_map(of)
}

/// How many bits there are.
pub(crate) fn count() -> u64 {
    all_bits().count() as u64
}

/// Every bit, a part of them in a case.
pub(crate) fn bits(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    for (session, damage) in every(all_bits(), count(), A_CASE, case.seed) {
        judge(session, damage, case, &mut outcome);
    }
    outcome
}

/// Pairs of bits, runs, pieces that go, come twice or change places.
pub(crate) fn damage(case: &mut Case<'_>) -> Outcome {
    some_of(A_CASE, |outcome| {
        let session = case.random.one_of(sessions());
        let damage = match case.random.below(3) {
            0 => session.pair(&mut case.random),
            1 => session.run(&mut case.random),
            _ => session.piece(&mut case.random),
        };
        judge(session, damage, case, outcome);
    })
}

fn judge(session: &Original, damage: Damage, case: &Case<'_>, outcome: &mut Outcome) {
    outcome.tried += 1;
    let verdict = match case.plant {
        Some("lost") => session.spoilt(Fault::Lost),
        Some("lost-two") => session.spoilt(Fault::LostTwo),
        Some(_) => session.spoilt(Fault::Invented),
        None => session.verdict(damage),
    };
    let what = || format!("session_damage '{}' {damage}: {verdict:?}", session.name);
    match &verdict {
        Verdict::Unchanged => {}
        Verdict::Told { lost } => {
            outcome.lost += *lost as u64;
            // A bit is of one frame.
            if *lost > 1 && matches!(damage, Damage::Bit { .. }) {
                outcome.find(Wrong::Silent, what());
            }
        }
        Verdict::Invented(_) => outcome.find(Wrong::Invented, what()),
        Verdict::Silent(_) => outcome.find(Wrong::Silent, what()),
        Verdict::Panic(_) => outcome.find(Wrong::Panic, what()),
    }
}
