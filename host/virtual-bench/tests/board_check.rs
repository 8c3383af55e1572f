//! Boards as somebody built them, checked with loads in place of sensors: the real firmware on simulated
//! chips, every mistake of building, and a thousand boards without one.

mod conversation;

use std::thread;

use conversation::Conversation;
use rillmark_bench::{BuildFault, Faults, Loads as Connected, Setup};
use rillmark_procedures::board_check::{
    Cause, Clock, Collector, Load, Loads, Seen, Step, Verdict, explain, rows,
};
use rillmark_proto::circuit::parts;
use rillmark_proto::reading::Flags;
use rillmark_proto::wire::message::Sampling;

/// As many boards are built and checked.
const BOARDS: u64 = 1_000;

/// A number in −1..=1 that belongs to a seed and a place.
fn drawn(seed: u64, place: u64) -> f64 {
    let mixed = (seed << 8 | place).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let mixed = (mixed ^ mixed >> 29).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    ((mixed ^ mixed >> 32) >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
}

/// What is really connected in a step, each load somewhere within its limit.
fn connected(step: Step, loads: &Loads, seed: u64) -> Connected {
    let is = |load: &Load, place| load.value + load.limit * drawn(seed, place);
    let source_mv = is(&loads.source, 6);
    let electrode = match step {
        Step::Source => (source_mv, 0.0),
        Step::Reversed => (-source_mv, 0.0),
        Step::Membrane => (0.0, loads.membrane.as_ref().map_or(0.0, |load| is(load, 7))),
        Step::Bare | Step::Cell(_) | Step::Joined => (0.0, 0.0),
    };
    let cell_ohm = match step {
        Step::Cell(index) => Some(is(&loads.cell[index], index as u64)),
        Step::Joined => Some(is(&loads.cell[1], 1)),
        _ => None,
    };
    Connected {
        cell_ohm,
        thermometer_ohm: Some(is(&loads.thermometer, 5)),
        electrode: Some(electrode),
        is_joined: step == Step::Joined,
    }
}

/// A board of this seed with this mistake, seen in every step.
fn check(seed: u64, fault: Option<BuildFault>, loads: &Loads) -> (Vec<(Step, Seen)>, Clock) {
    let faults = Faults { build: fault, ..Faults::default() };
    let setup = Setup { seed, faults, clock_unix_s: Some(1_809_331_200), ..Setup::default() };
    let mut host = Conversation::new(setup);
    let mut is_clock_silent = false;
    let seen = loads.steps().map(|step| {
        host.probe.connect(connected(step, loads, seed));
        let mut collector = Collector::default();
        let readings = host.sample(Sampling::Full { interval_ms: 0 }, 30_000);
        is_clock_silent |= readings.iter().any(|reading| reading.flags.has(Flags::CLOCK_LOST));
        let seen = readings.iter().find_map(|reading| collector.reading(reading));
        (step, seen.expect("enough readings"))
    });
    let seen = seen.collect();
    (seen, if is_clock_silent { Clock::Silent } else { Clock::Keeps })
}

fn causes(seed: u64, fault: Option<BuildFault>, loads: &Loads) -> Vec<Cause> {
    let (seen, clock) = check(seed, fault, loads);
    explain(loads, &seen, &rows(loads, &seen), clock).into_iter().collect()
}

/// What has to be named, alone or with at most so many that look the same.
fn is_named(fault: BuildFault, causes: &[Cause]) -> bool {
    use BuildFault as F;
    let [r8, r9, r10, r11] =
        [&parts::RANGE_1K, &parts::RANGE_10K, &parts::RANGE_100K, &parts::THERMOMETER_REFERENCE];
    causes.iter().any(|cause| match fault {
        F::ConverterAddress => *cause == Cause::Converter,
        F::ClockMissing => *cause == Cause::ClockChip,
        F::SupplySwitch => *cause == Cause::Supply,
        F::DriveOpen | F::GatesSwapped | F::HoldMissing => *cause == Cause::Drive,
        F::MidMissing => *cause == Cause::Mid { at_supply: false },
        F::FilterJoint => *cause == Cause::InputDead,
        F::ReturnOpen => *cause == Cause::Return,
        F::ResistorsSwapped => *cause == Cause::Swapped { one: r8, other: r9 },
        F::ResistorWrong => matches!(cause, Cause::Resistor { place, .. } if *place == r10),
        F::ResistorMissing => matches!(cause, Cause::Resistor { place, .. } if *place == r8),
        F::ReferenceMissing => matches!(cause, Cause::Resistor { place, .. } if *place == r11),
        F::ReferenceWrong => *cause == Cause::Resistor { place: r11, ohm: Some(1e3) },
        F::RangeLow => *cause == Cause::RangeLine { is_low: true, level: false },
        F::RangeHigh => *cause == Cause::RangeLine { is_low: false, level: false },
        F::TapsSwapped => *cause == Cause::TapLines,
        F::InputsSwapped => *cause == Cause::InputReversed,
        F::ReferenceOpen => *cause == Cause::InputOpen,
        F::GuardJoint => matches!(cause, Cause::Leak { ampere: Some(ampere) } if *ampere < 0.0),
        // 30 nA, as over the input's own 1 MΩ.
        F::WrongAmplifier => {
            matches!(cause, Cause::Leak { ampere: Some(ampere) } if (28e-9..32e-9).contains(ampere))
        }
        F::ReferenceAtMid => {
            matches!(cause, Cause::ReferencePath { ohm: Some(ohm) } if (0.9e3..1.1e3).contains(ohm))
        }
        F::CellJoint => matches!(cause, Cause::Series { ohm } if (5.0..15.0).contains(ohm)),
        F::CellLeak => matches!(cause, Cause::Across { ohm } if (0.9e6..1.1e6).contains(ohm)),
    })
}

#[test]
fn every_mistake_of_building_is_named() {
    let loads = Loads::usual(0.01);
    for fault in BuildFault::ALL {
        for seed in [1, 7, 19] {
            let causes = causes(seed, Some(fault), &loads);
            println!("{}: {} named", fault.name(), causes.len());
            assert!(is_named(fault, &causes), "{fault:?}, board {seed}: {causes:#?}");
            assert!(causes.len() <= 3, "{fault:?}, board {seed}: {causes:#?}");
        }
    }
}

/// Parts, chips and loads anywhere within their limits: no more than one board in a hundred may be
/// called wrong.
#[test]
fn sound_boards_pass() {
    let loads = Loads::usual(0.01);
    let alarmed = |seeds: std::ops::Range<u64>| {
        seeds
            .filter(|seed| {
                let (seen, clock) = check(*seed, None, &loads);
                let rows = rows(&loads, &seen);
                let is_wrong = rows.iter().any(|row| row.verdict != Verdict::Pass);
                if is_wrong {
                    println!("board {seed}: {rows:#?}");
                }
                is_wrong || !explain(&loads, &seen, &rows, clock).is_empty()
            })
            .count()
    };
    let halves = [0..BOARDS / 2, BOARDS / 2..BOARDS];
    let alarms: usize = thread::scope(|scope| {
        let each = halves.map(|seeds| scope.spawn(|| alarmed(seeds)));
        each.into_iter().map(|half| half.join().expect("no panic")).sum()
    });
    println!("{alarms} of {BOARDS} sound boards alarmed");
    assert!(alarms as u64 * 100 <= BOARDS, "{alarms} of {BOARDS} sound boards alarmed");
}
