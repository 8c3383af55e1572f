//! A store with generations of records whose flash is damaged, in this process: every bit, pairs, runs.

use std::sync::OnceLock;

use rillmark_fuzz::store::{Damage, Generations, Verdict, generations};

use crate::case::Case;
use crate::outcome::{Outcome, Wrong};

/// Damages of a case.
const A_CASE: usize = 512;
/// Bits of all stores that are tried.
pub(crate) const BITS: u64 = 4 * 20_480 * 8;

fn stores() -> &'static [Generations] {
    static STORES: OnceLock<Vec<Generations>> = OnceLock::new();
    STORES.get_or_init(generations)
}

/// Every so many-th bit, from that of the case's number on: any part of the cases lies all over the stores.
pub(crate) fn bits(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    let bits = stores().iter().flat_map(|store| (0..store.size() * 8).map(move |at| (store, at)));
    let count: usize = stores().iter().map(|store| store.size() * 8).sum();
    assert_eq!(count as u64, BITS, "BITS is to be all there are");
    let apart = count.div_ceil(A_CASE);
    for (store, at) in bits.skip(case.seed as usize % apart).step_by(apart) {
        judge(store, Damage::Bit { at }, case, &mut outcome);
    }
    outcome
}

/// Two bits, anywhere or alike in two copies.
pub(crate) fn pairs(case: &mut Case<'_>) -> Outcome {
    some(case, |store, alike, case| match case.once_in(4) && !alike.is_empty() {
        true => *case.random.one_of(alike),
        false => store.pair(&mut case.random),
    })
}

/// 1 to 256 bytes of zeros or ones.
pub(crate) fn runs(case: &mut Case<'_>) -> Outcome {
    some(case, |store, _, case| store.run(&mut case.random))
}

fn some(
    case: &mut Case<'_>,
    damage: impl Fn(&Generations, &[Damage], &mut Case<'_>) -> Damage,
) -> Outcome {
    let mut outcome = Outcome::default();
    let store = case.random.one_of(stores());
    let alike = store.alike();
    for _ in 0..A_CASE {
        let damage = damage(store, &alike, case);
        judge(store, damage, case, &mut outcome);
    }
    outcome
}

fn judge(store: &Generations, damage: Damage, case: &Case<'_>, outcome: &mut Outcome) {
    outcome.tried += 1;
    let verdict = match store.verdict(damage) {
        _ if case.plant => Verdict::Silent("planted"),
        verdict => verdict,
    };
    let what = || format!("store_damage '{}' {damage}: {verdict:?}", store.name);
    match &verdict {
        Verdict::Whole { .. } => {}
        Verdict::Missing | Verdict::Refused => outcome.lost += 1,
        Verdict::Silent(_) => outcome.find(Wrong::Silent, what()),
        Verdict::Panic(_) => outcome.find(Wrong::Panic, what()),
    }
}
