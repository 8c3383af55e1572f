//! The one table of a campaign.

use crate::kinds::{Kind, Least};
use crate::outcome::{Outcome, Wrong};

/// After so many cases with a finding nothing more is learnt.
const HOPELESS: u64 = 200;

/// What came of all cases of a kind.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    what: &'static str,
    /// How many have to be tried at least, and how many there are.
    least: u64,
    all: u64,
    tried: u64,
    lost: u64,
    /// In the order of [`Wrong::ALL`].
    wrong: [u64; Wrong::ALL.len()],
    /// Cases with a finding.
    pub(crate) failing: u64,
    /// Cases that run, for the choice of the next one.
    pub(crate) under_way: u64,
    /// How many a case tries, as far as known.
    a_case: f64,
    cases: u64,
}

impl Row {
    pub(crate) fn of(kind: &Kind, minutes: f64) -> Self {
        let (least, all) = match kind.least {
            Least::So(least) => (least, u64::MAX),
            Least::All(count) => (count(), count()),
        };
        let least = (least as f64 * (minutes / 60.0).min(1.0)).ceil().max(1.0) as u64;
        Self {
            what: kind.what,
            least,
            all,
            tried: 0,
            lost: 0,
            wrong: [0; Wrong::ALL.len()],
            failing: 0,
            under_way: 0,
            a_case: 1.0,
            cases: 0,
        }
    }

    pub(crate) fn add(&mut self, outcome: &Outcome) {
        self.under_way -= 1;
        self.cases += 1;
        self.tried += outcome.tried;
        self.lost += outcome.lost;
        self.a_case = self.tried as f64 / self.cases as f64;
        self.failing += u64::from(!outcome.findings.is_empty());
        for (count, wrong) in self.wrong.iter_mut().zip(Wrong::ALL) {
            *count += outcome.findings.iter().filter(|it| it.wrong == wrong).count() as u64;
        }
    }

    fn tried_soon(&self) -> f64 {
        self.tried as f64 + self.under_way as f64 * self.a_case
    }

    /// How much of its least is tried or under way.
    pub(crate) fn part(&self) -> f64 {
        self.tried_soon() / self.least as f64
    }

    pub(crate) const fn is_enough(&self) -> bool {
        self.tried >= self.least
    }

    /// Nothing is left to try.
    pub(crate) fn is_all(&self) -> bool {
        self.tried_soon() >= self.all as f64 || self.failing >= HOPELESS
    }

    pub(crate) fn is_good(&self) -> bool {
        self.is_enough() && self.wrong.iter().all(|count| *count == 0)
    }

    pub(crate) fn why(&self) -> String {
        match self.is_enough() {
            false => format!("{}: {} tried, at least {}", self.what, self.tried, self.least),
            true => format!("{}: {} cases", self.what, self.failing),
        }
    }

    pub(crate) fn brief(&self) -> String {
        format!("{} {}", self.tried, self.what)
    }
}

/// Rows under a line that says when, how long, from which number and of what.
pub(crate) fn table(head: &str, rows: &[Row]) -> String {
    let mut text = format!("{head}\n\n{:<34}{:>12}{:>13}", "what", "tried", "lost (said)");
    for wrong in Wrong::ALL {
        text.push_str(&format!("{:>11}", wrong.name()));
    }
    for row in rows {
        text.push_str(&format!("\n{:<34}{:>12}{:>13}", row.what, row.tried, row.lost));
        for count in row.wrong {
            text.push_str(&format!("{count:>11}"));
        }
    }
    text.push('\n');
    text
}
