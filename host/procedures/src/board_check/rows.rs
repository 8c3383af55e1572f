//! What was seen against what is connected and what the error budget allows.

use heapless::Vec;

use super::loads::JOINED;
use super::{Loads, Seen, Step};
use rillmark_metrology::front_end::potential;
use rillmark_metrology::front_end::potential::Source;
use rillmark_metrology::front_end::{conductance, rectangular, temperature};
use rillmark_proto::circuit::chips;
use rillmark_proto::reading::Flags;

/// The most rows of a check: three for each of nine steps.
pub const MAX_ROWS: usize = 27;
/// So many standard uncertainties are allowed. Nearly all of them come from rectangular limits, which
/// end at 1.73 of one alone; how often a sound board is outside is counted over many draws in the tests.
pub(super) const COVERAGE: f64 = 3.0;
/// Greatest standard deviation of a potential in mV: a hundred times the converter's noise, and what
/// hum leaves of itself (judgement).
const RESTLESS_MV: f64 = 0.3;
/// Greatest standard deviation of a conductance or resistance as a fraction of it (judgement).
const RESTLESS_FRACTION: f64 = 3e-3;
/// A Pt1000 changes by this fraction for each kelvin; in Ω the budget does not depend on it.
const PLATINUM_PER_K: f64 = 0.0038;

/// What a row is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// The pH input, in mV.
    Potential,
    /// The resistance between the cell's terminals, in Ω.
    Cell,
    /// What the open terminals of the cell conduct, in S.
    OpenCell,
    /// The resistance in place of the thermometer, in Ω.
    Thermometer,
}

/// What a row says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Within the limit.
    Pass,
    /// Outside of it.
    Off,
    /// Within it on the mean, but it will not keep still.
    Restless,
    /// There is nothing to hold against it.
    Missing,
    /// It had not come to rest, so that nothing is to be held against it.
    Unsettled,
}

/// One row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Of which step.
    pub step: Step,
    /// Of what.
    pub quantity: Quantity,
    /// What is connected.
    pub expected: f64,
    /// What was found.
    pub found: Option<f64>,
    /// How far it may be off.
    pub limit: f64,
    /// What it says.
    pub verdict: Verdict,
}

impl Row {
    fn new(step: Step, quantity: Quantity, expected: f64, limit: f64, found: Found) -> Self {
        let verdict = match found {
            None => Verdict::Missing,
            Some((value, scatter, restless)) => match libm::fabs(value - expected) <= limit {
                // What is not a number is off.
                false => Verdict::Off,
                true if scatter > restless => Verdict::Restless,
                true => Verdict::Pass,
            },
        };
        Self { step, quantity, expected, found: found.map(|(value, _, _)| value), limit, verdict }
    }
}

/// A mean, its scatter, and the scatter that is allowed.
type Found = Option<(f64, f64, f64)>;

/// Holds what was seen in the steps, in the order of [`Loads::steps`], against the loads.
pub fn rows(loads: &Loads, seen: &[(Step, Seen)]) -> Vec<Row, MAX_ROWS> {
    let rows = seen.iter().flat_map(|(step, seen)| {
        [potential(*step, loads, seen), cell(*step, loads, seen), thermometer(*step, loads, seen)]
    });
    // Nine steps of three rows each at the most.
    rows.flatten().take(MAX_ROWS).collect()
}

/// The potential; with a cell's resistor connected it says nothing new.
fn potential(step: Step, loads: &Loads, seen: &Seen) -> Option<Row> {
    if matches!(step, Step::Cell(_) | Step::Joined) {
        return None;
    }
    let (mv, membrane_ohm) = step.electrode(loads);
    let front = potential::budget(&Source { membrane_ohm, ..Source::bench(mv) }).built();
    let own = if mv == 0.0 { 0.0 } else { loads.source.uncertainty() };
    let limit = COVERAGE * libm::hypot(front, own);
    let found = seen.potential_mv.map(|mean| (mean.value, mean.scatter, RESTLESS_MV));
    let mut row = Row::new(step, Quantity::Potential, mv, limit, found);
    if seen.is_unsettled() {
        row.verdict = Verdict::Unsettled;
    }
    Some(row)
}

fn cell(step: Step, loads: &Loads, seen: &Seen) -> Option<Row> {
    let index = match step {
        Step::Cell(index) => index,
        Step::Joined => JOINED,
        // Once is enough.
        _ => return matches!(step, Step::Bare).then(|| open_cell(step, seen)),
    };
    let load = loads.cell[index];
    let front = conductance::resistor(load.value) * load.value;
    let limit = COVERAGE * libm::hypot(front, load.uncertainty());
    let found = seen
        .conductance_s
        .filter(|mean| mean.value > 0.0 && !seen.flags.has(Flags::CELL_OPEN))
        .map(|mean| {
            let ohm = 1.0 / mean.value;
            (ohm, mean.scatter * ohm * ohm, RESTLESS_FRACTION * ohm)
        });
    Some(Row::new(step, Quantity::Cell, load.value, limit, found))
}

/// What is open must conduct next to nothing: the switches' leakage, and what a code and the settling
/// of the widest range make of it, a thousandth of 200 kΩ.
fn open_cell(step: Step, seen: &Seen) -> Row {
    let leak_s = chips::SWITCH_LEAKAGE_A / chips::SUPPLY_V;
    let resolution_s = 1e-3 / 200e3;
    let limit = COVERAGE * libm::hypot(rectangular(leak_s), rectangular(resolution_s));
    let found = seen.conductance_s.map(|mean| (mean.value, mean.scatter, limit));
    Row::new(step, Quantity::OpenCell, 0.0, limit, found)
}

fn thermometer(step: Step, loads: &Loads, seen: &Seen) -> Option<Row> {
    let load = loads.thermometer;
    let per_k = load.value * PLATINUM_PER_K;
    let front = temperature::resistor(load.value, per_k) * per_k;
    let limit = COVERAGE * libm::hypot(front, load.uncertainty());
    let restless = RESTLESS_FRACTION * load.value;
    let found = seen.thermometer_ohm.map(|mean| (mean.value, mean.scatter, restless));
    let row = Row::new(step, Quantity::Thermometer, load.value, limit, found);
    // It stays connected throughout; where it passes, once is enough.
    (matches!(step, Step::Bare) || row.verdict != Verdict::Pass).then_some(row)
}
