//! Readings computed per second: `cargo bench -p rillmark-proto --bench evaluate`.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::ph::{PhCalibration, PhCovariance};
use rillmark_proto::reading::{Coefficients, Range, Raw, RawConductance, evaluate};

fn main() {
    divan::main();
}

const COEFFICIENTS: Coefficients = Coefficients {
    ph: Some(PhCalibration {
        covariance: PhCovariance { slope: 1e-5, offset_mv2: 0.1, slope_offset_mv: 1e-4 },
        ..PhCalibration::exact(0.981, -4.2)
    }),
    conductivity: Some(ConductivityCalibration {
        variance_per_cm2: 1e-5,
        ..ConductivityCalibration::exact(0.97, Compensation::Linear { per_kelvin: 0.0191 })
    }),
    temperature: None,
};

/// A thousand whole readings of a lake between the temperatures in °C that the argument names:
/// below 0 °C the thermometer takes Newton steps.
#[divan::bench(args = ["warm", "frost"])]
fn readings(bencher: Bencher, water: &str) {
    let milliohm = if water == "warm" { 1_050_000 } else { 980_000 };
    let raws: Vec<Raw> = (0..1000)
        .map(|n| Raw {
            potential_nv: Some(20_000_000 + n * 10_000),
            conductance: Some(RawConductance {
                conductance_ps: 330_000_000 + i64::from(n) * 1_000,
                range: Range::Ohm10k,
            }),
            thermometer_milliohm: Some(milliohm + n as u32),
        })
        .collect();
    bencher.counter(ItemsCount::new(raws.len())).bench(|| {
        for raw in &raws {
            black_box(evaluate(black_box(raw), black_box(&COEFFICIENTS)));
        }
    });
}
