//! Evaluates generated readings on the emulated Cortex-M0+ and here, and compares every bit.
//!
//! A thousand by default; `RILLMARK_THOROUGH=1` takes twelve thousand. The test stands here and not with
//! the others because those build `libm` with its `arch` feature, which does not ship.
#![cfg(unix)]

use std::io::{Read, Write};
use std::process::{Command, Stdio};

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use rillmark_evaluate_image::{Case, OUTCOME_BYTES, Outcome};
use rillmark_proto::calibration::conductivity::{
    Compensation, ConductivityCalibration, Estimate, Range,
};
use rillmark_proto::calibration::ph::{Isopotential, PhCalibration};
use rillmark_proto::calibration::temperature::{TemperatureCalibration, Thermometer};
use rillmark_proto::reading::{Raw, RawConductance};
use rillmark_tests::source_tree::root;

const CASES: usize = 1_000;
const THOROUGH_CASES: usize = 12_000;

/// Cell resistances of a range, with room at both ends, in Ω.
const fn ohms(range: Range) -> (f64, f64) {
    match range {
        Range::Ohm1k => (15.0, 2_400.0),
        Range::Ohm10k => (1_700.0, 23_000.0),
        Range::Ohm100k => (17_000.0, 300_000.0),
    }
}

fn ph() -> impl Strategy<Value = PhCalibration> {
    (0.7..1.1f64, -60.0..60.0f64, 0.0..50.0f64, 6.0..8.0f64).prop_map(
        |(slope, offset, at_c, isopotential)| PhCalibration {
            at_c,
            isopotential: Isopotential { ph: isopotential, standard_uncertainty: 0.3 },
            ..PhCalibration::exact(slope, offset)
        },
    )
}

fn conductivity() -> impl Strategy<Value = ConductivityCalibration> {
    let compensation = prop_oneof![
        (0.0..0.04f64).prop_map(|per_kelvin| Compensation::Linear { per_kelvin }),
        (0.7..1.2f64).prop_map(|exponent| Compensation::NaturalWater { exponent }),
    ];
    let factor = prop::array::uniform3(prop::option::of(0.98..1.02f64));
    (0.05..12.0f64, 0.0..5.0f64, -0.01..0.2f64, factor, compensation).prop_map(
        |(cell, series, zero, range_factor, compensation)| {
            let exactly = |value| Estimate { value, standard_uncertainty: 0.0 };
            ConductivityCalibration {
                series_ohm: exactly(series),
                zero_us: exactly(zero),
                range_factor,
                ..ConductivityCalibration::exact(cell, compensation)
            }
        },
    )
}

fn thermometer() -> impl Strategy<Value = Thermometer> {
    prop_oneof![
        5 => (990.0..1_010.0f64).prop_map(|r0_ohm| Thermometer::Platinum { r0_ohm }),
        1 => (5_000.0..20_000.0f64, 3_000.0..4_500.0f64)
            .prop_map(|(r25_ohm, beta_k)| Thermometer::Thermistor { r25_ohm, beta_k }),
        1 => (1.0e-3..1.5e-3f64, 2.2e-4..2.5e-4f64, -1e-7..3e-7f64)
            .prop_map(|(a, b, c)| Thermometer::SteinhartHart { a, b, c }),
    ]
}

fn raw() -> impl Strategy<Value = Raw> {
    let conductance =
        (prop::sample::select(Range::ALL.to_vec()), 0.0..1.0f64).prop_map(|(range, part)| {
            let (least, most) = ohms(range);
            let ohm = least * (most / least).powf(part);
            RawConductance { conductance_ps: (1e12 / ohm) as i64, range }
        });
    // −4 to 51 °C of platinum, −30 to 130 °C of platinum, and what thermistors have in water.
    let thermometer = prop_oneof![
        10 => 985_000..1_200_000u32,
        2 => 880_000..1_500_000u32,
        1 => 1_500_000..60_000_000u32,
    ];
    (
        prop::option::weighted(0.9, -512_000_000..512_000_000i32),
        prop::option::weighted(0.9, conductance),
        prop::option::weighted(0.95, thermometer),
    )
        .prop_map(|(potential_nv, conductance, thermometer_milliohm)| Raw {
            potential_nv,
            conductance,
            thermometer_milliohm,
        })
}

fn temperature() -> impl Strategy<Value = TemperatureCalibration> {
    (thermometer(), -1.0..1.0f64, -0.01..0.01f64, 0.0..40.0f64).prop_map(
        |(thermometer, offset_k, gain, at_c)| TemperatureCalibration {
            offset_k,
            gain,
            at_c,
            ..TemperatureCalibration::exact(thermometer)
        },
    )
}

fn case() -> impl Strategy<Value = Case> {
    let calibrations = (
        prop::option::weighted(0.95, ph()),
        prop::option::weighted(0.95, conductivity()),
        prop::option::weighted(0.7, temperature()),
    );
    (raw(), calibrations).prop_map(|(raw, (ph, conductivity, temperature))| Case {
        raw,
        ph,
        conductivity,
        temperature,
    })
}

/// The same cases in every run.
fn cases(count: usize) -> Vec<Case> {
    let random = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), random);
    let strategy = case();
    (0..count).map(|_| strategy.new_tree(&mut runner).expect("a case").current()).collect()
}

/// What the emulated processor makes of them.
fn on_the_processor(cases: &[Case]) -> Vec<Outcome> {
    let mut input = Vec::new();
    for case in cases {
        let bytes = postcard::to_allocvec(case).expect("it can be written");
        let length = u16::try_from(bytes.len()).expect("it is short");
        input.extend(length.to_le_bytes());
        input.extend(bytes);
    }
    let mut node = Command::new("node")
        .arg(root().join("tests/emulator/evaluate.js"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("node runs");
    node.stdin.take().expect("a pipe").write_all(&input).expect("it reads everything first");
    let mut output = Vec::new();
    node.stdout.take().expect("a pipe").read_to_end(&mut output).expect("it writes");
    assert!(node.wait().expect("it ends").success());
    let outcome = |chunk: &[u8]| postcard::take_from_bytes(&chunk[2..]).expect("an outcome").0;
    output.chunks(2 + OUTCOME_BYTES).map(outcome).collect()
}

#[test]
fn the_processor_computes_the_same_bits_as_the_host() {
    let is_thorough = std::env::var_os("RILLMARK_THOROUGH").is_some();
    let cases = cases(if is_thorough { THOROUGH_CASES } else { CASES });
    let found = on_the_processor(&cases);
    assert_eq!(found.len(), cases.len());
    let mut defined = [0; 4];
    for (case, found) in cases.iter().zip(&found) {
        let here = case.outcome(&case.evaluate());
        assert_eq!(found, &here, "{case:?}");
        for (count, value) in defined.iter_mut().zip(found.rounded) {
            *count += usize::from(value.is_some());
        }
    }
    println!(
        "{} readings, bit for bit; with a temperature, pH, conductivity, specific conductance: {defined:?}",
        cases.len()
    );
    // Cases in which nothing is defined prove nothing.
    assert!(defined.iter().all(|count| *count > cases.len() / 3), "{defined:?}");
}
