//! Session files that are damaged, in this process: every bit, and pairs, runs and pieces.

use std::sync::OnceLock;

use rillmark_fuzz::session::{Damage, Original, Verdict, originals};

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
        judge(session, damage, case.plant, &mut outcome);
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
        judge(session, damage, case.plant, outcome);
    })
}

fn judge(session: &Original, damage: Damage, plant: bool, outcome: &mut Outcome) {
    outcome.tried += 1;
    let verdict = match session.verdict(damage) {
        _ if plant => Verdict::Silent("planted".to_owned()),
        verdict => verdict,
    };
    let what = || format!("session_damage '{}' {damage}: {verdict:?}", session.name);
    match &verdict {
        Verdict::Unchanged => {}
        Verdict::Told { lost } => outcome.lost += *lost as u64,
        Verdict::Invented(_) => outcome.find(Wrong::Invented, what()),
        Verdict::Silent(_) => outcome.find(Wrong::Silent, what()),
        Verdict::Panic(_) => outcome.find(Wrong::Panic, what()),
    }
}
