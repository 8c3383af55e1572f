//! How often noise alone is taken for a step of the supply, or of the cell: less than once in a thousand readings.

mod conversation;

use conversation::Conversation;
use rillmark_proto::reading::Flags;
use rillmark_proto::wire::message::Sampling;

/// Seconds of full readings with the power on throughout, as fast as they go: a hundred and some.
const LONG_MS: u64 = 460_000;

#[test]
fn noise_flags_no_conductance() {
    let (mut all, mut flagged) = (0, 0);
    for solution in ["lake", "84", "1413", "12880"] {
        let mut here = (0, 0);
        for seed in 0..10 {
            let mut host = Conversation::seeded(seed);
            host.place(solution, 25.0);
            // The cell is at rest in the new water.
            host.listen(60_000);
            let readings = host.sample(Sampling::Full { interval_ms: 0 }, LONG_MS);
            assert!(readings.len() >= 100, "{} readings", readings.len());
            let changed = readings.iter().filter(|it| it.flags.has(Flags::CELL_CHANGED));
            here = (here.0 + readings.len(), here.1 + changed.count());
        }
        println!("{solution}: {} of {} readings flagged", here.1, here.0);
        (all, flagged) = (all + here.0, flagged + here.1);
    }
    println!("{flagged} of {all} in all");
    assert!(1_000 * flagged < all, "{flagged} of {all}");
}
