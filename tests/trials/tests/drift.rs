//! What drift adds to U covers sensors that drift by laws other than the rule's. The thorough run is
//! `cargo run --release -p rillmark-trials --example drift`.

use rillmark_trials::drift::{AGES, Aged, Coefficient, Held, Law, run};

/// Sensors of each kind, none of which the thorough run has.
const NUMBERS: std::ops::Range<u64> = 1_000_000..1_000_600;
/// At least 90 % is wanted of each law; 600 draws of that scatter by √(0.9·0.1/600) = 1.2 %, so twice that
/// is allowed below.
const LEAST: f64 = 0.876;

fn aged(coefficient: Coefficient, law: Law, differences: usize) -> [Vec<Aged>; 4] {
    let mut all = AGES.map(|_| Vec::new());
    for number in NUMBERS {
        let aged = run(coefficient, law, differences, number);
        all.iter_mut().zip(aged).for_each(|(those, one)| those.push(one));
    }
    all
}

#[test]
fn an_aged_calibration_covers_and_is_not_much_too_wide() {
    for coefficient in Coefficient::ALL {
        for differences in [0, 1, 3, 10] {
            let mut any = AGES.map(|_| Vec::new());
            for law in Law::ALL {
                let those = aged(coefficient, law, differences);
                for (aged, days) in those.iter().zip(AGES) {
                    let held = Held::of(aged).expect("some");
                    let what =
                        format!("{coefficient:?}, {law:?}, {differences}, {days} d: {held:?}");
                    assert!(held.covered >= LEAST, "{what}");
                }
                any.iter_mut().zip(those).for_each(|(any, those)| any.extend(those));
            }
            // Nobody knows by which law a sensor drifts, so U is compared with all of them.
            for (aged, days) in any.iter().zip(AGES) {
                let held = Held::of(aged).expect("some");
                assert!(held.of_need <= 2.0, "{coefficient:?}, {differences}, {days} d: {held:?}");
            }
        }
    }
}

/// The check can fail: without drift U covers too few after a month.
#[test]
fn a_calibration_that_does_not_age_is_noticed() {
    let mut those = aged(Coefficient::Offset, Law::WanderingRate, 3);
    those[2].iter_mut().for_each(|one| one.u = 0.6);
    let held = Held::of(&those[2]).expect("some");
    assert!(held.covered < 0.5, "{held:?}");
}
