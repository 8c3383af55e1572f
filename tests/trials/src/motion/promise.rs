//! What is promised of *steady*, *moving* and *changing*.

use rillmark_metrology::motion::State;

use super::Tally;
use super::electrode::{Scene, Water};

/// Least part of the steady readings whose U covers the truth.
pub const STEADY_COVERED: f64 = 0.95;
/// The same of moving and of changing ones.
pub const MOVING_COVERED: f64 = 0.90;
/// Least part of the readings that are called steady in a lake, where the sensor already is.
pub const LAKE_STEADY: f64 = 0.95;
/// The same in still water, once the lag hides less than a third of u.
pub const STILL_STEADY: f64 = 0.90;
/// Least part of the cups of which *changing* is said in time.
pub const TOLD: f64 = 0.90;
/// Largest part of still waters and lakes of which it is said.
pub const TOLD_WRONGLY: f64 = 0.05;
/// U is no wider than so many times what the truth would need, in the median of the moving readings of
/// still water.
pub const WIDE: f64 = 2.0;

/// What a tally breaks of the promises that hold for any signal: whether U covers.
pub fn uncovered(tally: &Tally) -> Vec<String> {
    let states = [
        (State::Steady, STEADY_COVERED),
        (State::Moving, MOVING_COVERED),
        (State::Changing, MOVING_COVERED),
    ];
    let short = states.into_iter().filter_map(|(state, least)| {
        let covered = tally.of(state).covered()?;
        (covered < least).then(|| format!("{state:?}: {:.2} % covered", 100.0 * covered))
    });
    short.collect()
}

/// What a tally breaks of the promises for its scene.
pub fn broken(scene: &Scene, tally: &Tally) -> Vec<String> {
    let mut broken = uncovered(tally);
    let mut hold = |holds: bool, what: &str, part: f64| {
        if !holds {
            broken.push(format!("{what}: {:.2} %", 100.0 * part));
        }
    };
    let (steady, told) = (tally.part(State::Steady), tally.told());
    match scene.water {
        Water::Climbs(_) => {
            let told = tally.told_in_time();
            hold(told >= TOLD, "told to be changing in time", told);
        }
        Water::Drifts(_) | Water::Day(_) => {
            hold(steady >= LAKE_STEADY, "steady", steady);
            hold(told <= TOLD_WRONGLY, "told to be changing", told);
        }
        Water::Still => {
            let (small, wide) = (tally.small_steady(), tally.of(State::Moving).wide());
            let (small, wide) = (small.unwrap_or(0.0), wide.unwrap_or(f64::INFINITY));
            hold(small >= STILL_STEADY, "steady where little is hidden", small);
            hold(told <= TOLD_WRONGLY, "told to be changing", told);
            hold(wide <= WIDE, "width of what is needed", wide);
        }
    }
    broken
}
