//! The longest full reading that there is, waited for by the program as any other: the real firmware on the
//! virtual bench, in this process and in simulated time.

use rillmark::link::Link;
use rillmark::link::probe::{Probe, READING_PATIENCE_MS};
use rillmark::link::virtual_link::VirtualLink;
use rillmark_bench::{Beaker, Content, Setup, Truth};
use rillmark_proto::circuit::timing::LONGEST_READING_US;
use rillmark_proto::reading::{Flags, Reading};
use rillmark_proto::wire::message::Sampling;

/// Rarely enough that the power goes off in between.
const INTERVAL_MS: u32 = 30_000;
const LONGEST_MS: u64 = LONGEST_READING_US / 1_000;

/// A bench whose glass is twice as resisting as is usual and as cold as water can be, in a cell of 20 Ω.
fn cold() -> VirtualLink {
    let truth = Truth { membrane_mohm: 1_000.0, wander_mv: 0.0, ..Truth::seeded(21) };
    let setup = Setup { seed: 21, truth: Some(truth), ..Setup::default() };
    let mut link = VirtualLink::with(setup, "virtual").expect("the bench can be built");
    let content = Content::Sample { ph: 7.0, specific_us_cm: 80_000.0, per_kelvin: 0.0191 };
    link.bench().place(Beaker { content, temperature_c: 0.0 }).expect("a sample in range");
    link.wait(600_000);
    link
}

fn next(probe: &mut Probe) -> (u64, Reading) {
    let arrived = probe.next_reading(READING_PATIENCE_MS).expect("the line is there");
    let arrived = arrived.expect("a reading comes while it is waited for");
    (arrived.monotonic_ms, arrived.reading)
}

#[test]
fn it_is_waited_for_and_so_is_a_command_that_meets_it() {
    let mut probe = Probe::connect(Box::new(cold())).expect("it answers");
    probe.sample(Sampling::Full { interval_ms: INTERVAL_MS }).expect("it samples");
    let ordered = probe.link().monotonic_ms();
    let (first, reading) = next(&mut probe);
    assert!(reading.flags.has(Flags::NOT_SETTLED), "{reading:?}");
    let took = first - ordered;
    assert!((LONGEST_MS - 1_500..=LONGEST_MS + 100).contains(&took), "{took} ms of {LONGEST_MS}");
    // The next one begins with the power, an interval after the first one did.
    let begins = ordered + u64::from(INTERVAL_MS);
    probe.link_mut().wait(begins + 100 - first);
    let asked = probe.link().monotonic_ms();
    probe.clock().expect("it is answered in the end");
    let answered = probe.link().monotonic_ms() - asked;
    assert!(answered > LONGEST_MS - 2_500, "it met no reading: {answered} ms");
    let (second, reading) = next(&mut probe);
    assert!(reading.flags.has(Flags::NOT_SETTLED), "{reading:?}");
    assert!(second - begins <= LONGEST_MS + 100, "{} ms", second - begins);
}
