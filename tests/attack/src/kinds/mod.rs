//! The kinds of attack, one a file.

mod afterwards;
mod cables;
mod clocks;
mod disks;
mod flash_in_use;
mod hostile;
mod inputs;
mod kill_calibrating;
mod kill_logging;
mod session;
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
    pub(crate) least: Least,
    /// Faults that can be planted in it, one for each judgement.
    pub(crate) plants: &'static [&'static str],
    /// One case of it.
    pub(crate) attack: fn(&mut Case<'_>) -> Outcome,
}

/// How many an hour has to try at least.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Least {
    So(u64),
    /// All that there are. The seed of a case is its number.
    All(fn() -> u64),
}

/// All of them.
pub(crate) const ALL: &[Kind] = &[
    kind("kill-logging", "kills while logging", Least::So(1_000), kill_logging::attack).plants(&[
        "invented",
        "lost",
        "lost-behind",
    ]),
    kind("kill-calibrating", "kills while calibrating", Least::So(300), kill_calibrating::attack)
        .plants(&["other-in-force", "said-unchanged"]),
    kind("cables", "bad cables", Least::So(300), cables::attack).plants(&["invented", "lost"]),
    kind("clocks", "clock steps", Least::So(100), clocks::attack).plants(&[
        "off",
        "unsaid-forward",
        "unsaid-back",
        "made-up",
    ]),
    kind("disks", "full disks", Least::So(300), disks::attack).plants(&[
        "there",
        "lost",
        "clean-end",
    ]),
    kind("flash-in-use", "damage to a probe in use", Least::So(300), flash_in_use::attack)
        .plants(&["older", "refused"]),
    kind("hostile", "probes that lie", Least::So(300), hostile::attack)
        .plants(&["terminal", "endless"]),
    kind("store-bits", "bits of a store", Least::All(store::count), store::bits).plants(&["older"]),
    kind("store-pairs", "pairs of bits of a store", Least::So(20_000), store::pairs)
        .plants(&["older"]),
    kind("store-runs", "runs of 00 or ff in a store", Least::So(20_000), store::runs)
        .plants(&["older"]),
    kind("session-bits", "bits of a session", Least::All(session::count), session::bits)
        .plants(&["lost", "lost-two", "invented"]),
    kind("session-damage", "other damage to a session", Least::So(20_000), session::damage)
        .plants(&["lost", "invented"]),
    kind("inputs", "inputs, altered", Least::So(100_000_000), inputs::attack).plants(&["panic"]),
];

const fn kind(
    name: &'static str,
    what: &'static str,
    least: Least,
    attack: fn(&mut Case<'_>) -> Outcome,
) -> Kind {
    Kind { name, what, least, attack, plants: &[] }
}

impl Kind {
    const fn plants(self, plants: &'static [&'static str]) -> Self {
        Self { plants, ..self }
    }
}

/// Some `a_case` of all, evenly apart, so that any part of the cases lies all over them.
fn every<T>(
    all: impl Iterator<Item = T>,
    count: u64,
    a_case: usize,
    number: u64,
) -> impl Iterator<Item = T> {
    let apart = (count as usize).div_ceil(a_case).max(1);
    all.skip(number as usize % apart).step_by(apart)
}

/// What so many damages come to.
fn some_of(count: usize, mut one: impl FnMut(&mut Outcome)) -> Outcome {
    let mut outcome = Outcome::default();
    (0..count).for_each(|_| one(&mut outcome));
    outcome
}
