//! The real firmware on a bench where something fails.

mod conversation;

use conversation::Conversation;
use heapless::String;
use rillmark_bench::faults::{Ailment, Ailments};
use rillmark_bench::{Beaker, Faults, Setup};
use rillmark_proto::reading::{Flags, Reading};
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::wire::message::{Done, Order, Refusal, Sampling};

fn ailing(ailment: Ailment, severity: f64) -> Faults {
    Faults { ailments: Ailments::only(ailment, severity), ..Faults::default() }
}

fn with(faults: Faults, sampling: Sampling) -> Vec<Reading> {
    let mut host = Conversation::new(Setup { seed: 5, faults, ..Setup::default() });
    host.place_sample(1_000.0);
    // A full reading waits for a glass that still moves.
    host.listen(60_000);
    host.sample(sampling, 15_000)
}

#[test]
fn every_failing_part_becomes_its_flag_and_the_loop_goes_on() {
    let full = Sampling::Full { interval_ms: 0 };
    let cases = [
        (ailing(Ailment::ThermometerOpen, 1.0), Flags::THERMOMETER_OPEN),
        (ailing(Ailment::ThermometerShort, 1.0), Flags::THERMOMETER_SHORT),
        (Faults { adc_silent: true, ..Faults::default() }, Flags::ADC_SILENT),
        (Faults { electrode_open: true, ..Faults::default() }, Flags::POTENTIAL_OVER_RANGE),
        (Faults { cell_open: true, ..Faults::default() }, Flags::CELL_OPEN),
    ];
    for (faults, flag) in cases {
        let readings = with(faults.clone(), full);
        assert!(readings.len() >= 2, "{flag:?}: {} readings", readings.len());
        for reading in readings {
            assert!(reading.flags.has(flag), "{:?} without {flag:?}", reading.flags);
            if flag == Flags::ADC_SILENT {
                assert_eq!(reading.raw, rillmark_proto::reading::Raw::default());
            }
        }
    }
    for reading in with(Faults::default(), full) {
        assert_eq!(reading.flags.without(Flags::CLOCK_LOST), Flags::NONE);
    }
}

#[test]
fn a_mended_fault_is_no_flag_any_more() {
    let mut host = Conversation::seeded(5);
    host.place_sample(1_000.0);
    host.probe.set_faults(Faults { adc_silent: true, ..Faults::default() });
    let silent = host.sample(Sampling::Ph, 5_000);
    assert!(!silent.is_empty() && silent.iter().all(|r| r.flags.has(Flags::ADC_SILENT)));
    host.probe.set_faults(Faults::default());
    let sound = host.sample(Sampling::Ph, 5_000);
    assert!(!sound.is_empty() && sound.iter().all(|r| !r.flags.has(Flags::ADC_SILENT)));
}

#[test]
fn air_is_an_open_cell() {
    let mut host = Conversation::seeded(5);
    host.place("air", 20.0);
    let readings = host.sample(Sampling::Conductivity, 10_000);
    assert!(!readings.is_empty() && readings.iter().all(|r| r.flags.has(Flags::CELL_OPEN)));
}

#[test]
fn a_bad_line_costs_frames_and_nothing_else() {
    let mut host = Conversation::seeded(5);
    host.place_sample(1_000.0);
    assert_eq!(host.order(Order::Sample(Sampling::Ph)), Some(Ok(Done::Plain)));
    host.readings.clear();
    host.probe.set_faults(Faults {
        dropped_bytes: 0.002,
        damaged_bytes: 0.002,
        ..Faults::default()
    });
    host.listen(120_000);
    let (first, last) = (host.readings[0].running, host.readings.last().unwrap().running);
    let sent = (last - first + 1) as usize;
    // Of frames of some 30 bytes, 0.4 % of bad bytes spoil about 11 %.
    assert!(host.damaged > 0 && host.readings.len() < sent, "{} of {sent}", host.readings.len());
    assert!(host.readings.len() > sent * 3 / 4, "{} of {sent}", host.readings.len());
    host.probe.set_faults(Faults::default());
    host.listen(1_000); // to the end of the last damaged frame
    host.readings.clear();
    host.listen(10_000);
    let running: Vec<u32> = host.readings.iter().map(|reading| reading.running).collect();
    assert!(running.len() > 20);
    assert!(running.windows(2).all(|pair| pair[1] == pair[0] + 1));
}

#[test]
fn a_pulled_cable_loses_readings_but_not_the_probe() {
    let mut host = Conversation::seeded(5);
    host.place_sample(1_000.0);
    assert_eq!(host.order(Order::Sample(Sampling::Ph)), Some(Ok(Done::Plain)));
    host.listen(5_000);
    let before = host.readings.last().unwrap().running;
    host.probe.unplug();
    host.listen(20_000);
    host.probe.plug();
    host.readings.clear();
    host.listen(5_000);
    let after = host.readings.first().expect("sampling goes on").running;
    assert!(after > before + 30, "the running number tells of the gap: {before} to {after}");
    let answer = host.hello().expect("and it listens");
    assert_eq!(answer.boot, 1);
}

#[test]
fn a_power_cycle_keeps_store_and_time_and_counts_the_start() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("probe.flash");
    let setup = Setup { seed: 5, flash: Some(path.clone()), ..Setup::default() };
    let mut host = Conversation::new(setup.clone());
    assert_eq!(host.hello().unwrap().boot, 1);
    let fitted = Fitted { electrode: String::try_from("E-7").ok(), ..Fitted::default() };
    // 1 800 000 000 s: 2027-01-15T08:00:00Z (POSIX time).
    let equipment = Equipment { fitted, utc_ms: 1_800_000_000_000 };
    assert_eq!(host.order(Order::TellEquipment), Some(Ok(Done::Equipment(None))));
    assert_eq!(host.order(Order::TellClock), Some(Ok(Done::Clock(None))));
    assert_eq!(host.order(Order::Equip(equipment.clone())), Some(Ok(Done::Plain)));
    assert_eq!(host.order(Order::SetClock { utc_ms: 1_800_000_000_000 }), Some(Ok(Done::Plain)));
    host.probe.power_cycle();
    assert_eq!(host.hello().expect("it starts again").boot, 2);
    let kept = Some(Ok(Done::Equipment(Some(equipment))));
    assert_eq!(host.order(Order::TellEquipment), kept);
    match host.order(Order::TellClock) {
        Some(Ok(Done::Clock(Some(utc_ms)))) => {
            assert!((1_800_000_001_000..1_800_000_006_000).contains(&utc_ms), "{utc_ms}");
        }
        other => panic!("the clock chip has its battery: {other:?}"),
    }
    // Another process finds the same store in the file.
    assert_eq!(std::fs::read(&path).unwrap(), host.probe.flash_image());
    drop(host);
    let mut again = Conversation::new(setup);
    assert_eq!(again.hello().unwrap().boot, 3);
    assert_eq!(again.order(Order::TellEquipment), kept);
}

#[test]
fn water_beyond_the_lowest_range_is_over_range() {
    let mut host = Conversation::seeded(5);
    // 200 mS/cm in the bench's cells of about 1 per cm is 5 Ω; the front end measures from 20 Ω.
    host.place_sample(200_000.0);
    let readings = host.sample(Sampling::Conductivity, 10_000);
    assert!(!readings.is_empty() && readings.iter().all(|r| r.flags.has(Flags::CELL_OVER_RANGE)));
}

#[test]
fn a_clock_without_its_time_is_flagged_until_it_is_set() {
    let mut host = Conversation::seeded(5);
    host.place_sample(1_000.0);
    let lost = |host: &mut Conversation| {
        let readings = host.sample(Sampling::Ph, 5_000);
        let lost = readings.iter().filter(|r| r.flags.has(Flags::CLOCK_LOST)).count();
        assert!(!readings.is_empty() && (lost == 0 || lost == readings.len()), "{lost}");
        lost > 0
    };
    assert!(lost(&mut host), "a new chip knows no time");
    assert_eq!(host.order(Order::SetClock { utc_ms: 1_800_000_000_000 }), Some(Ok(Done::Plain)));
    assert!(!lost(&mut host));
    host.probe.power_cycle();
    assert!(!lost(&mut host), "its battery carries it over");
    host.probe.set_faults(Faults { clock_silent: true, ..Faults::default() });
    assert!(lost(&mut host));
    host.probe.set_faults(Faults::default());
    assert!(!lost(&mut host));
}

#[test]
fn a_damaged_flash_is_reported_and_flagged_and_stays_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("probe.flash");
    let setup = Setup { seed: 5, flash: Some(path.clone()), ..Setup::default() };
    drop(Conversation::new(setup.clone()));
    let foreign = vec![0x5a; std::fs::read(&path).unwrap().len()];
    std::fs::write(&path, &foreign).unwrap();
    let mut host = Conversation::new(setup);
    host.place_sample(1_000.0);
    assert_eq!(host.order(Order::ListRecords), Some(Err(Refusal::StoreCorrupt)));
    let equip = Order::Equip(Equipment { fitted: Fitted::default(), utc_ms: 0 });
    assert_eq!(host.order(equip), Some(Err(Refusal::StoreCorrupt)));
    let readings = host.sample(Sampling::Full { interval_ms: 0 }, 15_000);
    assert!(!readings.is_empty() && readings.iter().all(|r| r.flags.has(Flags::STORE_FAULT)));
    assert!(readings.iter().all(|r| r.raw.potential_nv.is_some()));
    assert_eq!(host.probe.flash_image(), foreign);
}

#[test]
fn a_silent_clock_chip_is_a_refusal() {
    let mut host = Conversation::seeded(5);
    host.probe.set_faults(Faults { clock_silent: true, ..Faults::default() });
    assert_eq!(host.order(Order::TellClock), Some(Err(Refusal::ClockSilent)));
}

#[test]
fn the_wrong_beaker_is_placed_whatever_is_asked_for() {
    let mut host = Conversation::seeded(5);
    let wrong = Beaker::named("technical-10.01", 21.0).unwrap();
    host.probe.set_faults(Faults { wrong_beaker: Some(wrong), ..Faults::default() });
    host.place("technical-4.01", 25.0);
    assert_eq!(host.probe.beaker(), wrong);
    assert_eq!(host.probe.water().temperature_c, 21.0);
}
