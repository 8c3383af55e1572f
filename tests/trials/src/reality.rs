//! Whether stated uncertainties hold against truths that the statements did not make.
//!
//! Each trial is one simulated probe, worn, filled and used as probes are; its truth comes from
//! `nature`, which knows nothing of the budgets. The guided routine calibrates it, and its readings
//! are evaluated and stated as any probe's are. Each row has one effect at one size.

mod nature;
mod operator;
mod row;
mod rows;
mod specimen;
mod statement;

use std::thread;

pub use nature::Chance;
pub use operator::Stopped;
pub use row::{
    Asked, Finding, LEAST_TOLD, MOST_CHANCE, MOST_FLAGGED, MOST_RATIO, Outcome, Row, Stated, Trial,
};
pub use rows::all;

/// What became of the lives of a trial.
#[derive(Clone, Debug, Default)]
pub struct Seen {
    /// What was found.
    pub found: Vec<Finding>,
    /// Lives that ended at a calibration, by what the routine said.
    pub stopped: Vec<Stopped>,
    /// Lives in all.
    pub lives: usize,
}

impl Seen {
    /// What a row came to for one quantity; `None` when it has none.
    pub fn outcome(&self, row: usize, stated: Stated) -> Option<Outcome> {
        let those = |one: &&Finding| one.row == row && one.stated == stated;
        let found: Vec<Finding> = self.found.iter().filter(those).copied().collect();
        Outcome::of(&found, self.lives, self.stopped.len())
    }

    /// Part of the lives that ended at a calibration.
    pub fn stopped_part(&self) -> f64 {
        self.stopped.len() as f64 / self.lives.max(1) as f64
    }
}

/// Lives number `first` and so many more of trial number `topic`, on every processor.
pub fn see(topic: u64, trial: &Trial, first: u64, lives: u64) -> Seen {
    let workers = thread::available_parallelism().map_or(1, |count| count.get() as u64);
    let each = |worker: u64| {
        move || -> Vec<(u64, Result<Vec<Finding>, Stopped>)> {
            (first..first + lives)
                .filter(|number| number % workers == worker)
                .map(|number| (number, (trial.life)(&mut Chance::new(topic, number))))
                .collect()
        }
    };
    let mut all: Vec<_> = thread::scope(|scope| {
        let handles: Vec<_> = (0..workers).map(|worker| scope.spawn(each(worker))).collect();
        handles.into_iter().flat_map(|handle| handle.join().expect("no life panics")).collect()
    });
    all.sort_by_key(|(number, _)| *number);
    let mut seen = Seen { lives: all.len(), ..Seen::default() };
    for (_, life) in all {
        match life {
            Ok(found) => seen.found.extend(found),
            Err(stopped) => seen.stopped.push(stopped),
        }
    }
    seen
}
