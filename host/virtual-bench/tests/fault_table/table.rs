//! The confusion table.

use std::collections::BTreeMap;

use rillmark_bench::Ailments;
use rillmark_proto::diagnose::set::Member;
use rillmark_proto::diagnose::{Answer, Cause, Diagnosis, Grade, Set, diagnose};

use super::score::{Score, score};
use super::visit::{Extent, ailment, visit};

/// What is wrong in one case: nothing, one cause, or two.
pub type Truth = Vec<(Cause, f64)>;

/// One visit.
pub fn examine(seed: u64, truth: &[(Cause, f64)], extent: Extent) -> (Diagnosis, Score) {
    let ailments = truth
        .iter()
        .fold(Ailments::default(), |all, (cause, severity)| all.with(ailment(*cause), *severity));
    let evidence = visit(seed, ailments, extent);
    let diagnosis = diagnose(&evidence);
    let score = score(truth, evidence.kinds(), &diagnosis);
    (diagnosis, score)
}

/// Counts of scores.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    pub right: u32,
    pub permitted: u32,
    pub unsure: u32,
    pub wrong: u32,
}

impl Tally {
    pub fn add(&mut self, score: Score) {
        match score {
            Score::Right => self.right += 1,
            Score::Permitted => self.permitted += 1,
            Score::Unsure => self.unsure += 1,
            Score::Wrong => self.wrong += 1,
        }
    }

    pub fn plus(self, other: Self) -> Self {
        Self {
            right: self.right + other.right,
            permitted: self.permitted + other.permitted,
            unsure: self.unsure + other.unsure,
            wrong: self.wrong + other.wrong,
        }
    }

    pub const fn count(&self) -> u32 {
        self.right + self.permitted + self.unsure + self.wrong
    }

    pub fn percent(&self, of: u32) -> f64 {
        100.0 * f64::from(of) / f64::from(self.count().max(1))
    }
}

/// The name of an answer in the table.
pub fn answer_name(answer: &Answer) -> String {
    let names = |set: Set<Cause>| set.iter().map(Cause::code).collect::<Vec<_>>().join(" + ");
    match answer {
        Answer::NoFault => "no fault".into(),
        Answer::NotEnough => "not enough evidence".into(),
        Answer::Likely(set) => names(*set),
        Answer::Unsure { any_of, .. } if any_of.is_empty() => "unsure: nothing explains it".into(),
        Answer::Unsure { .. } => "unsure".into(),
    }
}

pub fn truth_name(truth: &[(Cause, f64)]) -> String {
    match truth {
        [] => "healthy".into(),
        causes => causes.iter().map(|(cause, _)| cause.code()).collect::<Vec<_>>().join(" + "),
    }
}

/// What is kept of a run.
#[derive(Debug, Default)]
pub struct Run {
    /// By truth: answers with their counts.
    pub answers: BTreeMap<String, BTreeMap<String, u32>>,
    /// By truth: scores.
    pub scores: BTreeMap<String, Tally>,
    /// Healthy probes.
    pub healthy: Tally,
    /// One fault, all severities.
    pub single: Tally,
    /// One fault of severity 0.5 and more.
    pub single_medium: Tally,
    /// Two faults.
    pub pairs: Tally,
    /// Two faults, both of severity 0.5 and more.
    pub pairs_medium: Tally,
    /// Wrong ones, for whoever wants to look: seed, truth, answer.
    pub wrong: Vec<(u64, Truth, String)>,
}

impl Run {
    pub fn take(&mut self, seed: u64, truth: &Truth, extent: Extent) {
        let (diagnosis, score) = examine(seed, truth, extent);
        let (name, answer) = (truth_name(truth), answer_name(&diagnosis.answer));
        *self.answers.entry(name.clone()).or_default().entry(answer.clone()).or_default() += 1;
        self.scores.entry(name).or_default().add(score);
        let medium = truth.iter().all(|(_, severity)| *severity >= 0.499);
        match truth.len() {
            0 => self.healthy.add(score),
            1 => {
                self.single.add(score);
                if medium {
                    self.single_medium.add(score);
                }
            }
            _ => {
                self.pairs.add(score);
                if medium {
                    self.pairs_medium.add(score);
                }
            }
        }
        if score == Score::Wrong {
            let seen = diagnosis.observed.iter().filter(|seen| seen.grade != Grade::Absent);
            let signs: Vec<_> = seen
                .map(|seen| format!("{} {} {:.2}", seen.grade.name(), seen.sign.code(), seen.value))
                .collect();
            self.wrong.push((seed, truth.clone(), format!("{answer} [{}]", signs.join(", "))));
        }
    }

    pub fn merge(&mut self, other: Self) {
        for (truth, answers) in other.answers {
            let mine = self.answers.entry(truth).or_default();
            for (answer, count) in answers {
                *mine.entry(answer).or_default() += count;
            }
        }
        for (truth, tally) in other.scores {
            let mine = self.scores.entry(truth).or_default();
            *mine = mine.plus(tally);
        }
        self.healthy = self.healthy.plus(other.healthy);
        self.single = self.single.plus(other.single);
        self.single_medium = self.single_medium.plus(other.single_medium);
        self.pairs = self.pairs.plus(other.pairs);
        self.pairs_medium = self.pairs_medium.plus(other.pairs_medium);
        self.wrong.extend(other.wrong);
    }

    /// Answers outside the permitted set among the sick probes, in percent.
    pub fn wrong_percent(&self) -> f64 {
        let sick = self.single.plus(self.pairs);
        sick.percent(sick.wrong)
    }

    /// Healthy probes that were not found healthy, in percent.
    pub fn alarmed_percent(&self) -> f64 {
        self.healthy.percent(self.healthy.count() - self.healthy.right)
    }

    /// Unsure at medium severity and above, in percent.
    pub fn unsure_percent(&self) -> f64 {
        let medium = self.single_medium.plus(self.pairs_medium);
        medium.percent(medium.unsure)
    }
}

/// Every case once for a seed: healthy, each fault at ten severities, and pairs.
pub fn singles() -> impl Iterator<Item = Truth> {
    let severities = (1..=10).map(|tenth| f64::from(tenth) / 10.0);
    severities.flat_map(|severity| Cause::ALL.iter().map(move |cause| vec![(*cause, severity)]))
}

pub fn pairs() -> impl Iterator<Item = (Cause, Cause)> {
    Cause::ALL
        .iter()
        .enumerate()
        .flat_map(|(index, one)| Cause::ALL[index + 1..].iter().map(move |other| (*one, *other)))
}
