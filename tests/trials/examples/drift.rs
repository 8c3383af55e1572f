//! Prints how often U (k = 2) of an aged calibration covers, and its median over what the truth would
//! have needed, for sensors that drift by laws other than the rule's:
//!
//!     cargo run --release -p rillmark-trials --example drift [-- RUNS]
//!
//! RUNS simulated sensors of each kind (2000).

use rillmark_trials::drift::{AGES, Aged, Coefficient, Held, Law, run};

fn main() {
    let runs = std::env::args().nth(1);
    let runs: u64 = runs.map_or(2000, |text| text.parse().expect("RUNS is a whole number"));
    print!("{:<24} {:<15} {:>11}", "coefficient", "law", "differences");
    AGES.iter().for_each(|age| print!(" {age:>9} d    "));
    println!();
    for coefficient in Coefficient::ALL {
        for differences in [0, 1, 3, 10] {
            let mut all = AGES.map(|_| Vec::new());
            for law in Law::ALL {
                let mut of_law = AGES.map(|_| Vec::new());
                for number in 0..runs {
                    let aged = run(coefficient, law, differences, number);
                    of_law.iter_mut().zip(aged).for_each(|(those, one)| those.push(one));
                }
                line(coefficient, law.name(), differences, &of_law);
                all.iter_mut().zip(of_law).for_each(|(all, those)| all.extend(those));
            }
            line(coefficient, "any of them", differences, &all);
        }
    }
}

fn line(coefficient: Coefficient, law: &str, differences: usize, aged: &[Vec<Aged>]) {
    print!("{:<24} {law:<15} {differences:>11}", coefficient.name());
    for those in aged {
        if let Some(Held { covered, of_need }) = Held::of(those) {
            print!(" {:>6.1} % ({of_need:.2})", 100.0 * covered);
        }
    }
    println!();
}
