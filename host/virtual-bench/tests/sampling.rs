//! The real firmware on the bench: what it reads, against what is true.

mod conversation;

use conversation::Conversation;
use rillmark_bench::{Setup, Truth};
use rillmark_metrology::front_end::conductance;
use rillmark_proto::reading::{Flags, Range, Reading};
use rillmark_proto::reference::{nernst, rtd};
use rillmark_proto::units::{Celsius, Ohms};
use rillmark_proto::wire::message::Sampling;

/// From a new beaker to rest: thirteen slow time constants of the slowest glass.
const REST_MS: u64 = 180_000;
/// Mean of a few readings in mV, of an electrode whose front end adds nothing: three deviations of the
/// electrode's wandering 60 µV (invented in `Truth::seeded`), and what 0.1 Hz beside the mains leaves of
/// 3 mV of hum; sum, rounded up.
const POTENTIAL_MV: f64 = 0.1;
/// One reading of the thermometer in Ω beside the tolerances: 8 mK resolution are 0.03 Ω (front-end
/// simulation), three of them.
const THERMOMETER_OHM: f64 = 0.1;

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    assert!(!values.is_empty(), "nothing was read");
    values.iter().sum::<f64>() / values.len() as f64
}

fn potential_mv(readings: &[Reading]) -> f64 {
    mean(
        readings
            .iter()
            .filter_map(|reading| reading.raw.potential_nv)
            .map(|nv| f64::from(nv) * 1e-6),
    )
}

fn thermometer_ohm(readings: &[Reading]) -> f64 {
    let milliohm = readings.iter().filter_map(|reading| reading.raw.thermometer_milliohm);
    mean(milliohm.map(|milliohm| f64::from(milliohm) * 1e-3))
}

/// Conductance in µS, all on this range.
fn conductance_us(readings: &[Reading], range: Range) -> f64 {
    mean(readings.iter().filter_map(|reading| reading.raw.conductance).map(|raw| {
        assert_eq!(raw.range, range);
        raw.conductance_ps as f64 * 1e-6
    }))
}

fn flags(readings: &[Reading]) -> Flags {
    readings.iter().fold(Flags::NONE, |all, reading| all.with(reading.flags))
}

/// What the thermometer reads at a temperature, its 2 kΩ taken for nominal.
fn expected_ohm(truth: &Truth, celsius: f64) -> f64 {
    let shown = Celsius::new(celsius * (1.0 + truth.thermometer_gain));
    let true_ohm = rtd::resistance(shown, Ohms::new(truth.thermometer_r0)).unwrap().get();
    true_ohm * 2_000.0 / truth.resistors[3]
}

#[test]
fn hello_is_answered() {
    let mut host = Conversation::seeded(1);
    let answer = host.hello().expect("an answer within a second");
    assert_eq!((answer.board, answer.boot), (host.probe.board(), 1));
    assert_eq!((answer.wire_min, answer.wire_max), (1, 1));
}

#[test]
fn ph_sampling_reads_the_electrode_at_least_twice_a_second() {
    for seed in [1, 2] {
        let truth = Some(Truth::seeded(seed).with_exact_input());
        let mut host = Conversation::new(Setup { seed, truth, ..Setup::default() });
        host.place("phthalate-1977", 22.0);
        host.listen(REST_MS);
        let readings = host.sample(Sampling::Ph, 30_000);
        assert!(readings.len() >= 60, "{} readings in 30 s", readings.len());
        assert_eq!(
            flags(&readings).without(Flags::TEMPERATURE_HELD).without(Flags::CLOCK_LOST),
            Flags::NONE
        );
        let truth = host.probe.truth();
        let k = nernst::millivolts_per_ph(Celsius::new(22.0));
        let ph = host.probe.water().ph.unwrap();
        let expected = truth.offset_mv - truth.slope * k * (ph - 7.0);
        let got = potential_mv(&readings);
        assert!((got - expected).abs() < POTENTIAL_MV, "seed {seed}: {got} for {expected} mV");
        let (got, expected) = (thermometer_ohm(&readings), expected_ohm(&truth, 22.0));
        assert!((got - expected).abs() < THERMOMETER_OHM, "seed {seed}: {got} for {expected} Ω");
        for (earlier, later) in readings.iter().zip(&readings[1..]) {
            assert_eq!(later.running, earlier.running + 1);
            assert!(later.time > earlier.time);
        }
    }
}

#[test]
fn conductance_is_right_on_every_range() {
    for seed in [1, 2] {
        for (us_cm, range, resistor) in [
            (12_880.0, Range::Ohm1k, 0),
            (1_413.0, Range::Ohm1k, 0),
            (200.0, Range::Ohm10k, 1),
            (20.0, Range::Ohm100k, 2),
        ] {
            let mut host = Conversation::seeded(seed);
            host.place_sample(us_cm);
            host.listen(30_000);
            let readings = host.sample(Sampling::Conductivity, 20_000);
            let truth = host.probe.truth();
            let hz: f64 = [8_000.0, 2_030.0, 220.0][resistor];
            let polarised = match range {
                Range::Ohm1k => 0.0, // extrapolated to infinite frequency
                _ => truth.polarisation_ohm * (hz / 1e3).powf(-truth.polarisation_power),
            };
            let wet = 1.0 / (truth.cell_per_cm / (us_cm * 1e-6) + polarised);
            let ohm = 1.0 / (wet + truth.leak_us * 1e-6) + truth.lead_ohm;
            let nominal = range.resistor();
            let expected = 1e6 / (ohm * nominal.value / truth.resistors[resistor]);
            let got = conductance_us(&readings, range);
            // What the budget leaves beside the resistor's tolerance, k = 2.
            let left = 2.0 * conductance::budget(nominal, ohm).calibrated();
            assert!(
                (got / expected - 1.0).abs() < left,
                "seed {seed}, {us_cm} µS/cm: {got} for {expected} µS"
            );
        }
    }
}

#[test]
fn the_full_sequence_is_not_disturbed_by_its_own_drive() {
    let mut host = Conversation::seeded(3);
    host.place_sample(800.0);
    host.listen(REST_MS);
    let quiet = potential_mv(&host.sample(Sampling::Ph, 10_000));
    let full = host.sample(Sampling::Full { interval_ms: 0 }, 60_000);
    assert!(full.len() >= 10, "{} readings in 60 s", full.len());
    let got = potential_mv(&full[1..]);
    assert!((got - quiet).abs() < POTENTIAL_MV, "{got} beside the drive, {quiet} without");
    for reading in &full {
        assert!(reading.raw.conductance.is_some() && reading.raw.thermometer_milliohm.is_some());
    }
}

#[test]
fn an_interval_is_kept() {
    let mut host = Conversation::seeded(3);
    host.place("lake", 20.0);
    // A full reading waits for a glass that still moves.
    host.listen(REST_MS);
    let readings = host.sample(Sampling::Full { interval_ms: 10_000 }, 61_000);
    assert!((6..=7).contains(&readings.len()), "{}", readings.len());
    for (earlier, later) in readings.iter().zip(&readings[1..]) {
        let apart_ms = later.time.ms - earlier.time.ms;
        assert!(
            apart_ms.abs_diff(10_000) < 1_200,
            "{apart_ms} {:?} {:?}",
            earlier.flags,
            later.flags
        );
    }
}

#[test]
fn equal_seeds_give_equal_bytes() {
    let talk = |seed| {
        let mut host = Conversation::new(Setup { seed, ..Setup::default() });
        host.hello();
        host.place("technical-7.00", 19.0);
        host.sample(Sampling::Full { interval_ms: 0 }, 20_000);
        host.bytes
    };
    let first = talk(7);
    assert!(first.len() > 100);
    assert_eq!(first, talk(7));
    assert_ne!(first, talk(8));
}
