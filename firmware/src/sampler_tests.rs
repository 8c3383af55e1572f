//! The samplings in simulated time: what is measured when, and in which state of the front end.
//! The limits are those of `constants`.

use super::*;
use crate::adc::Input;
use crate::constants::{
    AVERAGE_US, CONVERSION_PERIOD_US, CONVERSIONS_PER_AVERAGE, QUIET_US, STILL_AVERAGES,
    STILL_LONGEST_US, TAIL_POWER_US, TAPS_US, WAIT_PH_US, WAIT_POWER_US, WAIT_RANGE_US,
};
use crate::front_end::{ORDER, Tap};
use crate::simulated::{Conversion, Drive, Shared, parts, run_until, world};
use rillmark_proto::reading::Range;
use std::vec::Vec;

/// Samples for this long; each sample with the time of its end in µs.
fn sample_for(world: &Shared, sampling: Sampling, for_us: u64) -> Vec<(u64, Sample)> {
    let mut sampler = Sampler::new(FrontEnd::new(parts(world)));
    sampler.set(sampling);
    let mut samples = Vec::new();
    let end = world.borrow().now_us + for_us;
    let _ = run_until(world, end, async {
        while let Some(due) = sampler.due_us() {
            sampler.front_end().until(due).await;
            let sample = sampler.sample().await;
            samples.push((sampler.front_end().now_us(), sample));
        }
    });
    samples
}

/// Averages before the first pH of pH-only sampling after a drive, which do not count.
const LEAD: usize = STILL_AVERAGES - PH_AVERAGES as usize;

fn assert_undisturbed(conversion: &Conversion) {
    if conversion.input == Input::Electrode {
        assert_eq!(conversion.drive, Drive::Floating);
        assert!(!conversion.is_cell_closed);
        assert_eq!(conversion.switches[..2], [true, true]);
        let rest = conversion.at_us - conversion.driven_us;
        // What stands before a pH, to tell whether it stands still, falls into the wait.
        let least = WAIT_PH_US - LEAD as u64 * AVERAGE_US;
        assert!(conversion.driven_us == 0 || rest >= least, "{rest} µs after the drive");
    }
    assert!(conversion.at_us - conversion.powered_us.unwrap() >= WAIT_POWER_US);
    // No lamp, and a quiet regulator, from before the first one on.
    assert!(conversion.at_us - conversion.quiet_us.unwrap() >= QUIET_US);
}

#[test]
fn ph_comes_more_than_twice_a_second_with_a_held_temperature() {
    let world = world();
    let samples = sample_for(&world, Sampling::Ph, 62_000_000);
    assert!((190..=210).contains(&samples.len()), "{}", samples.len());
    let mut measured = 0;
    for (_, sample) in &samples {
        // 1000 codes of 15.625 µV; 1100 Ω but for the rounding of codes.
        assert_eq!(sample.raw.potential_nv, Some(15_625_000));
        assert!(sample.raw.thermometer_milliohm.unwrap().abs_diff(1_100_000) < 200);
        assert_eq!(sample.raw.conductance, None);
        measured += usize::from(!sample.flags.has(Flags::TEMPERATURE_HELD));
    }
    assert!((5..=6).contains(&measured), "{measured} temperatures in a minute");
    let conversions = &world.borrow().conversions;
    conversions.iter().for_each(assert_undisturbed);
    // What counts was converted after the wait.
    let (lead, electrode): (Vec<&Conversion>, Vec<&Conversion>) = conversions
        .iter()
        .filter(|c| c.input == Input::Electrode)
        .partition(|c| c.at_us - c.driven_us < WAIT_PH_US);
    let one = CONVERSIONS_PER_AVERAGE as usize;
    assert_eq!(lead.len(), measured * LEAD * one);
    // Every average is whole mains cycles of the board's clock.
    let per_reading = (PH_AVERAGES * CONVERSIONS_PER_AVERAGE) as usize;
    for reading in electrode.chunks_exact(per_reading) {
        let length = reading[per_reading - 1].at_us - reading[0].at_us;
        let expected = (per_reading as u64 - 1) * CONVERSION_PERIOD_US;
        assert!(length.abs_diff(expected) <= 200, "{length} µs");
    }
    for (a, b) in samples.iter().zip(&samples[1..]) {
        assert!(b.0 - a.0 <= 2_000_000, "{} µs without a reading", b.0 - a.0);
    }
}

#[test]
fn conductivity_finds_its_range_and_frequencies() {
    let cases = [
        (500.0, Range::Ohm1k, &[8_000, 4_000, 2_000][..]),
        (5_000.0, Range::Ohm10k, &[2_030]),
        (50_000.0, Range::Ohm100k, &[220]),
    ];
    for (ohm, range, frequencies) in cases {
        let world = world();
        world.borrow_mut().cell_ohm = ohm;
        let samples = sample_for(&world, Sampling::Conductivity, 12_000_000);
        for (_, sample) in &samples {
            let found = sample.raw.conductance.unwrap();
            let siemens = found.conductance_ps as f64 * 1e-12;
            assert!((siemens * ohm - 1.0).abs() < 2e-3, "{ohm} Ω: {siemens} S");
            assert_eq!((found.range, sample.flags), (range, Flags::NONE));
        }
        let conversions = &world.borrow().conversions;
        let mut seen: Vec<Drive> = conversions.iter().rev().take(1_500).map(|c| c.drive).collect();
        seen.dedup();
        for frequency in frequencies {
            assert!(seen.contains(&Drive::Running(*frequency)), "{ohm} Ω: {seen:?}");
        }
        assert!(conversions.iter().all(|c| c.is_cell_closed != (c.switches[..2] == [true; 2])));
        conversions.iter().for_each(assert_undisturbed);
    }
}

/// What is left of a drive that grows evenly is nothing where each tap's conversions have one middle; and the
/// whole takes as long as budgets and decks count.
#[test]
fn taps_are_read_about_one_middle() {
    let world = world();
    sample_for(&world, Sampling::Conductivity, 8_000_000);
    let world = world.borrow();
    let driven: Vec<&Conversion> =
        world.conversions.iter().filter(|c| c.input == Input::Holds && c.is_cell_closed).collect();
    let count: u32 = ORDER.iter().map(|(_, conversions)| conversions).sum();
    for drive in driven.chunks_exact(count as usize) {
        let mut order: Vec<[bool; 2]> =
            drive.iter().map(|c| [c.switches[2], c.switches[3]]).collect();
        let middle = |tap: [bool; 2]| {
            let at = drive.iter().zip(&order).filter(|(_, switches)| **switches == tap);
            let at: Vec<f64> = at.map(|(c, _)| c.at_us as f64).collect();
            at.iter().sum::<f64>() / at.len() as f64
        };
        let [h, a, b] = [[false, false], [false, true], [true, false]].map(middle);
        assert!((a - h).abs() < 100.0 && (b - h).abs() < 100.0, "{h}, {a}, {b} µs");
        order.dedup();
        let named = ORDER.map(|(tap, _)| match tap {
            Tap::H => [false, false],
            Tap::A => [false, true],
            Tap::B => [true, false],
        });
        assert_eq!(order, named);
        let took = drive[drive.len() - 1].at_us - drive[0].at_us + CONVERSION_PERIOD_US;
        assert!(took.abs_diff(TAPS_US - WAIT_RANGE_US) < 500, "{took} µs");
    }
}

#[test]
fn full_readings_keep_their_interval_and_save_power_when_they_can() {
    for (interval_ms, switchings) in
        [(0, 1..=1), (3_000, 1..=1), (5_000, 34..=37), (20_000, 8..=10)]
    {
        let world = world();
        let samples = sample_for(&world, Sampling::Full { interval_ms }, 90_000_000);
        for (_, sample) in &samples {
            assert!(sample.raw.potential_nv.is_some());
            assert!(sample.raw.conductance.is_some());
            assert!(sample.raw.thermometer_milliohm.is_some());
            assert_eq!(sample.flags, Flags::NONE);
        }
        if interval_ms > 0 {
            let expected = 90_000 / interval_ms as usize;
            assert!(samples.len().abs_diff(expected) <= 1, "{} samples", samples.len());
            for (a, b) in samples.iter().zip(&samples[1..]) {
                let off = (b.0 - a.0).abs_diff(u64::from(interval_ms) * 1_000);
                assert!(off < 1_000, "{off} µs off");
            }
        }
        let world = world.borrow();
        assert!(switchings.contains(&world.power_switchings), "{}", world.power_switchings);
        world.conversions.iter().for_each(assert_undisturbed);
    }
}

/// A full reading goes on while the electrode moves, and is flagged when it does so for too long; pH-only
/// sampling goes on at its pace, and flags.
#[test]
fn an_electrode_that_moves_is_waited_for_and_flagged() {
    // A code is 15.625 µV: 62 µV/s move less than the limit in 0.3 s, 312 µV/s are known for the water's
    // after a second more, and 3.1 mV/s may be anything.
    let full = Sampling::Full { interval_ms: 20_000 };
    for (codes_per_s, takes_us) in
        [(0.0, 500_000), (4.0, 500_000), (20.0, 1_500_000), (200.0, STILL_LONGEST_US)]
    {
        let world = world();
        world.borrow_mut().electrode_codes_per_s = codes_per_s;
        let samples = sample_for(&world, full, 60_000_000);
        for (_, sample) in &samples {
            assert_eq!(sample.flags.has(Flags::NOT_SETTLED), codes_per_s == 200.0, "{codes_per_s}");
        }
        let world = world.borrow();
        let of_one = |c: &&Conversion| c.input == Input::Electrode && c.at_us < 20_000_000;
        let count = world.conversions.iter().filter(of_one).count() as u64;
        assert!((count * CONVERSION_PERIOD_US).abs_diff(takes_us) <= AVERAGE_US, "{count}");
    }
    // pH-only: 312 µV/s are known for the water's by the third second, 1.6 mV/s when the longest tail is over; after that
    // they are flagged for a second after each temperature.
    for (codes_per_s, from_us) in [(20.0, 4_500_000), (100.0, TAIL_POWER_US)] {
        let world = world();
        world.borrow_mut().electrode_code = -32_000;
        world.borrow_mut().electrode_codes_per_s = codes_per_s;
        let samples = sample_for(&world, Sampling::Ph, from_us + 20_000_000);
        assert!(samples.len() as u64 > 3 * (from_us + 20_000_000) / 1_000_000, "{}", samples.len());
        let flagged = |(_, s): &&(u64, Sample)| s.flags.has(Flags::NOT_SETTLED);
        let before = samples.iter().filter(|(at, _)| *at < from_us - 1_500_000);
        assert!(before.clone().all(|it| flagged(&it)), "{codes_per_s}");
        let after = samples.iter().filter(|(at, _)| *at > from_us).filter(flagged).count();
        assert!((4..=12).contains(&after), "{codes_per_s}: {after}");
    }
}

#[test]
fn failing_parts_become_flags_and_sampling_goes_on() {
    let samplings = [Sampling::Ph, Sampling::Conductivity, Sampling::Full { interval_ms: 0 }];
    for sampling in samplings {
        let silent = world();
        silent.borrow_mut().is_adc_silent = true;
        let samples = sample_for(&silent, sampling, 20_000_000);
        assert!((20..=80).contains(&samples.len()), "{sampling:?}: {}", samples.len());
        for (_, sample) in samples {
            assert_eq!(sample, Sample { flags: Flags::ADC_SILENT, ..Default::default() });
        }
        let broken = world();
        (broken.borrow_mut().thermometer_ohm, broken.borrow_mut().cell_ohm) = (1e9, 1e9);
        broken.borrow_mut().electrode_code = i16::MAX;
        let samples = sample_for(&broken, sampling, 20_000_000);
        let mut flags = Flags::THERMOMETER_OPEN;
        if sampling != Sampling::Conductivity {
            flags = flags.with(Flags::POTENTIAL_OVER_RANGE);
        }
        if sampling != Sampling::Ph {
            flags = flags.with(Flags::CELL_OPEN);
        }
        for (_, sample) in samples {
            assert_eq!(sample.flags, flags, "{sampling:?}");
            let raw = sample.raw;
            assert_eq!((raw.potential_nv, raw.thermometer_milliohm), (None, None));
        }
    }
    let short = world();
    short.borrow_mut().thermometer_ohm = 1.0;
    short.borrow_mut().cell_ohm = 5.0;
    for (_, sample) in sample_for(&short, Sampling::Conductivity, 20_000_000) {
        let flags = Flags::THERMOMETER_SHORT.with(Flags::CELL_OVER_RANGE);
        assert_eq!(sample.flags, flags);
    }
}

#[test]
fn a_converter_that_comes_back_is_used_again() {
    let world = world();
    let mut sampler = Sampler::new(FrontEnd::new(parts(&world)));
    sampler.set(Sampling::Ph);
    for is_silent in [false, true, false] {
        world.borrow_mut().is_adc_silent = is_silent;
        let sample = run_until(&world, u64::MAX, sampler.sample()).unwrap();
        assert_eq!(sample.raw.potential_nv.is_none(), is_silent);
        assert_eq!(sample.flags.has(Flags::ADC_SILENT), is_silent);
    }
    sampler.set(Sampling::Off);
    assert_eq!(sampler.due_us(), None);
    assert_eq!(world.borrow().power_switchings, 2);
}
