//! What boards with known mistakes look like, worked out by hand, and what is said of them.

use super::*;
use rillmark_proto::circuit::parts;
use rillmark_proto::reading::{Flags, Range};
use std::vec::Vec;

const LOADS: Loads = Loads::usual(0.01);
/// A mistake, the resistances of cell and thermometer, and what is to be named.
type Case<'a> = (&'a str, [f64; 5], [f64; 5], &'a [Cause]);

const OPEN: f64 = f64::INFINITY;
const SHORT: f64 = 0.0;
/// No drive: nothing to divide by.
const DEAD: f64 = -1.0;
/// Goes from range to range, or is noise over noise.
const UNSTEADY: f64 = f64::NAN;

fn exact(value: f64) -> Option<Mean> {
    Some(Mean { value, scatter: 0.0 })
}

/// What is seen: potentials in mV of the first four steps, resistances in Ω with the cell's
/// terminals open and at the four resistors.
fn seen(mv: [Option<f64>; 4], cell: [f64; 5], thermometer: [f64; 5]) -> Vec<(Step, Seen)> {
    let of = |step: Step, mv: Option<f64>, cell: f64, thermometer: f64| {
        let cell_flag = match cell {
            OPEN | DEAD => Flags::CELL_OPEN,
            SHORT => Flags::CELL_OVER_RANGE,
            _ => Flags::NONE,
        };
        let thermometer_flag = match thermometer {
            OPEN => Flags::THERMOMETER_OPEN,
            SHORT => Flags::THERMOMETER_SHORT,
            _ => Flags::NONE,
        };
        let conductance_s = match cell {
            OPEN => exact(0.0),
            SHORT | DEAD => None,
            ohm if ohm.is_nan() => Some(Mean { value: 1e-5, scatter: 1e-5 }),
            ohm => exact(1.0 / ohm),
        };
        let is_ohm = thermometer > 0.0 && thermometer.is_finite();
        let seen = Seen {
            flags: cell_flag.with(thermometer_flag),
            potential_mv: mv.map(|value| Mean { value, scatter: 0.0 }),
            conductance_s,
            thermometer_ohm: is_ohm.then_some(Mean { value: thermometer, scatter: 0.0 }),
        };
        (step, seen)
    };
    let cells = (0..4).map(|at| of(Step::Cell(at), Some(0.0), cell[1 + at], thermometer[1 + at]));
    // The second once more: nothing leads away where the board is sound.
    let joined = of(Step::Joined, Some(0.0), cell[2], thermometer[2]);
    [Step::Bare, Step::Membrane, Step::Source, Step::Reversed]
        .into_iter()
        .zip(mv)
        .map(|(step, mv)| of(step, mv, cell[0], thermometer[0]))
        .chain(cells)
        .chain([joined])
        .collect()
}

const MV: [Option<f64>; 4] = [Some(0.0), Some(0.0), Some(200.0), Some(-200.0)];
const CELL: [f64; 5] = [OPEN, 100e3, 10e3, 1e3, 100.0];
const THERMOMETER: [f64; 5] = [1e3; 5];

fn said(seen: &[(Step, Seen)]) -> Vec<Cause> {
    explain(&LOADS, seen, &rows(&LOADS, seen), Clock::Keeps).into_iter().collect()
}

#[test]
fn the_steps_come_in_their_order() {
    let steps: Vec<_> = LOADS.steps().collect();
    assert_eq!(steps[..2], [Step::Bare, Step::Membrane]);
    assert_eq!(steps[4..8], [0, 1, 2, 3].map(Step::Cell));
    assert_eq!(steps[8..], [Step::Joined]);
    let without = Loads { membrane: None, ..LOADS };
    assert_eq!(without.steps().count(), 8);
    assert!(!without.steps().any(|step| step == Step::Membrane));
}

#[test]
fn a_sound_board_passes_every_row() {
    let seen = seen(MV, CELL, THERMOMETER);
    let rows = rows(&LOADS, &seen);
    // Four potentials, the open terminals, four resistors and one of them again, the thermometer once.
    assert_eq!(rows.len(), 11);
    assert!(rows.iter().all(|row| row.verdict == Verdict::Pass), "{rows:#?}");
    assert_eq!(said(&seen), []);
}

#[test]
fn limits_are_what_parts_and_loads_may_be_off() {
    let rows = rows(&LOADS, &seen(MV, CELL, THERMOMETER));
    let limit = |step, quantity| {
        rows.iter().find(|row| row.step == step && row.quantity == quantity).unwrap().limit
    };
    // By hand: 1 % of the load, 0.1 % of the resistor and as much of its soldering, each over √3, three
    // times their root sum of squares: 3 · 1.010 % / 1.732 = 1.749 %; noise and bending add little.
    let percent = 100.0 * limit(Step::Cell(2), Quantity::Cell) / 1e3;
    assert!((1.749..1.756).contains(&percent), "{percent} %");
    // A source within 1 mV and an electrometer within 1 mV, over √3: 0.816 mV, three times that
    // 2.45 mV; gain and load at 200 mV, 0.17 and 0.33 mV, make 2.7 mV of it.
    let mv = limit(Step::Source, Quantity::Potential);
    assert!((2.4..2.8).contains(&mv), "{mv} mV");
}

#[test]
fn mistakes_of_wiring_are_named_by_what_the_firmware_finds() {
    let [r8, r9, r10, r11] =
        [&parts::RANGE_1K, &parts::RANGE_10K, &parts::RANGE_100K, &parts::THERMOMETER_REFERENCE];
    let cases: [Case; 11] = [
        // Open terminals lead to the 100 kΩ range, which is kept down to 18 kΩ. 10 kΩ lead on to the
        // 10 kΩ range, where 1 kΩ is asked in vain for 10 kΩ: ten times too much, and back. 1 kΩ look
        // like 10 kΩ there and stay; 100 Ω like 1 kΩ, on whose range a tenth is left of it: too little.
        (
            "1 kΩ and 10 kΩ swapped",
            [OPEN, 100e3, UNSTEADY, 10e3, SHORT],
            THERMOMETER,
            &[Cause::Swapped { one: r8, other: r9 }],
        ),
        // The same where every reading ends on the same range, which is right for 10 kΩ.
        (
            "1 kΩ and 10 kΩ swapped, in step",
            [OPEN, 100e3, 10e3, 10e3, SHORT],
            THERMOMETER,
            &[Cause::Swapped { one: r8, other: r9 }],
        ),
        // 100 kΩ · (100 kΩ / 10 kΩ) is 1 MΩ, beyond 250 kΩ, and 10 kΩ look like 100 kΩ and stay; 1 kΩ
        // look like 10 kΩ and lead away.
        (
            "10 kΩ for 100 kΩ",
            [OPEN, OPEN, 100e3, 1e3, 100.0],
            THERMOMETER,
            &[Cause::Resistor { place: r10, ohm: Some(10e3) }],
        ),
        // Nothing flows: no voltage below the resistor. With 100 kΩ there would be next to none.
        ("no reference resistor", CELL, [SHORT; 5], &[Cause::Resistor { place: r11, ohm: None }]),
        // 2 kΩ · (1 kΩ / 1 kΩ).
        ("1 kΩ as reference", CELL, [2e3; 5], &[Cause::Resistor { place: r11, ohm: Some(1e3) }]),
        // The thermometer is asked for on the 100 kΩ range, while the cell's switch is open: noise over
        // noise. 10 kΩ go round in circles as above; 1 kΩ, if that ended on the 100 kΩ range, lead
        // straight to their own, which is right.
        (
            "low line",
            [OPEN, 100e3, UNSTEADY, 1e3, 100.0],
            [OPEN, 1.9e3, SHORT, SHORT, OPEN],
            &[Cause::RangeLine { is_low: true, level: false }],
        ),
        // Asked for 100 kΩ there is 1 kΩ, a hundred times too much: 100 and 10 kΩ are open, 1 kΩ look
        // like 100 kΩ, 100 Ω like 10 kΩ, which leads to their own range. The thermometer as above, on the
        // 10 kΩ range.
        (
            "high line",
            [OPEN, OPEN, OPEN, 100e3, 100.0],
            [OPEN, 700.0, SHORT, SHORT, OPEN],
            &[Cause::RangeLine { is_low: false, level: false }],
        ),
        // a is below b: no voltage where there should be one, with open terminals too.
        ("taps swapped", [SHORT; 5], [SHORT; 5], &[Cause::TapLines]),
        // a is h: no current where there should be one.
        ("a tap line", [OPEN; 5], [OPEN; 5], &[Cause::TapLine { is_low: true, level: false }]),
        ("no drive", [DEAD; 5], [OPEN; 5], &[Cause::Drive]),
        ("no return", [UNSTEADY; 5], THERMOMETER, &[Cause::Return]),
    ];
    for (name, cell, thermometer, expected) in cases {
        let said = said(&seen(MV, cell, thermometer));
        for cause in expected {
            assert!(said.contains(cause), "{name}: {said:#?}");
        }
        assert!(said.len() <= 3, "{name}: {said:#?}");
    }
}

#[test]
fn the_input_s_mistakes_are_told_apart() {
    let mv = |bare, membrane, plus, minus| seen([bare, membrane, plus, minus], CELL, THERMOMETER);
    let sound = |mv: f64| Some(mv);
    assert_eq!(said(&mv(None, None, None, None)), [Cause::InputOpen]);
    let reversed = mv(sound(0.1), sound(0.1), sound(-199.0), sound(200.0));
    assert_eq!(said(&reversed), [Cause::InputReversed]);
    let dead = mv(sound(0.1), sound(0.1), sound(0.2), sound(0.1));
    assert_eq!(said(&dead), [Cause::InputDead]);
    let leaking = said(&mv(sound(0.2), sound(-16.3), sound(200.0), sound(-200.0)));
    // −16.5 mV through 100 MΩ.
    assert!(
        matches!(leaking[..], [Cause::Leak { ampere: Some(a) }] if (a + 165e-12).abs() < 1e-15),
        "{leaking:?}"
    );
    let clipped = mv(sound(0.2), None, sound(200.0), sound(-200.0));
    assert_eq!(said(&clipped), [Cause::Leak { ampere: None }]);
    // 30 mV over 1 MΩ are 30 nA, which are 3 V over 100 MΩ.
    let biased = mv(sound(30.0), None, sound(230.0), sound(-170.0));
    assert_eq!(said(&biased), [Cause::Leak { ampere: Some(30e-9) }]);
    let zero = said(&mv(sound(7.0), sound(7.0), sound(207.0), sound(-193.0)));
    assert_eq!(zero, [Cause::Zero { mv: 7.0 }]);
    let low = mv(sound(0.3), sound(0.3), sound(200.2), sound(0.0));
    assert_eq!(said(&low), [Cause::Mid { at_supply: false }]);
    let high = mv(sound(0.0), sound(0.0), sound(0.0), sound(-200.2));
    assert_eq!(said(&high), [Cause::Mid { at_supply: true }]);
    let gain = said(&mv(sound(0.0), sound(0.0), sound(190.0), sound(-190.0)));
    assert!(matches!(gain[..], [Cause::Gain { factor }] if factor == 0.95), "{gain:?}");
}

#[test]
fn what_is_wrong_by_degrees_is_read_from_the_rows() {
    let cell = |cell| said(&seen(MV, cell, THERMOMETER));
    // 10 Ω more everywhere: 10 % of 100 Ω, nothing of 100 kΩ.
    let series = cell([OPEN, 100_010.0, 10_010.0, 1_010.0, 110.0]);
    assert!(
        matches!(series[..], [Cause::Series { ohm }] if (ohm - 10.0).abs() < 1e-9),
        "{series:?}"
    );
    // Both of the 1 kΩ range by the same factor.
    let factor = cell([OPEN, 100e3, 10e3, 1_050.0, 105.0]);
    assert!(
        matches!(factor[..], [Cause::RangeOff { range: Range::Ohm1k, factor }] if (factor - 1.05).abs() < 1e-9),
        "{factor:?}"
    );
    let reference = said(&seen(MV, CELL, [1_050.0; 5]));
    assert_eq!(reference, [Cause::ReferenceOff { factor: 1.05 }]);
    // 1 MΩ across the terminals: 100 kΩ become 90.9 kΩ, and open terminals conduct 1 µS.
    let mut across = seen(MV, [OPEN, 1e6 / 11.0, 1e6 / 101.0, 999.0, 100.0], THERMOMETER);
    for (_, seen) in across.iter_mut().take(4) {
        seen.conductance_s = exact(1e-6);
    }
    assert_eq!(said(&across), [Cause::Across { ohm: 1e6 }]);
}

#[test]
fn silent_chips_come_first() {
    let mut seen = seen([None; 4], [OPEN; 5], [OPEN; 5]);
    for (_, seen) in &mut seen {
        *seen = Seen {
            flags: Flags::ADC_SILENT,
            potential_mv: None,
            conductance_s: None,
            thermometer_ohm: None,
        };
    }
    let said = |clock| explain(&LOADS, &seen, &rows(&LOADS, &seen), clock);
    assert_eq!(said(Clock::Lost)[..], [Cause::Converter]);
    assert_eq!(said(Clock::Silent)[..], [Cause::Bus]);
}

#[test]
fn a_board_without_supply_follows_nothing() {
    let mut seen = seen([Some(0.0); 4], [OPEN; 5], [OPEN; 5]);
    for (_, seen) in &mut seen {
        seen.conductance_s = None;
    }
    assert_eq!(said(&seen), [Cause::Supply]);
}

#[test]
fn a_restless_board_is_told_when_nothing_else_is_wrong() {
    let mut seen = seen(MV, CELL, THERMOMETER);
    seen[0].1.potential_mv = Some(Mean { value: 0.0, scatter: 2.0 });
    assert_eq!(said(&seen), [Cause::Restless]);
}

/// Nothing that came to rest is nothing to judge by, and no broken wire.
#[test]
fn an_input_that_did_not_come_to_rest_is_no_open_one() {
    let sound = seen(MV, CELL, THERMOMETER);
    for steps in [&[0][..], &[1], &[2, 3], &[0, 1, 2, 3]] {
        let mut seen = sound.clone();
        for &at in steps {
            seen[at].1.potential_mv = None;
            seen[at].1.flags = seen[at].1.flags.with(Flags::NOT_SETTLED);
        }
        let rows = rows(&LOADS, &seen);
        let unsettled = rows.iter().filter(|row| row.verdict == Verdict::Unsettled).count();
        assert_eq!(unsettled, steps.len());
        let causes = explain(&LOADS, &seen, &rows, Clock::Keeps);
        assert_eq!(causes[..], [], "{steps:?}");
        let whole = outcome(&rows, &causes, Clock::Keeps, true);
        assert_eq!(whole, rillmark_proto::record::verification::Verdict::CannotTell);
    }
    // What left the range is an open input, however it went there.
    let mut open = seen([None; 4], CELL, THERMOMETER);
    for (_, seen) in &mut open {
        seen.flags = seen.flags.with(Flags::NOT_SETTLED).with(Flags::POTENTIAL_OVER_RANGE);
    }
    assert_eq!(said(&open), [Cause::InputOpen]);
}

/// R17 at mid is 1 kΩ beside the 10 kΩ that read right alone.
#[test]
fn what_leads_from_the_reference_to_mid_is_named() {
    let with = |ohm: f64, flags: Flags| {
        let mut seen = seen(MV, CELL, THERMOMETER);
        let (_, joined) = seen.last_mut().expect("the last step");
        joined.conductance_s = if ohm > 0.0 { exact(1.0 / ohm) } else { None };
        joined.flags = flags;
        seen
    };
    let path = said(&with(1e4 / 11.0, Flags::NONE));
    assert!(
        matches!(path[..], [Cause::ReferencePath { ohm: Some(ohm) }] if (ohm - 1e3).abs() < 1e-6),
        "{path:?}"
    );
    let short = said(&with(SHORT, Flags::CELL_OVER_RANGE));
    assert_eq!(short, [Cause::ReferencePath { ohm: None }]);
    // More than before is another load, and no path: the row fails, and nothing is named.
    let more = with(11e3, Flags::NONE);
    assert_eq!(said(&more), []);
    let rows = rows(&LOADS, &more);
    assert!(rows.iter().any(|row| row.step == Step::Joined && row.verdict == Verdict::Off));
    // What another load of this check reads is that one first, and a path where it is less.
    for (ohm, count) in [(100.0, 2), (1e3, 2), (100e3, 1)] {
        let left = said(&with(1.005 * ohm, Flags::NONE));
        assert_eq!(left.len(), count, "{left:?}");
        assert_eq!(left[0], Cause::LoadLeft { ohm });
        assert!(left[1..].iter().all(|cause| matches!(cause, Cause::ReferencePath { .. })));
    }
    // Where the resistor alone is wrong too, the mistake is that one's.
    let mut both = seen(MV, [OPEN, 100e3, 10.5e3, 1e3, 100.0], THERMOMETER);
    both.last_mut().expect("the last step").1.conductance_s = exact(1e-3);
    let both = said(&both);
    assert!(!both.iter().any(|cause| matches!(cause, Cause::ReferencePath { .. })), "{both:?}");
    // Left out, it says nothing.
    let mut without = with(1e3, Flags::NONE);
    without.pop();
    assert_eq!(said(&without), []);
}
