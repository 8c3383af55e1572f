//! Cold glass: what a fixed wait leaves of a power-up and of a drive, and what the firmware reads, which goes
//! on until its averages stand still.

use rillmark_firmware::adc::Sum;
use rillmark_firmware::constants::{
    AVERAGE_US, FREQUENCY_100K_HZ, STILL_AVERAGES, STILL_LONGEST_US, WAIT_PH_US, WAIT_POWER_US,
};
use rillmark_firmware::front_end::settling::{Settling, Step};
use rillmark_metrology::front_end;
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::reading::Range;

use crate::interaction::Beaker;
use crate::ngspice::SpiceError;
use crate::ph::{self, Input};
use crate::two_at_a_time;

/// Membranes at 25 °C in Ω.
const MEMBRANES_OHM: [f64; 3] = [50e6, 200e6, 500e6];
/// Waters in °C.
const CELSIUS: [f64; 3] = [25.0, 5.0, 0.0];
const AVERAGE_S: f64 = AVERAGE_US as f64 * 1e-6;

/// What is read of an input that was moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Read {
    /// Half a second after the wait at once, in mV beside what it should be.
    pub at_once_mv: f64,
    /// What the firmware hands out, in mV beside what it should be.
    pub mv: f64,
    /// How long it went on beyond the wait and its first half second, in s.
    pub longer_s: f64,
    /// False where it is flagged.
    pub has_settled: bool,
}

impl Read {
    /// Reads what an average of 0.1 s that begins so many s after the wait for this step has in mV.
    fn of(step: Step, wait_us: u64, average_mv: impl Fn(f64) -> f64) -> Self {
        let count = Sum::conversions(1);
        let averages = STILL_AVERAGES;
        let mean = |last: usize| {
            let first = last + 1 - averages;
            (first..=last).map(|n| average_mv(n as f64 * AVERAGE_S)).sum::<f64>() / averages as f64
        };
        let most = (STILL_LONGEST_US / AVERAGE_US) as usize;
        let mut settling = Settling::default();
        settling.disturb(0, step);
        let mut n = 0;
        let now_us = |averages: usize| wait_us + averages as u64 * AVERAGE_US;
        while n < most && settling.is_open(now_us(n)) {
            let codes = average_mv(n as f64 * AVERAGE_S) / ph::CODE_MV * f64::from(count);
            n += 1;
            let average = Sum { codes: codes.round() as i64, count, clipped: false };
            settling.push(average);
        }
        Self {
            at_once_mv: mean(averages - 1),
            mv: mean(n - 1),
            longer_s: (n - averages) as f64 * AVERAGE_S,
            has_settled: !settling.is_open(now_us(n)),
        }
    }
}

/// A glass in its water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glass {
    /// Its resistance at 25 °C in Ω.
    pub at_25_ohm: f64,
    /// The water in °C.
    pub celsius: f64,
    /// Its resistance there.
    pub membrane_ohm: f64,
    /// The first reading after power on.
    pub powered: Read,
    /// The first after a first drive of the cell, blocking capacitors empty.
    pub driven: Read,
}

/// Simulates every glass in every water.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Glass>, SpiceError> {
    let glasses = CELSIUS.map(|celsius| MEMBRANES_OHM.map(|ohm| (ohm, celsius)));
    two_at_a_time::map(glasses.as_flattened(), |(ohm, celsius)| glass(*ohm, *celsius))
}

fn glass(at_25_ohm: f64, celsius: f64) -> Result<Glass, SpiceError> {
    let membrane_ohm = at_25_ohm * surroundings::membrane_times(celsius);
    // What is left goes on falling: thirteen time constants, 2 µV of a power-up.
    let still_s = (13.0 * front_end::input_s(membrane_ohm)).min(STILL_LONGEST_US as f64 * 1e-6);
    let watched_s = still_s + STILL_AVERAGES as f64 * AVERAGE_S;
    let wait_s = WAIT_POWER_US as f64 * 1e-6;
    let ideal = Input { end_s: wait_s + watched_s, ..Input::ideal(membrane_ohm) };
    // The follower's finite gain.
    let zero_v = Input { end_s: 1.0, ..ideal }.settled_mv()? * 1e-3;
    let waves = Input { powers_up: true, ..ideal }.run()?;
    let powered = Read::of(Step::Power, WAIT_POWER_US, |s| {
        let from = wait_s + s;
        1e3 * (waves.mean(0, from, from + AVERAGE_S) - zero_v)
    });
    // The slowest drive, which takes the fewest steps of a simulation, with the water of the others.
    let beaker = Beaker {
        membrane_ohm,
        watched_s,
        ..Beaker::usual(Range::Ohm100k, FREQUENCY_100K_HZ, 707.0)
    };
    let driven = beaker.run()?;
    let wait_s = WAIT_PH_US as f64 * 1e-6;
    // Before the drive so slow an input had not come to rest from the leakage; in the end it has.
    let rest_mv = driven.left_mv(wait_s + watched_s - AVERAGE_S, AVERAGE_S);
    let driven =
        Read::of(Step::Cell, WAIT_PH_US, |s| driven.left_mv(wait_s + s, AVERAGE_S) - rest_mv);
    Ok(Glass { at_25_ohm, celsius, membrane_ohm, powered, driven })
}
