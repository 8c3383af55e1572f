//! What somebody measured of a board while building it, against what its check found.

use heapless::Vec;

use super::rows::COVERAGE;
use super::{Loads, Seen, Step};
use rillmark_metrology::front_end::conductance;
use rillmark_metrology::front_end::conductance::range_for;
use rillmark_metrology::front_end::potential;
use rillmark_metrology::front_end::potential::Source;
use rillmark_metrology::front_end::surroundings;
use rillmark_metrology::front_end::{BoardLimits, Cause, Line, rectangular, temperature};
use rillmark_proto::circuit::chips;
use rillmark_proto::circuit::parts::{self, Part};

/// How far a compared resistor may be claimed to be from what it is called, in tolerances: what is farther is
/// another part, or was read wrong (judgement).
pub const RESISTOR_APART: f64 = 3.0;
/// How far from 0 the electrometer's offset may be claimed to be, in V: twice what the chip may have, as step 5
/// of building allows.
pub const OFFSET_APART_V: f64 = 2.0 * chips::ELECTROMETER_OFFSET_V;
/// How much input bias may be claimed, in A: what a chip at the limit of its data sheet has.
pub const BIAS_APART_A: f64 = chips::ELECTROMETER_BIAS_MAX_A;

/// The most comparisons: four loads of the cell, the thermometer's resistor, zero and bias.
pub(super) const MAX_COMPARISONS: usize = 7;

/// What was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measured {
    /// A compared resistor, in Ω, by a load.
    Resistor {
        /// Which.
        part: &'static Part,
        /// What the load is, in Ω.
        load_ohm: f64,
    },
    /// The electrometer's offset, in mV.
    Offset,
    /// Its input bias, in fA, whatever its sign.
    Bias,
}

/// What a check says of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Says {
    /// Both may be right, and a false line could have been told.
    Agrees,
    /// Both may be right, and no line that can be claimed would be told: the loads are not known well enough.
    CannotTell,
    /// Not both are right.
    Contradicts,
}

/// One of them against the check.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    /// What.
    pub what: Measured,
    /// What was measured.
    pub measured: f64,
    /// What the check says of it.
    pub found: f64,
    /// How far the two may be apart.
    pub limit: f64,
    /// How far from its usual value it can be claimed to be at all.
    pub claimable: f64,
}

impl Comparison {
    /// What the check says of it.
    pub fn says(&self) -> Says {
        // What is not a number is not within.
        let is_within = libm::fabs(self.found - self.measured) <= self.limit;
        match is_within {
            false => Says::Contradicts,
            true if self.limit < self.claimable => Says::Agrees,
            true => Says::CannotTell,
        }
    }

    fn new(what: Measured, [measured, found]: [f64; 2], u: f64, claimable: f64) -> Self {
        Self { what, measured, found, limit: COVERAGE * u, claimable }
    }
}

/// What of a board's measured lines a check can see: resistors, offset, bias. The others are nothing that
/// these loads show.
pub fn compare(
    loads: &Loads,
    seen: &[(Step, Seen)],
    board: &BoardLimits,
) -> Vec<Comparison, MAX_COMPARISONS> {
    let at = |step| seen.iter().find(|(of, _)| *of == step).map(|(_, seen)| seen);
    let cells = (0..loads.cell.len()).filter_map(|index| {
        let ohm = 1.0 / at(Step::Cell(index))?.conductance_s.filter(|mean| mean.value > 0.0)?.value;
        let load = loads.cell[index];
        let part = range_for(load.value);
        let own =
            conductance::checked(conductance::budget(part, load.value)).without(Cause::Resistor);
        resistor(board, part, load.value, load.uncertainty() / load.value, own, ohm)
    });
    let thermometer = || {
        let ohm = at(Step::Bare)?.thermometer_ohm?.value;
        let load = loads.thermometer;
        // In Ω, so that a kelvin is one.
        let bare = temperature::Thermometer { ohm: load.value, ohm_per_k: 1.0, leads_ohm: 0.0 };
        let own = temperature::budget(&bare).without(Cause::Resistor) / load.value;
        let part = &parts::THERMOMETER_REFERENCE;
        resistor(board, part, load.value, load.uncertainty() / load.value, own, ohm)
    };
    let zero_mv = || Some(at(Step::Bare)?.potential_mv?.value);
    let offset = || {
        let line = measured(board.electrometer_offset_v, BoardLimits::ANY.electrometer_offset_v)?;
        let own = potential::budget(&Source::bench(0.0)).without(Cause::ElectrometerOffset);
        let u = libm::hypot(own, rectangular(line.limit) * 1e3);
        let both = [line.deviation * 1e3, zero_mv()?];
        Some(Comparison::new(Measured::Offset, both, u, OFFSET_APART_V * 1e3))
    };
    let bias = || {
        let line = measured(board.bias_a, BoardLimits::ANY.bias_a)?;
        let membrane = loads.membrane?;
        let moved_mv = at(Step::Membrane)?.potential_mv?.value - zero_mv()?;
        let femto = |mv: f64| libm::fabs(mv) * 1e-3 / membrane.value * 1e15;
        // Two means at the same place of the converter's line, and what the guard leaves of its offset.
        let short = potential::budget(&Source::bench(0.0));
        let noise = [Cause::Noise, Cause::Mains].map(|cause| {
            short.of(cause).map_or(0.0, |each| each.built * core::f64::consts::SQRT_2)
        });
        let guard_mv = board.electrometer_offset_v.uncertainty() * 1e3 * membrane.value
            / surroundings::GUARD_INSULATION_OHM;
        let u_mv = noise.into_iter().fold(guard_mv, libm::hypot);
        let own =
            libm::hypot(femto(u_mv), femto(moved_mv) * membrane.uncertainty() / membrane.value);
        let u = libm::hypot(own, rectangular(line.limit) * 1e15);
        let both = [libm::fabs(line.deviation) * 1e15, femto(moved_mv)];
        Some(Comparison::new(Measured::Bias, both, u, BIAS_APART_A * 1e15))
    };
    cells.chain(thermometer()).chain(offset()).chain(bias()).take(MAX_COMPARISONS).collect()
}

/// A line that somebody measured; `None` where it is still that of any board.
fn measured(line: Line, any: Line) -> Option<Line> {
    (line != any).then_some(line)
}

/// A resistor by what a load looked like on it: the firmware takes it for its nominal value.
fn resistor(
    board: &BoardLimits,
    part: &'static Part,
    load_ohm: f64,
    load_u: f64,
    own_u: f64,
    looked_ohm: f64,
) -> Option<Comparison> {
    let line = measured(board.resistor(part), Line::within(part.tolerance))?;
    let found = part.value * load_ohm / looked_ohm;
    let u = [load_u, own_u, rectangular(line.limit)].into_iter().fold(0.0, libm::hypot);
    let both = [part.value * (1.0 + line.deviation), found];
    let claimable = RESISTOR_APART * part.tolerance * part.value;
    Some(Comparison::new(Measured::Resistor { part, load_ohm }, both, u * part.value, claimable))
}
