//! Stores with generations of records whose flash is damaged, in this process: every bit, pairs, runs.

use std::sync::OnceLock;

use rillmark_fuzz::store::{Damage, Generations, Verdict, generations};

use super::{every, some_of};
use crate::case::Case;
use crate::outcome::{Outcome, Wrong};

/// Damages of a case.
const A_CASE: usize = 512;

fn stores() -> &'static [Generations] {
    static STORES: OnceLock<Vec<Generations>> = OnceLock::new();
    STORES.get_or_init(generations)
}

fn all_bits() -> impl Iterator<Item = (&'static Generations, Damage)> {
    let of = |it: &'static Generations| (0..it.size() * 8).map(move |at| (it, Damage::Bit { at }));
    stores().iter().flat_map(of)
}

/// How many bits there are.
pub(crate) fn count() -> u64 {
    all_bits().count() as u64
}

/// Every bit, a part of them in a case.
pub(crate) fn bits(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    for (store, damage) in every(all_bits(), count(), A_CASE, case.seed) {
        judge(store, damage, case.is_planted("older"), &mut outcome);
    }
    outcome
}

/// Two bits, anywhere or alike in two copies.
pub(crate) fn pairs(case: &mut Case<'_>) -> Outcome {
    let store = case.random.one_of(stores());
    let alike = store.alike();
    some_of(A_CASE, |outcome| {
        let damage = match case.once_in(4) && !alike.is_empty() {
            true => *case.random.one_of(&alike),
            false => store.pair(&mut case.random),
        };
        judge(store, damage, case.is_planted("older"), outcome);
    })
}

/// 1 to 256 bytes of zeros or ones.
pub(crate) fn runs(case: &mut Case<'_>) -> Outcome {
    some_of(A_CASE, |outcome| {
        let store = case.random.one_of(stores());
        judge(store, store.run(&mut case.random), case.is_planted("older"), outcome);
    })
}

fn judge(store: &Generations, damage: Damage, plant: bool, outcome: &mut Outcome) {
    outcome.tried += 1;
    let verdict = match plant {
        // Whole, and of before the last generation.
        true => store.older().verdict(damage),
        false => store.verdict(damage),
    };
    let what = || format!("store_damage '{}' {damage}: {verdict:?}", store.name);
    match &verdict {
        Verdict::Whole { .. } => {}
        Verdict::Missing | Verdict::Refused => outcome.lost += 1,
        Verdict::Silent(_) => outcome.find(Wrong::Silent, what()),
        Verdict::Panic(_) => outcome.find(Wrong::Panic, what()),
    }
}
