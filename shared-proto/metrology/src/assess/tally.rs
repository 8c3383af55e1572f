//! What was said of many readings, in all.

use alloc::vec::Vec;

use super::remark::Remark;
use super::{Assessment, States};
use crate::motion::State;

/// How many readings of one quantity were in each state.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    /// Stood still.
    pub steady: u64,
    /// Moved.
    pub moving: u64,
    /// Went on one way as water does.
    pub changing: u64,
    /// Nobody can tell.
    pub not_known: u64,
}

impl Count {
    fn add(&mut self, state: Option<State>) {
        *match state {
            None => return,
            Some(State::Steady) => &mut self.steady,
            Some(State::Moving) => &mut self.moving,
            Some(State::Changing) => &mut self.changing,
            Some(State::NotKnown) => &mut self.not_known,
        } += 1;
    }

    /// Readings that had a value.
    #[must_use]
    pub const fn all(&self) -> u64 {
        self.steady + self.moving + self.changing + self.not_known
    }
}

/// Counts states and remarks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tally {
    /// Of the pH.
    pub ph: Count,
    /// Of the temperature.
    pub temperature: Count,
    /// Of the conductivity.
    pub conductivity: Count,
    /// The worst remark of each kind, and on how many readings it was made; in the order in which they
    /// first came.
    pub remarks: Vec<(Remark, u64)>,
}

impl Tally {
    /// Counts a reading, and gives those of its remarks whose kind is new.
    pub fn add(&mut self, assessment: &Assessment) -> Vec<Remark> {
        let States { ph, temperature, conductivity } = assessment.states;
        self.ph.add(ph);
        self.temperature.add(temperature);
        self.conductivity.add(conductivity);
        let mut new = Vec::new();
        for remark in &assessment.remarks {
            match self.remarks.iter_mut().find(|(other, _)| other.is_like(remark)) {
                Some((worst, count)) => {
                    *count += 1;
                    if remark.size() > worst.size() {
                        *worst = *remark;
                    }
                }
                None => {
                    self.remarks.push((*remark, 1));
                    new.push(*remark);
                }
            }
        }
        new
    }
}
