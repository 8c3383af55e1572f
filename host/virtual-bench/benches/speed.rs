//! How fast simulated time runs: the figure is simulated seconds per wall second.

fn main() {
    divan::main();
}

/// The firmware's quiet loop: an hour of nothing but its own timers.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn quiet_hour(bencher: divan::Bencher<'_, '_>) {
    bencher.counter(divan::counter::ItemsCount::new(3_600u32)).bench_local(|| {
        let mut probe = rillmark_bench::VirtualProbe::new(rillmark_bench::Setup::default())
            .expect("a flash in memory cannot fail to open");
        probe.run_for_ms(3_600_000);
        probe.now_ms()
    });
}
