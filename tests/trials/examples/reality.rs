//! Prints the reality table: whether U (k = 2) covers truths that the statements did not make.
//!
//!     cargo run --release -p rillmark-trials --example reality [-- LIVES [FIRST [TOPIC]]]
//!
//! LIVES simulated probes of each row (1000; of dear ones a part), from number FIRST (0), of all
//! topics or one. What it prints is the page `REALITY.md`, but for the day on which it ran.

use rillmark_trials::reality::{
    Asked, LEAST_TOLD, MOST_CHANCE, MOST_FLAGGED, MOST_RATIO, Seen, Stated, Trial, all, see,
};

fn main() {
    let mut arguments = std::env::args().skip(1);
    let mut number = |default| {
        arguments.next().map_or(default, |text| text.parse::<u64>().expect("a whole number"))
    };
    let (lives, first) = (number(1_000), number(0));
    let of = arguments.next();
    head(lives, first);
    let (mut topic, mut rows, mut fails) = ("", 0, 0);
    let all = all();
    let asked = |trial: &&Trial| of.as_ref().is_none_or(|of| trial.topic == of);
    for (number, trial) in (0..).zip(&all).filter(|(_, trial)| asked(trial)) {
        if trial.topic != topic {
            topic = trial.topic;
            println!("\n## {topic}\n");
            println!(
                "| done | size | stated | covered | flagged | either | U | needed | ratio | |"
            );
            println!("|---|---|---|--:|--:|--:|--:|--:|--:|---|");
        }
        let seen = see(number, trial, first, (lives / trial.cost).max(1));
        let (of, failed) = lines(trial, &seen);
        (rows, fails) = (rows + of, fails + failed);
    }
    println!("\n{rows} rows, of which {fails} fail.");
}

fn head(lives: u64, first: u64) {
    println!("# Reality\n");
    println!("    cargo run --release -p rillmark-trials --example reality -- {lives} {first}\n");
    println!(
        "Simulated probes whose truth comes from `src/reality/nature`, which knows nothing of the
budgets; calibrated by the guided routine, read, and stated as any probe's readings are. Life
number n of a row is seeded by n and the row's place; a row has {lives} lives or, where they are
dear, a part of it. Lives that the routine stopped at a calibration have no reading and do not
count.

*Covered*: the truth lies within the stated U = 2u. *Flagged*: the reading says that it is not
steady or not known to be, or carries a remark. *Either*: covered or flagged. *U*: its median;
*needed*: what 95 % of the errors stay within; both of the readings that are not flagged, if these
are a tenth at least. *Ratio*: U to needed.

A row **holds** when at least {:.0} % of its readings are covered or flagged, as many of those that
are not flagged are covered (if they are a tenth), and U is at most {MOST_RATIO} times what is needed or
{:.0} % are flagged, but for {MOST_CHANCE} standard errors of its number of lives. It is **good** when
its readings are truly good, {:.0} % are covered and at most {:.0} % flagged. A **part** is one kind
out of another row, for all of which one width is stated: its ratio is not judged. What nobody can
cover, or state as narrow as would do, is named.",
        100.0 * LEAST_TOLD,
        100.0 * LEAST_TOLD,
        100.0 * LEAST_TOLD,
        100.0 * MOST_FLAGGED,
    );
}

/// Prints the lines of a trial; how many there are, and how many fail.
fn lines(trial: &Trial, seen: &Seen) -> (usize, usize) {
    let (mut rows, mut fails) = (0, 0);
    for (index, row) in trial.rows.iter().enumerate() {
        for stated in Stated::ALL {
            let Some(found) = seen.outcome(index, stated) else { continue };
            let kept = found.keeps(row.asked);
            let verdict = match row.asked {
                // What is named needs no allowance for chance.
                Asked::Beyond(_) if found.told >= LEAST_TOLD && found.keeps(Asked::Realistic) => {
                    "holds"
                }
                Asked::Beyond(why) => why,
                Asked::Good if kept => "good",
                Asked::Realistic if kept => "holds",
                Asked::Part if kept => "part, holds",
                Asked::Wide(why) if kept => why,
                _ => "**fails**",
            };
            rows += 1;
            fails += usize::from(!kept);
            println!(
                "| {} | {} | {} | {:.1} % | {:.0} % | {:.1} % | {:.3} | {:.3} | {:.2} | {verdict} |",
                row.name,
                row.size,
                stated.name(),
                100.0 * found.covered,
                100.0 * found.flagged,
                100.0 * found.told,
                found.median_u,
                found.needed,
                found.ratio(),
            );
        }
    }
    if seen.stopped_part() > 0.02 {
        let mut why: Vec<_> = seen.stopped.iter().map(|stopped| stopped.0).collect();
        why.sort_unstable();
        why.dedup();
        println!(
            "| *{:.1} % of these stopped at a calibration* | | {} | | | | | | | |",
            100.0 * seen.stopped_part(),
            why.join(", ")
        );
    }
    (rows, fails)
}
