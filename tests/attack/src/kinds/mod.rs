//! The kinds of attack, one a file.

mod cables;
mod clocks;
mod disks;
mod flash_in_use;
mod hostile;
mod inputs;
mod kill_calibrating;
mod kill_logging;
mod session_bits;
mod store;

use crate::case::Case;
use crate::outcome::Outcome;

/// A kind of attack.
#[derive(Debug)]
pub(crate) struct Kind {
    /// As `--repeat` takes it.
    pub(crate) name: &'static str,
    /// What is counted.
    pub(crate) what: &'static str,
    /// How many an hour has to try at least.
    pub(crate) least_an_hour: u64,
    /// The hour's least is all there is; the seed of a case is its number.
    pub(crate) is_counted_through: bool,
    /// One case of it.
    pub(crate) attack: fn(&mut Case<'_>) -> Outcome,
}

/// All of them.
pub(crate) const ALL: &[Kind] = &[
    kind("kill-logging", "kills while logging", 1_000, kill_logging::attack),
    kind("kill-calibrating", "kills while calibrating", 300, kill_calibrating::attack),
    kind("cables", "bad cables", 300, cables::attack),
    kind("clocks", "clock steps", 100, clocks::attack),
    kind("disks", "full disks", 300, disks::attack),
    kind("flash-in-use", "damage to a probe in use", 300, flash_in_use::attack),
    kind("hostile", "probes that lie", 300, hostile::attack),
    Kind {
        is_counted_through: true,
        ..kind("store-bits", "bits of a store", store::BITS, store::bits)
    },
    kind("store-pairs", "pairs of bits of a store", 20_000, store::pairs),
    kind("store-runs", "runs of 00 or ff in a store", 20_000, store::runs),
    Kind {
        is_counted_through: true,
        ..kind("session-bits", "bits of a session", session_bits::BITS, session_bits::attack)
    },
    kind("inputs", "inputs, altered", 100_000_000, inputs::attack),
];

const fn kind(
    name: &'static str,
    what: &'static str,
    least_an_hour: u64,
    attack: fn(&mut Case<'_>) -> Outcome,
) -> Kind {
    Kind { name, what, least_an_hour, is_counted_through: false, attack }
}
