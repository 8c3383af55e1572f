//! A short pass over damaged stores; `examples/store_damage.rs` is the long one.

use rillmark_fuzz::random::Random;
use rillmark_fuzz::store::{Damage, Verdict, generations};

/// Of each kind of damage to each store.
const OF_EACH: usize = 100;

#[test]
fn no_damage_brings_an_older_calibration_into_force_unsaid() {
    let seed = 11;
    let mut random = Random::new(seed);
    let (mut tried, mut said) = (0, 0);
    for store in generations() {
        let alike = store.alike();
        assert!(alike.len() >= 3 * 2000, "{}: {} alike", store.name, alike.len());
        let mut damages = Vec::new();
        for _ in 0..OF_EACH {
            damages.push(Damage::Bit { at: random.below(store.size() * 8) });
            damages.push(store.pair(&mut random));
            damages.push(*random.one_of(&alike));
            damages.push(store.run(&mut random));
        }
        for damage in damages {
            let verdict = store.verdict(damage);
            let is_bad = matches!(verdict, Verdict::Silent(_) | Verdict::Panic(_));
            assert!(!is_bad, "{:?} {damage}, seed {seed}: {verdict:?}", store.name);
            tried += 1;
            said += usize::from(verdict != Verdict::Whole { said: false });
        }
    }
    assert!(said > tried / 4, "{said} of {tried} damages hit something");
}
