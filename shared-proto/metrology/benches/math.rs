//! How long the math takes per value on this machine: `cargo bench -p rillmark-proto`.

use divan::{Bencher, black_box};
use rillmark_metrology::reference::{buffers, conductivity_standards, salinity};
use rillmark_proto::reference::{compensation, rtd};
use rillmark_proto::units::{Celsius, Decibars, MicrosiemensPerCm, Ohms};

fn main() {
    divan::main();
}

/// Above 2 by the practical salinity scale, below by its extension, which solves for the seam.
#[divan::bench(args = [38.0, 1.4])]
fn practical_salinity(ms_cm: f64) -> Option<f64> {
    salinity::practical_salinity(
        MicrosiemensPerCm::from_millisiemens_per_cm(black_box(ms_cm)),
        Celsius::new(black_box(10.0)),
        Decibars::new(black_box(100.0)),
    )
    .ok()
    .flatten()
}

#[divan::bench(args = ["borax", "technical-7.00"])]
fn buffer(bencher: Bencher, name: &str) {
    let buffer = buffers::by_name(name).expect("a name from the list");
    bencher.bench(|| buffer.ph(Celsius::new(black_box(18.3))));
}

#[divan::bench(args = ["1408", "1413"])]
fn conductivity_standard(bencher: Bencher, name: &str) {
    let standard = conductivity_standards::by_name(name).expect("an alias from the list");
    bencher.bench(|| standard.conductivity(Celsius::new(black_box(18.3))));
}

#[divan::bench]
fn linear_compensation() -> Option<f64> {
    let conductivity = MicrosiemensPerCm::new(black_box(420.0));
    compensation::to_25_linear(conductivity, Celsius::new(black_box(12.0)), 0.0191)
        .ok()
        .map(MicrosiemensPerCm::get)
}

/// In closed form from 0 °C up, by Newton steps below.
#[divan::bench(args = [1080.0, 930.0])]
fn thermometer(ohms: f64) -> Option<f64> {
    rtd::temperature(Ohms::new(black_box(ohms)), Ohms::new(1000.0)).ok().map(Celsius::get)
}
