//! Ranges, extrapolation and conductance as pure functions. Expected values are worked out in the
//! tests from the laws that they check, computed.

use super::super::taps::tests::taps;
use super::*;
use crate::adc::Sum;
use crate::constants::{CONVERSION_PERIOD_US, WAIT_TAP_US};
use crate::front_end::{ORDER, Tap};
use rillmark_metrology::front_end::surroundings::SUPPLY_STEP_S;
use rillmark_metrology::front_end::{Budget, Cause, conductance};

#[test]
fn ranges_change_with_hysteresis() {
    use Range::{Ohm1k, Ohm10k, Ohm100k};
    // (from, Ω, to): the limits are those of `constants`.
    let cases = [
        (Ohm1k, 20.0, Ohm1k),
        (Ohm1k, 2_199.0, Ohm1k),
        (Ohm1k, 2_201.0, Ohm10k),
        (Ohm1k, 22_001.0, Ohm100k),
        (Ohm1k, f64::INFINITY, Ohm100k),
        (Ohm10k, 1_801.0, Ohm10k),
        (Ohm10k, 1_799.0, Ohm1k),
        (Ohm10k, 21_999.0, Ohm10k),
        (Ohm10k, 22_001.0, Ohm100k),
        (Ohm100k, 18_001.0, Ohm100k),
        (Ohm100k, 17_999.0, Ohm10k),
        (Ohm100k, 1_799.0, Ohm1k),
        (Ohm100k, 0.0, Ohm1k),
    ];
    for (from, ohm, to) in cases {
        assert_eq!(next_range(from, ohm), to, "{from:?} at {ohm} Ω");
    }
}

#[test]
fn a_range_once_chosen_is_kept() {
    for step in 0..2_000 {
        // From 1 Ω to 1 MΩ; also when the next reading is 2 % off.
        let ohm = libm::pow(10.0, f64::from(step) * 0.003);
        for from in RANGES {
            let chosen = next_range(from, ohm);
            for again in [0.98, 1.0, 1.02] {
                let kept = next_range(chosen, ohm * again);
                let back = next_range(kept, ohm);
                assert_eq!(kept, back, "{from:?} at {ohm} Ω swings");
            }
            assert_eq!(next_range(chosen, ohm), chosen);
        }
    }
}

#[test]
fn extrapolation_is_exact_for_its_law() {
    for r in [20.0, 300.0, 2_000.0] {
        for (polarisation, alpha) in [(0.001, 0.5), (0.01, 0.8), (0.05, 1.0), (0.03, 2.0)] {
            let at = |octaves: f64| r * (1.0 + polarisation * libm::exp2(-octaves * alpha));
            let found = at_infinite_frequency(at(2.0), at(1.0), at(0.0));
            // Below the least trend the 8 kHz value stands; its error is then that small too.
            let trend = at(1.0) - at(2.0) >= libm::fmax(2e-4 * at(2.0), 0.01);
            if trend {
                let direct =
                    (at(0.0) * at(2.0) - at(1.0) * at(1.0)) / (at(0.0) + at(2.0) - 2.0 * at(1.0));
                assert!(libm::fabs(found / direct - 1.0) < 1e-9);
            }
            let expected = if trend { r } else { at(2.0) };
            assert!(libm::fabs(found / expected - 1.0) < 1e-9, "{r} Ω, {alpha}: {found}");
        }
    }
}

#[test]
fn without_a_trend_8_khz_stands() {
    let cases = [
        [100.0, 100.0, 100.0],
        [100.0, 100.001, 100.002],
        [100.0, 99.0, 98.0],
        [100.0, 101.0, 102.0],
        [100.0, 101.0, 101.0],
        [100.0, 101.0, 107.0],
    ];
    for [r8, r4, r2] in cases {
        assert_eq!(at_infinite_frequency(r8, r4, r2), r8);
    }
}

#[test]
fn conductance_in_picosiemens() {
    let cases = [
        (Range::Ohm10k, 10_000.0, 100_000_000.0, Flags::NONE),
        (Range::Ohm100k, 150_000.0, 6_666_667.0, Flags::NONE),
        (Range::Ohm100k, 260_000.0, 3_846_154.0, Flags::CELL_OPEN),
        (Range::Ohm1k, 20.0, 5e10, Flags::NONE),
        (Range::Ohm1k, 15.0, 1e12 / 15.0, Flags::CELL_OVER_RANGE),
    ];
    for (range, ohm, ps, flags) in cases {
        let of_one = taps(resistor_ohm(range), ohm);
        let all = [of_one; 3];
        let cell = Cell::of(range, &all[..frequencies(range).len()]);
        let found = cell.conductance.unwrap();
        assert_eq!((cell.flags, found.range), (flags, range), "{ohm} Ω");
        assert!(libm::fabs(found.conductance_ps as f64 / ps - 1.0) < 1e-6, "{found:?}");
    }
}

#[test]
fn air_a_short_and_a_dead_drive() {
    let sum = |codes| Sum { codes, count: 1, clipped: false };
    let of = |h, a, b| Taps { h: sum(h), a: sum(a), b: sum(b), ..Taps::default() };
    let air = Cell::of(Range::Ohm100k, &[of(25_600, 25_602, 0)]);
    assert_eq!(air.flags, Flags::CELL_OPEN);
    assert!(air.conductance.unwrap().conductance_ps < 0);
    let short = [of(25_600, 0, 0); 3];
    let short = Cell::of(Range::Ohm1k, &short);
    assert_eq!(short, Cell { conductance: None, flags: Flags::CELL_OVER_RANGE });
    let dead = Cell::of(Range::Ohm10k, &[of(1, 1, 0)]);
    assert_eq!(dead, Cell { conductance: None, flags: Flags::CELL_OPEN });
}

const PERIOD_S: f64 = CONVERSION_PERIOD_US as f64 * 1e-6;
const WAIT_S: f64 = WAIT_TAP_US as f64 * 1e-6;

/// From the first conversion of one reading of the taps to its last, in s.
fn whole_s() -> f64 {
    ORDER.iter().map(|(_, n)| f64::from(*n) * PERIOD_S).sum::<f64>()
        + (ORDER.len() - 1) as f64 * WAIT_S
}

/// Taps of a drive and a load in Ω at times in s about the middle, on this resistor. 170 Ω below the load, 70 Ω of
/// the switch before the resistor; no rounding, so that every µV shows.
fn read(resistor: f64, drive: impl Fn(f64) -> f64, load_at: impl Fn(f64) -> f64) -> Taps {
    let mut s = -0.5 * whole_s();
    let parts = ORDER.map(|(tap, conversions)| {
        let first = conversions / 2;
        let parts = [first, conversions - first].map(|count| {
            let mut sum = Sum::default();
            for _ in 0..count {
                let load = load_at(s);
                let ohm = match tap {
                    Tap::H => resistor + load + 170.0,
                    Tap::A => load + 170.0,
                    Tap::B => 170.0,
                };
                let codes = 25_600.0 * drive(s) * ohm / (resistor + load + 240.0);
                sum.codes += libm::round(codes * 1e6) as i64;
                sum.count += 1_000_000;
                s += PERIOD_S;
            }
            sum
        });
        s += WAIT_S;
        parts
    });
    Taps::of(parts)
}

/// A supply that steps at any time in a reading, also while it wanders; and water that changes evenly. What is not flagged is off by
/// no more than the threshold lets through; one that comes and goes while h alone is read by what it is itself.
#[test]
fn a_step_of_the_supply_is_seen_or_small() {
    use crate::constants::{UNEVEN_CODES, UNEVEN_H_CODES, UNEVEN_PART};
    let whole_s = whole_s();
    for (resistor, load) in [(1e3, 20.0), (1e3, 1e3), (1e4, 5e3), (1e5, 1e5)] {
        let read = |drive: &dyn Fn(f64) -> f64, load_at: &dyn Fn(f64) -> f64| {
            read(resistor, drive, load_at)
        };
        let codes = 25_600.0 * load / (resistor + load + 240.0);
        // By hand: a step that hides between b and a, and one that hides in the first or last tenth of h, where it
        // looks like the greatest even change that a supply may have.
        let limit = UNEVEN_CODES + UNEVEN_PART * codes;
        let a = codes * (1.0 + 170.0 / load);
        let in_h = limit / a + 3.8 * UNEVEN_H_CODES / 25_600.0;
        let most = 0.75 * limit / codes + in_h * 25_600.0 / (2.0 * (25_600.0 - a));
        let off = |taps: &Taps| libm::fabs(taps.load_ohm(resistor).unwrap() / load - 1.0);
        let even = |wander: f64| move |s: f64| 1.0 + wander * s;
        for wander in [0.0, 0.0025, -0.0025] {
            let quiet = read(&even(wander), &|_| load);
            assert!(!is_uneven(&[quiet]) && off(&quiet) < 1e-5, "{load} Ω: {quiet:?}");
            for size in [1e-3, -1e-3, 3e-3, 3e-4, 1e-4] {
                let (mut seen, mut worst) = (0, 0.0_f64);
                for n in 0..=100 {
                    let at = (f64::from(n) / 100.0 - 0.5) * whole_s;
                    let stepped = |s: f64| even(wander)(s) + if s >= at { size } else { 0.0 };
                    let taps = read(&stepped, &|_| load);
                    if is_uneven(&[taps]) {
                        seen += 1;
                    } else {
                        worst = worst.max(off(&taps));
                    }
                }
                std::println!(
                    "{load} Ω, {wander} per s, step of {size}: {seen} of 101 seen, else {worst:.2e}"
                );
                assert!(worst <= most, "{load} Ω, step of {size}: {worst} of {most}");
            }
        }
        // While h alone is read: seen only where it ends or begins in it, unless about its middle.
        let dip = |s: f64| if libm::fabs(s) < 0.06 { 0.999 } else { 1.0 };
        let unseen = read(&dip, &|_| load);
        assert!(!is_uneven(&[unseen]) && off(&unseen) < 1.3e-3 * (1.0 + load / resistor));
        // Water that changes by 2 % a second is even, and known by another reading that says the same.
        let moving = read(&|_| 1.0, &|s| load * (1.0 + 0.02 * s));
        assert!(!is_uneven(&[moving, moving]) && off(&moving) < 1e-4, "{load} Ω");
    }
}

/// What hides is within what the budget counts: the largest step that the taps let pass is sought at many places in
/// time, and steps up to it are read, one in [`SUPPLY_STEP_S`]. The budget knows no conversion, and rounds up.
#[test]
fn a_step_that_hides_is_budgeted() {
    const PLACES: u32 = 190;
    const SIZES: u32 = 4;
    // Per reading at one frequency.
    let chance = whole_s() / SUPPLY_STEP_S;
    let rms = |square: f64, count: u32| libm::sqrt(chance * square / f64::from(count));
    let loads = [20.0, 50.0, 200.0, 1e3, 2e3].map(|load| (Range::Ohm1k, load));
    let further =
        [(Range::Ohm10k, 2e3), (Range::Ohm10k, 2e4), (Range::Ohm100k, 2e4), (Range::Ohm100k, 2e5)];
    for (range, load) in loads.into_iter().chain(further) {
        let resistor = resistor_ohm(range);
        let stepped = |at: f64, size: f64, load: f64| {
            read(resistor, |s| if s >= at { 1.0 + size } else { 1.0 }, |_| load)
        };
        // Polarisation as the budget's usual one, by far larger than what a step does.
        let polarised_ohm = libm::fmax(5.0, 0.05 * load);
        let polarised = |hz: f64| load + polarised_ohm * libm::pow(hz / 1e3, -0.6);
        let loads = [8e3, 4e3, 2e3].map(polarised);
        let even = loads.map(|load| stepped(0.0, 0.0, load));
        let (mut worst, mut square, mut extrapolated) = (0.0_f64, 0.0, 0.0);
        for n in 0..PLACES {
            let at = ((f64::from(n) + 0.5) / f64::from(PLACES) - 0.5) * whole_s();
            let (mut hides, mut shows) = (0.0, 1.0);
            for _ in 0..24 {
                let size = 0.5 * (hides + shows);
                match is_uneven(&[stepped(at, size, load)]) {
                    true => shows = size,
                    false => hides = size,
                }
            }
            let off = |size: f64| stepped(at, size, load).load_ohm(resistor).unwrap() / load - 1.0;
            worst = worst.max(libm::fabs(off(hides)));
            for n in 0..SIZES {
                let size = hides * (f64::from(n) + 0.5) / f64::from(SIZES);
                square += off(size) * off(size);
                if range != Range::Ohm1k {
                    continue;
                }
                for frequency in 0..3 {
                    let mut taps = even;
                    taps[frequency] = stepped(at, size, loads[frequency]);
                    let [r8, r4, r2] = taps.map(|taps| taps.load_ohm(resistor).unwrap());
                    let off = at_infinite_frequency(r8, r4, r2) / load - 1.0;
                    extrapolated += off * off;
                }
            }
        }
        let u = |budget: Budget<13>| budget.of(Cause::SupplyStep).unwrap().calibrated;
        let single = rms(square, PLACES * SIZES) / u(conductance::budget(range.resistor(), load));
        std::println!(
            "{load} Ω on {resistor} Ω: {worst:.2e} at the most, {single:.2} of the budgeted"
        );
        assert!((0.6..1.0).contains(&single), "{load} Ω: {single}");
        if range == Range::Ohm1k {
            let budget =
                conductance::extrapolated(range.resistor(), load, conductance::USUAL_RATIO);
            let three = rms(extrapolated, PLACES * SIZES) / u(budget);
            std::println!("  extrapolated {three:.2}");
            assert!((0.6..1.0).contains(&three), "{load} Ω: {three}");
        }
    }
}
