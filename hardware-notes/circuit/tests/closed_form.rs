//! The virtual bench's closed forms against the decks, where both model the same.

use rillmark_bench::closed_form;
use rillmark_circuit::cell::{Cell, LEAD_OHM};
use rillmark_circuit::chain::Chain;
use rillmark_circuit::electrode::Layer;
use rillmark_circuit::interaction::Beaker;
use rillmark_circuit::ngspice::SpiceError;
use rillmark_circuit::ph;
use rillmark_circuit::shunt::{self, Reference};
use rillmark_firmware::constants::{
    FREQUENCIES_1K_HZ, FREQUENCY_10K_HZ, FREQUENCY_100K_HZ, WAIT_CELL_US, WAIT_PH_US, WAIT_RANGE_US,
};
use rillmark_firmware::front_end::cell::resistor_ohm;
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::{chips, network, parts};
use rillmark_proto::reading::Range;

fn shown<T>(result: Result<T, SpiceError>) -> T {
    result.unwrap_or_else(|error| panic!("{error}"))
}

/// Blocking capacitors, range resistor, cell and switches: the taps agree to two thousandths of the
/// drive, which are the 2 Ω of the drive's follower that the closed form leaves out (2 of 1222 Ω) and
/// which drop out of the ratio. Double layer and cable are no part of the closed form.
#[test]
fn the_taps_agree() {
    let cells = [
        (Range::Ohm1k, FREQUENCIES_1K_HZ[2], 20.0),
        (Range::Ohm1k, FREQUENCIES_1K_HZ[0], 2e3),
        (Range::Ohm10k, FREQUENCY_10K_HZ, 20e3),
        (Range::Ohm100k, FREQUENCY_100K_HZ, 200e3),
        // Slow enough for the blocking capacitors to show.
        (Range::Ohm1k, 50, 700.0),
    ];
    let mut droops = Vec::new();
    for (range, hz, water_ohm) in cells {
        let hz = f64::from(hz);
        let cell = Cell { range, water_ohm, layer: Layer::Capacitor(1.0), cable_f: 1e-15 };
        let deck = shown(cell.taps_v(hz));
        let load = water_ohm + 2.0 * LEAD_OHM;
        let shunt = closed_form::Shunt::default();
        let bench =
            closed_form::taps_v(resistor_ohm(range), load, network::CELL_BACK_OHM, shunt, hz);
        let ratio = |[h, a, b]: [f64; 3]| (a - b) / (h - a);
        assert!(
            (ratio(deck) / ratio(bench) - 1.0).abs() < 5e-4,
            "{water_ohm} Ω: {deck:?} {bench:?}"
        );
        // At 50 Hz alone, which nothing drives, the voltage of the return's capacitor shows in every tap.
        let taps = if hz > 100.0 { &[0, 1, 2][..] } else { &[] };
        let levels = taps.iter().map(|tap| (deck[*tap], bench[*tap]));
        let steps = [0, 1].map(|tap| (deck[tap] - deck[tap + 1], bench[tap] - bench[tap + 1]));
        for (deck, bench) in levels.chain(steps) {
            let bench = bench / closed_form::BUFFER_GAIN;
            let away = (deck - bench).abs();
            assert!(away < 2e-3 * 2.0 * network::DRIVE_V, "{water_ohm} Ω: {deck} and {bench} V");
        }
        droops.push(deck[0] - deck[2]);
    }
    // At 50 Hz the capacitors take a good part of the drive, or the test would not see them.
    let [.., slow] = droops[..] else { panic!("as many as cells") };
    // Range resistor, water and leads, of these with two switches and the follower.
    let undiminished = 2.0 * network::DRIVE_V * 1701.0 / 2003.0;
    assert!(slow < 0.98 * undiminished, "{slow} of {undiminished} V");
}

/// What a reference at mid takes of the drive, a fiftieth of it either way: the deck has mid, leads and double
/// layers that give way.
#[test]
fn the_reference_takes_as_much() {
    for (range, water_ohm, hz) in [
        (Range::Ohm1k, 707.0, FREQUENCIES_1K_HZ[0]),
        (Range::Ohm10k, 10e3, FREQUENCY_10K_HZ),
        (Range::Ohm100k, 200e3, FREQUENCY_100K_HZ),
    ] {
        let deck = |reference| {
            shown(shunt::indicated_ohm(range, water_ohm, surroundings::TO_REFERENCE, reference))
        };
        let deck = deck(Reference::Lifted) / deck(Reference::AtMid) - 1.0;
        let [top, bottom] = surroundings::TO_REFERENCE;
        let between = water_ohm / (1.0 + 1.0 / (top + bottom));
        let reference_ohm = surroundings::JUNCTION_OHM + parts::REFERENCE_PROTECTION.value;
        let bench = |shunt| {
            let back = chips::SWITCH_ON_OHM;
            let [h, a, b] =
                closed_form::taps_v(resistor_ohm(range), between, back, shunt, f64::from(hz));
            (a - b) / (h - a)
        };
        let joined =
            closed_form::Field::of(between, surroundings::TO_REFERENCE).shunt(1.0 / reference_ohm);
        let bench = bench(closed_form::Shunt::default()) / bench(joined) - 1.0;
        assert!((bench / deck - 1.0).abs() < 0.02, "{water_ohm} Ω: {bench}, {deck} in the deck");
    }
}

/// What the screen of an open reference takes, a sixth of it either way and 0.005 %: the bench has the cell's
/// electrodes stiff, and the deck resolves no less.
#[test]
fn the_screen_takes_as_much() {
    for (range, water_ohm, hz, place) in [
        (Range::Ohm10k, 10e3, FREQUENCY_10K_HZ, [400.0, 600.0]),
        (Range::Ohm10k, 20e3, FREQUENCY_10K_HZ, [4.0, 6.0]),
        (Range::Ohm10k, 20e3, FREQUENCY_10K_HZ, [100.0, 2_400.0]),
        (Range::Ohm100k, 200e3, FREQUENCY_100K_HZ, [40.0, 60.0]),
        (Range::Ohm100k, 200e3, FREQUENCY_100K_HZ, [100.0, 2_400.0]),
    ] {
        let deck = |reference| shown(shunt::indicated_ohm(range, water_ohm, place, reference));
        let deck = deck(Reference::Lifted) / deck(Reference::Switched) - 1.0;
        let between = water_ohm / (1.0 + 1.0 / place.iter().sum::<f64>());
        let field = closed_form::Field::of(between, place);
        let hz = f64::from(hz);
        let screen =
            field.screen_s(surroundings::REFERENCE_CABLE_F, surroundings::JUNCTION_OHM, hz);
        let leak = chips::SWITCH_LEAKAGE_A / chips::SUPPLY_V;
        let bench = |joined_s| {
            let shunt = field.shunt(joined_s);
            let [h, a, b] = closed_form::taps_v(
                resistor_ohm(range),
                between,
                network::CELL_BACK_OHM,
                shunt,
                hz,
            );
            (a - b) / (h - a)
        };
        let bench = bench(0.0) / bench(screen + leak) - 1.0;
        let away = (bench - deck).abs();
        assert!(
            away < deck.abs() / 6.0 + 5e-5,
            "{water_ohm} Ω, {place:?}: {bench}, {deck} in the deck"
        );
    }
}

/// What the bench leaves of a start after its wait is no less than what the circuit leaves, and less
/// than a code, as the circuit's.
#[test]
fn the_bench_settles_no_sooner() {
    let chain = Chain::usual(Range::Ohm1k, FREQUENCIES_1K_HZ[2], 2e3);
    let reading = shown(chain.read());
    let wait_s = WAIT_RANGE_US as f64 * 1e-6;
    let first = &reading.slots[0];
    let deck_codes = reading.left_codes(first, wait_s);
    let left = closed_form::UNSETTLED * (-wait_s / closed_form::UNSETTLED_S).exp();
    let bench_codes = left * reading.tap_v(first.tap) / network::TAP_CODE_V;
    assert!(deck_codes <= bench_codes && bench_codes < 1.0, "{deck_codes} and {bench_codes} codes");
}

/// The bench's disturbance of the electrode lies between that of a cell whose capacitors hold its
/// metal's potential and that of a first reading; it lasts no shorter than the circuit's behind the same
/// membrane, but for the size of a first reading's.
#[test]
fn the_bench_disturbs_no_less() {
    let first = Beaker::usual(Range::Ohm1k, FREQUENCIES_1K_HZ[2], 707.0);
    let rested = shown(Beaker { blocked: 1.0, ..first }.run());
    let first = shown(first.run());
    let bench = closed_form::DRIVE_SHIFT_MV.abs();
    assert!(rested.driven_mv.abs() < bench && bench < first.driven_mv.abs(), "{}", first.driven_mv);
    let tau_s = closed_form::disturbed_s(500e6);
    let next = first.driven_mv.abs() * (-((WAIT_CELL_US + WAIT_PH_US) as f64) * 1e-6 / tau_s).exp();
    assert!(first.next_mv.abs() <= next + ph::CODE_MV / 10.0, "{} and {next} mV", first.next_mv);
    // A power-up, cold and warm, half a second after it.
    for membrane_ohm in [500e6, 3.2e9] {
        let input = ph::Input { powers_up: true, end_s: 1.0, ..ph::Input::ideal(membrane_ohm) };
        let waves = shown(input.run());
        let circuit_mv = 1e3 * waves.at(0, 0.5);
        let mv = closed_form::POWER_UP_MV * (-0.5 / closed_form::disturbed_s(membrane_ohm)).exp();
        assert!((circuit_mv / mv - 1.0).abs() < 0.15, "{circuit_mv} and {mv} mV");
    }
}
