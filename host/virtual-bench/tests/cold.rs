//! Cold glass on the bench: the real firmware behind a membrane that is as cold as its water.
//!
//! Read at once after its waits, glass of 500 MΩ at 25 °C would be more than 10 mV off at 0 °C. What is read
//! now is within 0.15 mV of the glass, or flagged; warm glass takes no longer than before.
//!
//!     cargo test -p rillmark-bench --test cold -- --nocapture

mod conversation;

use conversation::Conversation;
use rillmark_bench::{Beaker, Content, Setup, Truth};
use rillmark_firmware::constants::{WAIT_PH_US, WAIT_POWER_US};
use rillmark_metrology::front_end;
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::chips;
use rillmark_proto::circuit::timing::{LONGEST_READING_US, TAPS_US};
use rillmark_proto::reading::{Flags, Range, Reading};
use rillmark_proto::wire::message::{Done, Order, Sampling};

/// The glass and its junction come to rest.
const REST_MS: u64 = 300_000;
/// Often enough that the power goes off between two readings.
const FULL: Sampling = Sampling::Full { interval_ms: 20_000 };
/// How far a mean may be from the glass in mV: what may move unseen, noise, and the bend of the converter.
const OFF_MV: f64 = 0.15;

/// A probe whose electrode does nothing but what its membrane makes of it.
fn probe(membrane_mohm: f64, temperature_c: f64) -> Conversation {
    let truth = Truth {
        membrane_mohm,
        wander_mv: 0.0,
        stir_mv: 0.0,
        hum_mv: 1.0,
        offset_mv: 5.0,
        ..Truth::seeded(21).with_exact_input()
    };
    let mut host = Conversation::new(Setup { seed: 21, truth: Some(truth), ..Setup::default() });
    // At pH 7 the potential is the offset, whatever the temperature.
    let content = Content::Sample { ph: 7.0, specific_us_cm: 1_413.0, per_kelvin: 0.0191 };
    host.probe.place(Beaker { content, temperature_c }).expect("a sample in range");
    host.listen(REST_MS);
    host
}

/// From the first reading on: how far each is from the last of pH-only sampling, and its flags.
fn off_mv(readings: &[Reading], true_mv: f64) -> Vec<(f64, bool)> {
    let of = |reading: &Reading| {
        let mv = reading.raw.potential().expect("a potential").get();
        (mv - true_mv, reading.flags.has(Flags::NOT_SETTLED))
    };
    readings.iter().map(of).collect()
}

#[test]
fn cold_glass_is_read_at_rest_or_flagged() {
    println!("MΩ at 25 °C, °C: after the wait for the power mV (computed), as read mV");
    for temperature_c in [25.0, 5.0, 0.0] {
        for membrane_mohm in [50.0, 500.0] {
            let mut host = probe(membrane_mohm, temperature_c);
            let ohm = 1e6 * membrane_mohm * surroundings::membrane_times(temperature_c);
            let wait_s = WAIT_POWER_US as f64 * 1e-6;
            let at_once = 1e3 * chips::MID_V * (-wait_s / front_end::input_s(ohm)).exp();
            assert!(at_once > 10.0 || ohm < 3e9);
            let true_mv = truth_mv(&host);
            let readings = host.sample(FULL, 130_000);
            let found = off_mv(&readings, true_mv);
            assert!(found.len() >= 6, "{} readings", found.len());
            let worst = found.iter().map(|(mv, _)| mv.abs()).fold(0.0, f64::max);
            println!("{membrane_mohm} {temperature_c}: {at_once:.2}, {worst:.3}");
            for (mv, is_flagged) in &found {
                assert!(!is_flagged && mv.abs() < OFF_MV, "{membrane_mohm}, {temperature_c}: {mv}");
            }
        }
    }
}

/// A membrane that no wait is long enough for: twice the most that is usual, dry or clogged. After the wait for
/// the power it is still out of the converter's range.
#[test]
fn what_takes_too_long_is_flagged() {
    let mut host = probe(1_000.0, 0.0);
    let true_mv = truth_mv(&host);
    let readings = host.sample(FULL, 130_000);
    assert!(readings.len() >= 5, "{} readings", readings.len());
    for (mv, is_flagged) in off_mv(&readings, true_mv) {
        assert!(is_flagged && mv.abs() > 1.0, "{mv}");
    }
}

/// The same glass, and the cell goes over all ranges from air to a brine: this is the longest that a full
/// reading takes from power on, which hosts count with, but for a thermometer that is read twice and two ranges in
/// between.
#[test]
fn the_longest_reading_is_as_long_as_is_said() {
    let mut host = probe(1_000.0, 0.0);
    host.probe
        .place(Beaker { content: Content::Air, temperature_c: 1.0 })
        .expect("air has no limits");
    host.listen(60_000);
    assert_eq!(host.order(Order::Sample(FULL)), Some(Ok(Done::Plain)));
    let powered_ms = host.probe.now_ms();
    host.listen(15_000);
    let content = Content::Sample { ph: 7.0, specific_us_cm: 80_000.0, per_kelvin: 0.0191 };
    host.probe.place(Beaker { content, temperature_c: 0.0 }).expect("a sample in range");
    host.listen(25_000);
    let [air, brine] = &host.readings[..] else { panic!("{:?}", host.readings) };
    let range = |reading: &Reading| reading.raw.conductance.map(|raw| raw.range);
    assert_eq!((range(air), range(brine)), (Some(Range::Ohm100k), Some(Range::Ohm1k)));
    assert!(brine.flags.has(Flags::NOT_SETTLED), "{brine:?}");
    let took_us = 1_000 * (brine.time.ms - powered_ms - 20_000);
    let away_us = took_us.abs_diff(LONGEST_READING_US - 3 * TAPS_US);
    assert!(away_us < 50_000, "{took_us} of {LONGEST_READING_US} µs");
}

/// pH-only sampling keeps its pace, and what is more than a little off is flagged, from the first reading
/// on; in warm water nothing is.
#[test]
fn ph_sampling_flags_and_goes_on() {
    for (temperature_c, most_flagged) in [(25.0, 0), (0.0, 90)] {
        let mut host = probe(500.0, temperature_c);
        let true_mv = truth_mv(&host);
        host.listen(WAIT_PH_US / 1_000);
        let found = off_mv(&host.sample(Sampling::Ph, 60_000), true_mv);
        assert!(found.len() >= 180, "{} readings", found.len());
        let flagged = found.iter().filter(|(_, is_flagged)| *is_flagged).count();
        assert!(flagged <= most_flagged && (flagged > 0) == (most_flagged > 0), "{flagged}");
        for (mv, is_flagged) in found {
            assert!(is_flagged || mv.abs() < 2.0 * OFF_MV, "{temperature_c} °C: {mv}");
        }
    }
}

/// The potential of the glass in mV.
fn truth_mv(host: &Conversation) -> f64 {
    host.probe.truth().offset_mv
}
