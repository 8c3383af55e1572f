//! The confusion table.

use std::collections::BTreeMap;

use rillmark_bench::{Ailment, Ailments};
use rillmark_procedures::diagnose::set::Member;
use rillmark_procedures::diagnose::{Answer, Cause, Diagnosis, Grade, Set, diagnose};

use super::chance::Chance;
use super::score::{Score, cause, score};
use super::visit::{Extent, visit};

/// What is wrong in one case: nothing, one ailment, or two.
pub type Truth = Vec<(Ailment, f64)>;

/// One visit.
pub fn examine(seed: u64, truth: &[(Ailment, f64)], extent: Extent) -> (Diagnosis, Score) {
    let ailments = truth
        .iter()
        .fold(Ailments::default(), |all, (ailment, severity)| all.with(*ailment, *severity));
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
    pub slight: u32,
    pub unsure: u32,
    pub missed: u32,
    pub wrong: u32,
}

impl Tally {
    pub fn add(&mut self, score: Score) {
        match score {
            Score::Right => self.right += 1,
            Score::Permitted => self.permitted += 1,
            Score::Slight => self.slight += 1,
            Score::Unsure => self.unsure += 1,
            Score::Missed => self.missed += 1,
            Score::Wrong => self.wrong += 1,
        }
    }

    pub fn plus(self, other: Self) -> Self {
        Self {
            right: self.right + other.right,
            permitted: self.permitted + other.permitted,
            slight: self.slight + other.slight,
            unsure: self.unsure + other.unsure,
            missed: self.missed + other.missed,
            wrong: self.wrong + other.wrong,
        }
    }

    pub const fn count(&self) -> u32 {
        self.right + self.permitted + self.slight + self.unsure + self.missed + self.wrong
    }

    pub fn percent(&self, of: u32) -> f64 {
        100.0 * f64::from(of) / f64::from(self.count().max(1))
    }
}

/// The name of an answer in the table.
pub fn answer_name(diagnosis: &Diagnosis) -> String {
    let names = |set: Set<Cause>| set.iter().map(Cause::code).collect::<Vec<_>>().join(" + ");
    match &diagnosis.answer {
        Answer::NothingFound => {
            let (examined, all) = (diagnosis.examined().len(), Cause::ALL.len());
            format!("nothing in {examined} of {all}")
        }
        Answer::NotEnough => "not enough evidence".into(),
        Answer::Unclear { .. } => "unclear".into(),
        Answer::Likely(set) => names(*set),
        Answer::Unnamed { beside, .. } if beside.is_empty() => "cannot be named".into(),
        Answer::Unnamed { beside, .. } => format!("cannot be named, beside {}", names(*beside)),
        Answer::Unsure { any_of, .. } if any_of.is_empty() => "unsure: not examined".into(),
        Answer::Unsure { .. } => "unsure".into(),
    }
}

pub fn truth_name(truth: &[(Ailment, f64)]) -> String {
    match truth {
        [] => "healthy".into(),
        ailing => ailing.iter().map(|(ailment, _)| ailment.name()).collect::<Vec<_>>().join(" + "),
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
    /// One fault that the rules know, all severities.
    pub single: Tally,
    /// The same of severity 0.5 and more.
    pub single_medium: Tally,
    /// Two faults that the rules know.
    pub pairs: Tally,
    /// The same, both of severity 0.5 and more.
    pub pairs_medium: Tally,
    /// A trouble that the rules do not know, all severities.
    pub unknown: Tally,
    /// The same of severity 0.5 and more.
    pub unknown_medium: Tally,
    /// A trouble that the rules do not know beside one that they know.
    pub mixed: Tally,
    /// Wrong and missed ones, for whoever wants to look: seed, truth, answer.
    pub wrong: Vec<(u64, Truth, String)>,
}

impl Run {
    pub fn take(&mut self, seed: u64, truth: &Truth, extent: Extent) {
        let (diagnosis, score) = examine(seed, truth, extent);
        let (name, answer) = (truth_name(truth), answer_name(&diagnosis));
        *self.answers.entry(name.clone()).or_default().entry(answer.clone()).or_default() += 1;
        self.scores.entry(name).or_default().add(score);
        let medium = truth.iter().all(|(_, severity)| *severity >= 0.499);
        let strange = truth.iter().filter(|(ailment, _)| cause(*ailment).is_none()).count();
        let (all, of_medium) = match (truth.len(), strange) {
            (0, _) => (&mut self.healthy, None),
            (1, 0) => (&mut self.single, Some(&mut self.single_medium)),
            (1, _) => (&mut self.unknown, Some(&mut self.unknown_medium)),
            (_, 0) => (&mut self.pairs, Some(&mut self.pairs_medium)),
            _ => (&mut self.mixed, None),
        };
        all.add(score);
        if let (true, Some(of_medium)) = (medium, of_medium) {
            of_medium.add(score);
        }
        if matches!(score, Score::Wrong | Score::Missed) {
            let seen = diagnosis.observed.iter().filter(|seen| seen.grade > Grade::Absent);
            let signs: Vec<_> = seen
                .map(|seen| format!("{} {} {:.2}", seen.grade.name(), seen.sign.code(), seen.value))
                .collect();
            let answer = format!("{score:?}: {answer} [{}]", signs.join(", "));
            self.wrong.push((seed, truth.clone(), answer));
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
        self.unknown = self.unknown.plus(other.unknown);
        self.unknown_medium = self.unknown_medium.plus(other.unknown_medium);
        self.mixed = self.mixed.plus(other.mixed);
        self.wrong.extend(other.wrong);
    }

    /// False names among the probes with faults that the rules know, in percent.
    pub fn wrong_percent(&self) -> f64 {
        let sick = self.single.plus(self.pairs);
        sick.percent(sick.wrong)
    }

    /// Faults of known kinds that were missed, in percent.
    pub fn missed_percent(&self) -> f64 {
        let sick = self.single.plus(self.pairs);
        sick.percent(sick.missed)
    }

    /// False names for troubles that the rules do not know, in percent.
    pub fn falsely_named_percent(&self) -> f64 {
        let strange = self.unknown.plus(self.mixed);
        strange.percent(strange.wrong)
    }

    /// Healthy probes that were said to have a fault, in percent.
    pub fn alarmed_percent(&self) -> f64 {
        self.healthy.percent(self.healthy.wrong)
    }

    /// Healthy probes about which something was unclear, in percent.
    pub fn unclear_percent(&self) -> f64 {
        self.healthy.percent(self.healthy.unsure)
    }

    /// Unsure at medium severity and above, in percent.
    pub fn unsure_percent(&self) -> f64 {
        let medium = self.single_medium.plus(self.pairs_medium);
        medium.percent(medium.unsure)
    }
}

/// Ailments that the rules know, and those that they do not.
pub fn ailments(known: bool) -> impl Iterator<Item = Ailment> + Clone {
    Ailment::ALL.into_iter().filter(move |ailment| cause(*ailment).is_some() == known)
}

/// Each fault and each trouble once for a seed, at ten severities.
pub fn singles() -> impl Iterator<Item = Truth> {
    let severities = (1..=10).map(|tenth| f64::from(tenth) / 10.0);
    severities
        .flat_map(|severity| Ailment::ALL.into_iter().map(move |ailment| vec![(ailment, severity)]))
}

/// Every two faults that the rules know.
pub fn pairs() -> impl Iterator<Item = (Ailment, Ailment)> {
    let others = |one| ailments(true).skip_while(move |other| *other != one).skip(1);
    ailments(true).flat_map(move |one| others(one).map(move |other| (one, other)))
}

/// Every trouble that the rules do not know, each beside a fault that they do, drawn for a seed.
pub fn mixed(chance: &mut Chance) -> Vec<Truth> {
    let known: Vec<Ailment> = ailments(true).collect();
    let mut with = |strange| {
        let beside = known[chance.index(known.len())];
        vec![(strange, chance.between(0.5, 1.0)), (beside, chance.between(0.5, 1.0))]
    };
    ailments(false).map(&mut with).collect()
}
