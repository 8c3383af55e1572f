//! How long a judged reading takes on this machine: `cargo bench -p rillmark-metrology`. The counter's
//! figure is readings per second.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use rillmark_metrology::motion::{Kinetics, Motion};

const READINGS: u64 = 10_000;

fn main() {
    divan::main();
}

/// A slow swing with something like noise on it, read at this interval in ms: at 10 s every reading is
/// weighed anew, at 300 ms one in seventeen.
#[divan::bench(args = [300, 1_000, 10_000, 60_000])]
fn push(bencher: Bencher<'_, '_>, interval_ms: u64) {
    bencher.counter(ItemsCount::new(READINGS)).bench(|| {
        let mut motion = Motion::new(Kinetics::ELECTRODE);
        for reading in 0..READINGS {
            let noise = 0.1 * ((reading * 7_919 % 101) as f64 / 101.0 - 0.5);
            let value = 30.0 * (reading as f64 * 1e-3).sin() + noise;
            black_box(motion.push(1, reading * interval_ms, black_box(value), 1.0));
        }
    });
}
