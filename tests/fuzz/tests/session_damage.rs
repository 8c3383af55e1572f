//! A short pass over damaged sessions; `examples/session_damage.rs` is the long one.

use rillmark_fuzz::random::Random;
use rillmark_fuzz::session::{Counts, Damage, Fault, Verdict, originals};

/// Of each kind of damage to each session.
const OF_EACH: usize = 120;

#[test]
fn nothing_is_invented_or_lost_unsaid_in_a_damaged_session() {
    let seed = 12;
    let mut random = Random::new(seed);
    for session in originals() {
        let mut damages = Vec::new();
        // Every frame is hit, in another bit each.
        damages.extend((0..session.size() * 8).step_by(101).map(|at| Damage::Bit { at }));
        damages.extend((0..session.size()).step_by(53).map(|at| Damage::Cut { at }));
        for _ in 0..OF_EACH {
            damages.push(session.pair(&mut random));
            damages.push(session.run(&mut random));
            damages.push(session.piece(&mut random));
        }
        let mut counts = Counts::default();
        for damage in damages {
            let verdict = session.verdict(damage);
            let is_good = matches!(verdict, Verdict::Unchanged | Verdict::Told { .. });
            assert!(is_good, "{} {damage}, seed {seed}: {verdict:?}", session.name);
            counts.add(&verdict);
        }
        assert!(counts.told > counts.tried * 9 / 10, "{}: {counts:?}", session.name);
        assert!(counts.readings_lost_most > 10, "{}: {counts:?}", session.name);
    }
}

/// A bit in what the checksum covers costs at most the frame that it is in.
#[test]
fn a_bit_costs_at_most_one_reading() {
    for session in originals() {
        for at in (3..session.size() * 8).step_by(211) {
            let verdict = session.verdict(Damage::Bit { at });
            assert!(
                matches!(verdict, Verdict::Told { lost: 0 | 1 }),
                "{} bit:{at}: {verdict:?}",
                session.name
            );
        }
    }
}

/// One that stands there twice is not counted for one that is gone.
#[test]
fn a_double_hides_no_loss() {
    for session in originals() {
        let verdict = session.spoilt(Fault::LostBesideDouble);
        assert_eq!(verdict, Verdict::Told { lost: 1 }, "{}", session.name);
    }
}

/// What is planted is found.
#[test]
fn a_fault_that_a_file_does_not_tell_is_seen() {
    for session in originals() {
        assert!(matches!(session.spoilt(Fault::Lost), Verdict::Silent(_)), "{}", session.name);
        assert!(
            matches!(session.spoilt(Fault::Invented), Verdict::Invented(_)),
            "{}",
            session.name
        );
        assert_eq!(session.spoilt(Fault::LostTwo), Verdict::Told { lost: 2 }, "{}", session.name);
    }
}
