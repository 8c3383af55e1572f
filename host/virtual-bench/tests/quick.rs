//! The probe without its chips reads what the firmware reads on the whole bench.

mod conversation;

use conversation::Conversation;
use rillmark_bench::{Ailment, Ailments, Beaker, Faults, QuickProbe, Setup, Truth};
use rillmark_proto::reading::{Coefficients, Reading};
use rillmark_proto::wire::message::Sampling;

/// In the solution before anything is compared, in ms: to rest, as far as the fault lets it.
const REST_MS: u64 = 240_000;
/// Readings that are compared.
const SPAN_MS: u64 = 30_000;

fn mean(readings: &[Reading], of: impl Fn(&Reading) -> Option<f64>) -> f64 {
    let values: Vec<f64> = readings.iter().filter_map(of).collect();
    assert!(!values.is_empty(), "nothing was read");
    values.iter().sum::<f64>() / values.len() as f64
}

/// Readings of both, with the same sensors in the same state: they share time and chance.
fn both(ailments: Ailments, solution: &str, sampling: Sampling) -> (Vec<Reading>, Vec<Reading>) {
    let faults = Faults { ailments, ..Faults::default() };
    let beaker = Beaker::named(solution, 22.0).unwrap();
    let mut host = Conversation::new(Setup { seed: 8, faults: faults.clone(), ..Setup::default() });
    host.probe.place(beaker).unwrap();
    host.listen(REST_MS);
    let began = host.probe.now_ms();
    let whole = host.sample(sampling, SPAN_MS);
    let mut quick = QuickProbe::new(8, Truth::seeded(8), faults);
    quick.place(beaker).unwrap();
    // The sampler waits for the power first.
    quick.wait_ms(began + 2_000);
    let end = began + SPAN_MS;
    let mut readings = Vec::new();
    while quick.now_ms() < end {
        readings.push(match sampling {
            Sampling::Ph => quick.ph_reading(),
            _ => quick.conductivity_reading(),
        });
    }
    (whole, readings)
}

#[test]
fn potentials_agree_whatever_ails_the_electrode() {
    let none = Ailments::default();
    let cases = [
        ("healthy", none),
        ("aged", none.with(Ailment::AgeingGlass, 0.6)),
        ("cracked", none.with(Ailment::CrackedGlass, 0.3)),
        ("clogged", none.with(Ailment::CloggedJunction, 0.5)),
        ("contaminated", none.with(Ailment::ContaminatedJunction, 0.5)),
        ("spoilt", none.with(Ailment::ContaminatedBuffer, 0.5)),
        ("warm-looking", none.with(Ailment::ThermometerOffset, 0.5)),
    ];
    let mut means = Vec::new();
    for (name, ailments) in cases {
        let (whole, quick) = both(ailments, "technical-10.01", Sampling::Ph);
        let mv = |r: &Reading| r.raw.potential().map(|mv| mv.get());
        let celsius = |r: &Reading| r.raw.temperature(&Coefficients::default()).map(|c| c.get());
        let (a, b) = (mean(&whole, mv), mean(&quick, mv));
        // Wandering of 0.02 mV, converter offset 15 µV, and a drift over the second that the two
        // are apart.
        assert!((a - b).abs() < 0.15, "{name}: {a} and {b}");
        assert!((mean(&whole, celsius) - mean(&quick, celsius)).abs() < 0.02, "{name}");
        let rate = whole.len() as f64 / quick.len() as f64;
        assert!((0.95..1.05).contains(&rate), "{} and {} readings", whole.len(), quick.len());
        means.push(b);
    }
    let off: Vec<f64> = means[1..6].iter().map(|mv| (mv - means[0]).abs()).collect();
    assert!(off.iter().all(|off| *off > 3.0), "each of them shows: {off:?}");
}

#[test]
fn hum_scatters_alike() {
    let step = |readings: &[Reading]| {
        let mv: Vec<f64> =
            readings.iter().filter_map(|r| r.raw.potential()).map(|v| v.get()).collect();
        let sum: f64 = mv.windows(2).map(|pair| (pair[1] - pair[0]).abs()).sum();
        sum / (mv.len() - 1) as f64
    };
    let (whole, quick) = both(Ailments::only(Ailment::Hum, 0.5), "technical-7.00", Sampling::Ph);
    // Successive readings beat with the grid over tens of seconds, and the two start a little apart.
    let ratio = step(&whole) / step(&quick);
    assert!((0.5..2.0).contains(&ratio), "{} and {}", step(&whole), step(&quick));
    assert!(step(&quick) > 0.05, "{}", step(&quick));
}

#[test]
fn conductances_agree_whatever_ails_the_cell() {
    let none = Ailments::default();
    for (name, ailments) in [
        ("healthy", none),
        ("fouled", none.with(Ailment::FouledCell, 0.7)),
        ("with a bubble", none.with(Ailment::Bubble, 0.5)),
    ] {
        for solution in ["kcl-0.01-mol-per-l", "kcl-label-12880", "kcl-0.001-mol-per-l"] {
            let (whole, quick) = both(ailments, solution, Sampling::Conductivity);
            let us = |r: &Reading| r.raw.conductance().map(|us| us.get());
            let ratio = mean(&whole, us) / mean(&quick, us);
            // 0.05 % for either (front-end simulation); a bubble moves within the seconds they are apart.
            let most = if ailments.of(Ailment::Bubble) > 0.0 { 0.05 } else { 1e-3 };
            assert!((ratio - 1.0).abs() < most, "{name} in {solution}: {ratio}");
            let rate = whole.len() as f64 / quick.len() as f64;
            assert!((0.8..1.25).contains(&rate), "{} and {}", whole.len(), quick.len());
        }
    }
}
