use rillmark_metrology::front_end::conductance;
use rillmark_proto::circuit::chips::SWITCH_LEAKAGE_A;

use super::{Drive, FrontEnd, Input, Pin};
use crate::faults::{Ailment, Ailments, Faults};
use crate::truth::{RESISTORS, Truth};
use crate::water::sensors::Sensors;
use crate::water::{Beaker, Content, Source};

const MS: u64 = 1_000_000;
const ELECTRODE: (Input, Input) = (Input::Electrode, Input::Mid);
const HOLDS: (Input, Input) = (Input::PositiveHold, Input::NegativeHold);

fn front(specific_us_cm: f64, truth: Truth) -> FrontEnd {
    let content = Content::Sample { ph: 7.0, specific_us_cm, per_kelvin: 0.02 };
    let source = Source::of(&Beaker { content, temperature_c: 25.0 }, 0).unwrap();
    let mut front = FrontEnd::new(truth, Sensors::new(source, 1), Faults::default());
    front.set_pin(Pin::PowerNot, false, 0);
    front
}

fn quiet() -> Truth {
    Truth { wander_mv: 0.0, supply_wander: 0.0, ..Truth::seeded(11).with_exact_input() }
}

/// Settled tap voltages h, a, b at a frequency, from `now` on.
fn taps(front: &mut FrontEnd, range: u8, hz: f64, mut now: u64) -> [f64; 3] {
    front.set_pin(Pin::RangeLow, range & 1 != 0, now);
    front.set_pin(Pin::RangeHigh, range & 2 != 0, now);
    front.set_pin(Pin::Cell, true, now);
    front.set_drive(Drive::Running { hz }, now);
    [0u8, 1, 2].map(|tap| {
        front.set_pin(Pin::TapLow, tap & 1 != 0, now);
        front.set_pin(Pin::TapHigh, tap & 2 != 0, now);
        now += 200 * MS;
        front.differential_v(HOLDS, now, now + MS)
    })
}

fn ratio([h, a, b]: [f64; 3]) -> f64 {
    (a - b) / (h - a)
}

#[test]
fn the_ratio_of_taps_is_the_ratio_of_resistances() {
    // (range, specific conductance in µS/cm, frequency): one cell in the middle of each range.
    for (range, us_cm, hz) in [(0u8, 1413.0, 8_000.0), (1, 200.0, 2_030.0), (2, 20.0, 220.0)] {
        let truth = quiet();
        let resistor = truth.resistors[usize::from(range)];
        let polarised = truth.polarisation_ohm * (hz / 1e3f64).powf(-truth.polarisation_power);
        let wet = 1.0 / (truth.cell_per_cm / (us_cm * 1e-6) + polarised);
        let expected = truth.lead_ohm + 1.0 / (wet + truth.leak_us * 1e-6);
        let taps = taps(&mut front(us_cm, truth), range, hz, 0);
        let got = ratio(taps) * resistor;
        assert!((got / expected - 1.0).abs() < 1e-6, "range {range}: {got} for {expected}");
        // ± 0.4 V between the two halves, less the switch and the blocking capacitors.
        assert!((0.2..0.81).contains(&taps[0]), "{taps:?}");
    }
}

/// What is indicated with the reference electrode in the water is within the error budget from one end of
/// the ranges to the other; on a board that leaves it at mid it is too much by what the deck `shunt` finds
/// and a little more (in %), since the ohms here are those of water and field together.
#[test]
fn the_reference_takes_nothing_of_the_drive_where_it_is_opened() {
    for (range, ohm, hz, too_much) in [
        (0u8, 20.0, 8_000.0, 1.0..1.3),
        (0, 707.0, 8_000.0, 2.7..3.0),
        (0, 2e3, 8_000.0, 4.9..5.2),
        (1, 10e3, 2_030.0, 9.7..10.1),
        (1, 20e3, 2_030.0, 11.2..11.6),
        (2, 50e3, 220.0, 12.4..12.9),
        (2, 200e3, 220.0, 13.1..13.6),
    ] {
        let sound = Truth { leak_us: 0.0, polarisation_ohm: 0.0, lead_ohm: 0.0, ..quiet() };
        let sound = Truth { switch_leakage_a: SWITCH_LEAKAGE_A, ..sound };
        let us_cm = 1e6 * sound.cell_per_cm / ohm;
        let resistor = sound.resistors[usize::from(range)];
        let indicated = |truth: Truth| {
            100.0 * (ohm / (ratio(taps(&mut front(us_cm, truth), range, hz, 0)) * resistor) - 1.0)
        };
        let budget = 100.0 * conductance::budget(&RESISTORS[usize::from(range)], ohm).calibrated();
        let opened = indicated(sound.clone());
        assert!(opened.abs() < budget, "{ohm} Ω: {opened} % of {budget} %");
        let direct = indicated(Truth { opens_reference: false, ..sound });
        assert!(too_much.contains(&direct), "{ohm} Ω: {direct} %");
    }
}

#[test]
fn a_dry_cell_conducts_what_its_connector_does() {
    for leak_us in [0.0, 0.03, 0.2] {
        let mut front = front(1413.0, Truth { leak_us, ..quiet() });
        let air = Beaker { content: Content::Air, temperature_c: 20.0 };
        front.place(air, 0).unwrap();
        let resistor = front.truth.resistors[2];
        // 100 s later nothing of the water is left in the cell.
        let us = 1e6 / (ratio(taps(&mut front, 2, 220.0, 100_000 * MS)) * resistor);
        assert!((us - leak_us).abs() < 2e-3, "{us} for {leak_us}");
    }
}

#[test]
fn three_octaves_extrapolate_to_the_resistance_without_polarisation() {
    let truth = Truth { polarisation_ohm: 1.0, ..quiet() };
    let expected = truth.cell_per_cm / 50_000e-6 + truth.lead_ohm;
    let resistor = truth.resistors[0];
    let [r2, r4, r8] = [2_000.0, 4_000.0, 8_000.0]
        .map(|hz| ratio(taps(&mut front(50_000.0, truth.clone()), 0, hz, 0)) * resistor);
    let extrapolated = (r2 * r8 - r4 * r4) / (r2 + r8 - 2.0 * r4);
    assert!((extrapolated - expected).abs() < 1e-3, "{extrapolated} for {expected}");
    assert!(r8 > expected * 1.005, "polarisation must show: {r8}");
}

#[test]
fn a_tap_change_needs_its_wait() {
    let mut front = front(1413.0, quiet());
    let [h, a, _] = taps(&mut front, 0, 8_000.0, 0);
    let change = 10_000 * MS;
    front.set_pin(Pin::TapLow, false, change);
    front.set_pin(Pin::TapHigh, false, change);
    let settled = front.differential_v(HOLDS, change + 500 * MS, change + 501 * MS);
    let mut error =
        |ms: u64| front.differential_v(HOLDS, change + ms * MS, change + (ms + 1) * MS) - settled;
    assert!(error(1).abs() > 0.1 * (h - a));
    // 20 ms is what the front end's notes ask for; 31.25 µV is one code.
    assert!(error(20).abs() < 31.25e-6, "{}", error(20));
}

#[test]
fn the_thermometer_follows_iec_60751_and_its_faults() {
    let truth = Truth { thermometer_gain: 0.0, ..quiet() };
    // 1097.35 Ω at 25 °C for 1000 Ω at 0 °C (IEC 60751 by equation; computed).
    let expected = 1.097_35 * truth.thermometer_r0;
    let resistor = truth.resistors[3];
    let got = ratio(taps(&mut front(1413.0, truth.clone()), 3, 2_030.0, 0)) * resistor;
    assert!((got - expected).abs() < 0.01, "{got} for {expected}");
    for (fault, low, high) in
        [(Ailment::ThermometerOpen, 1e5, 1e12), (Ailment::ThermometerShort, -5.0, 5.0)]
    {
        let mut front = front(1413.0, truth.clone());
        front.set_faults(Faults { ailments: Ailments::only(fault, 1.0), ..Faults::default() }, 0);
        let taps = taps(&mut front, 3, 2_030.0, 0);
        let got = ratio(taps) * resistor;
        assert!((low..high).contains(&got), "{fault:?}: {got} from {taps:?}");
    }
}

#[test]
fn hum_averages_out_over_100_ms_of_triggered_conversions_only() {
    let truth = Truth { hum_mv: 5.0, mains_hz: 50.0, ..quiet() };
    let offset = truth.offset_mv;
    let mut front = front(1413.0, truth);
    let mut mean = |period: u64| {
        let start = 60_000 * MS;
        let sum: f64 = (0..50)
            .map(|n| {
                let at = start + n * period;
                front.differential_v(ELECTRODE, at, at + 1_163_000)
            })
            .sum();
        (sum / 50.0 * 1e3 - offset).abs()
    };
    assert!(mean(2 * MS) < 1e-6);
    // With the averaging clock 8 % off the notes expect trouble.
    assert!(mean(2 * MS * 92 / 100) > 0.05);
}

/// Read one after another at 20 Ω, 0.12 s apart, taps that the supply moves by 0.03 % each give more than 0.1 %;
/// about one middle, as the firmware reads them, a fifteenth of that is left.
#[test]
fn a_supply_that_wanders_drops_out_of_taps_about_one_middle() {
    let wander = Truth::seeded(11).supply_wander;
    let truth = Truth { cell_per_cm: 1.0, polarisation_ohm: 0.0, lead_ohm: 0.0, ..quiet() };
    let truth = Truth { supply_wander: wander, ..truth };
    let mut front = front(50_000.0, truth);
    front.set_pin(Pin::RangeLow, false, 0);
    front.set_pin(Pin::RangeHigh, false, 0);
    front.set_pin(Pin::Cell, true, 0);
    front.set_drive(Drive::Running { hz: 8_000.0 }, 0);
    // Mean of a tap, from 20 ms after it is connected.
    let mean = |front: &mut FrontEnd, tap: usize, from_ms: u64, ms: u64| {
        front.set_pin(Pin::TapLow, tap & 1 != 0, (from_ms - 20) * MS);
        front.set_pin(Pin::TapHigh, tap & 2 != 0, (from_ms - 20) * MS);
        let at = |n: u64| (from_ms + 2 * n) * MS;
        let sum: f64 = (0..ms / 2).map(|n| front.differential_v(HOLDS, at(n), at(n) + MS)).sum();
        sum / (ms / 2) as f64
    };
    let (mut after, mut about): (Vec<f64>, Vec<f64>) = (Vec::new(), Vec::new());
    for start in (1_000..21_000).step_by(900) {
        let taps = [0, 1, 2].map(|tap| mean(&mut front, tap, start + 120 * tap as u64, 100));
        after.push(ratio(taps));
        let begin = start + 400;
        let [b1, a1] = [(2, 0), (1, 70)].map(|(tap, ms)| mean(&mut front, tap, begin + ms, 50));
        let h = mean(&mut front, 0, begin + 140, 100);
        let [a2, b2] = [(1, 260), (2, 330)].map(|(tap, ms)| mean(&mut front, tap, begin + ms, 50));
        about.push(ratio([h, 0.5 * (a1 + a2), 0.5 * (b1 + b2)]));
    }
    let spread = |found: &[f64]| {
        let middle = found.iter().sum::<f64>() / found.len() as f64;
        found.iter().map(|each| (each / middle - 1.0).abs()).fold(0.0, f64::max)
    };
    let (after, about) = (spread(&after), spread(&about));
    assert!((1e-3..4e-3).contains(&after) && about < after / 15.0, "{after}, {about}");
}

#[test]
fn the_electrode_is_disturbed_by_the_drive_and_forgets_it_as_its_membrane_lets_it() {
    let truth = Truth { hum_mv: 0.0, membrane_mohm: 500.0, ..quiet() };
    let content = Content::Sample { ph: 7.0, specific_us_cm: 1413.0, per_kelvin: 0.02 };
    // 0.1 s at 25 °C, and a second at 0 °C: twice 7.5 K colder, 10.08 times in all, by hand.
    for (temperature_c, slower) in [(25.0, 1.0), (0.0, 10.079)] {
        let mut front = front(1413.0, truth.clone());
        front.place(Beaker { content, temperature_c }, 0).unwrap();
        let mut now = 600_000 * MS;
        let at_rest = front.differential_v(ELECTRODE, now, now + MS) * 1e3;
        taps(&mut front, 0, 8_000.0, now);
        now += 10_000 * MS;
        let driven = front.differential_v(ELECTRODE, now, now + MS) * 1e3 - at_rest;
        assert!(driven < -5.0, "{driven}");
        front.set_drive(Drive::Floating, now);
        front.set_pin(Pin::Cell, false, now);
        let mut away = |ms: u64| {
            let from = now + ms * MS;
            (front.differential_v(ELECTRODE, from, from + MS) * 1e3 - at_rest).abs()
        };
        let fell = away(0) / away(300);
        assert!((fell.ln() / (3.0 / slower) - 1.0).abs() < 0.05, "{temperature_c} °C: {fell}");
        assert!(away(1_000) < 0.1 || slower > 1.0, "{}", away(1_000));
    }
}
