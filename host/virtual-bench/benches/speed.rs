//! How fast simulated time runs. The counter's figure is simulated seconds per wall second.

use divan::Bencher;
use divan::counter::ItemsCount;
use rillmark_bench::{Beaker, Setup, VirtualProbe};
use rillmark_proto::wire::encode_command;
use rillmark_proto::wire::frame::MAX_FRAME;
use rillmark_proto::wire::message::{Command, Order, Sampling};

fn main() {
    divan::main();
}

/// Simulated seconds in one sample.
const SECONDS: u32 = 600;

/// A probe in the lake that samples.
fn sampling(sampling: Sampling) -> VirtualProbe {
    let mut probe = VirtualProbe::new(Setup::default()).expect("a flash in memory always opens");
    let lake = Beaker::named("lake", 20.0).expect("the bench knows its lake");
    probe.place(lake).expect("the lake can always be placed");
    let mut frame = [0; MAX_FRAME];
    let command = Command { id: 1, order: Order::Sample(sampling) };
    let length = encode_command(&command, &mut frame).expect("a short command fits");
    probe.send(&frame[..length]);
    probe
}

fn run(bencher: Bencher<'_, '_>, what: Sampling) {
    bencher.counter(ItemsCount::new(SECONDS)).with_inputs(|| sampling(what)).bench_local_values(
        |mut probe| {
            probe.run_for_ms(u64::from(SECONDS) * 1_000);
            let mut bytes = [0; 1 << 16];
            assert!(probe.receive(&mut bytes) > 1_000, "it has to sample");
        },
    );
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn quiet(bencher: Bencher<'_, '_>) {
    bencher
        .counter(ItemsCount::new(SECONDS))
        .with_inputs(|| sampling(Sampling::Off))
        .bench_local_values(|mut probe| probe.run_for_ms(u64::from(SECONDS) * 1_000));
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn ph(bencher: Bencher<'_, '_>) {
    run(bencher, Sampling::Ph);
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn conductivity(bencher: Bencher<'_, '_>) {
    run(bencher, Sampling::Conductivity);
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn full(bencher: Bencher<'_, '_>) {
    run(bencher, Sampling::Full { interval_ms: 0 });
}
