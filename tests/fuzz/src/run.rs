//! Runs a target over many inputs; every one comes again from its seed and number.

use std::cell::{Cell, RefCell};
use std::panic::{self, AssertUnwindSafe, catch_unwind};
use std::sync::Once;

use crate::alter::Alter;
use crate::random::Random;

/// A door through which something comes in from outside.
#[derive(Clone, Copy)]
pub struct Target {
    /// Its name.
    pub name: &'static str,
    /// Takes an input; true when it was something whole. Panics when a promise is broken, and only then.
    pub check: fn(&[u8]) -> bool,
    /// Valid inputs, which are altered.
    pub seeds: fn() -> Vec<Vec<u8>>,
    /// How they are altered.
    pub alter: Alter,
    /// Of [`WEIGHTS`] inputs of all targets so many are its own: more of those that cost little.
    pub weight: u64,
}

/// What came of many inputs.
#[derive(Clone, Debug, Default)]
pub struct Report {
    /// How many were tried.
    pub inputs: u64,
    /// How many of them were something whole.
    pub whole: u64,
    /// How many broke a promise.
    pub failed: u64,
    /// The first of these.
    pub failures: Vec<Failure>,
}

/// An input that broke a promise.
#[derive(Clone, Debug)]
pub struct Failure {
    /// Its number under the seed of the run.
    pub number: u64,
    /// The input.
    pub input: Vec<u8>,
    /// What the panic said, and where.
    pub said: String,
}

/// What the weights of all targets come to.
pub const WEIGHTS: u64 = 10_000;

/// The most failures that are kept of a run: one shows what is wrong, and thousands fill a disk.
const KEPT: usize = 20;

/// Checks `inputs` altered inputs.
#[must_use]
pub fn run(target: &Target, seed: u64, inputs: u64) -> Report {
    let seeds = (target.seeds)();
    let mut report = Report { inputs, ..Report::default() };
    for number in 0..inputs {
        let input = made(target, &seeds, seed, number);
        match check(target, &input) {
            Ok(is_whole) => report.whole += u64::from(is_whole),
            Err(said) => {
                report.failed += 1;
                if report.failures.len() < KEPT {
                    report.failures.push(Failure { number, input, said });
                }
            }
        }
    }
    report
}

/// The input of this seed and number.
#[must_use]
pub fn case(target: &Target, seed: u64, number: u64) -> Vec<u8> {
    made(target, &(target.seeds)(), seed, number)
}

fn made(target: &Target, seeds: &[Vec<u8>], seed: u64, number: u64) -> Vec<u8> {
    // The seed goes through the generator too, so that neighbours share no inputs.
    let mut random = Random::new(Random::new(seed).bits().wrapping_add(number));
    target.alter.altered(seeds, &mut random)
}

/// How many of `inputs` inputs of all targets are this one's.
#[must_use]
pub fn portion(target: &Target, inputs: u64) -> u64 {
    (inputs * target.weight).div_ceil(WEIGHTS)
}

thread_local! {
    static IS_CHECKING: Cell<bool> = const { Cell::new(false) };
    static SAID: RefCell<String> = const { RefCell::new(String::new()) };
}

/// Whether it was something whole; an error says which promise was broken.
///
/// # Errors
/// What the panic said, and where.
pub(crate) fn check(target: &Target, input: &[u8]) -> Result<bool, String> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let usual = panic::take_hook();
        panic::set_hook(Box::new(move |info| match IS_CHECKING.get() {
            true => SAID.set(info.to_string()),
            false => usual(info),
        }));
    });
    IS_CHECKING.set(true);
    let result = catch_unwind(AssertUnwindSafe(|| (target.check)(input)));
    IS_CHECKING.set(false);
    result.map_err(|_| SAID.take())
}
