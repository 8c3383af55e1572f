//! The search for the fewest causes that bring what is seen.

use heapless::Vec;

use super::cause::Cause;
use super::evidence::{Evidence, Kind};
use super::grade::{Signs, grade};
use super::rows::{Effect, ROWS, Row, row};
use super::set::{Member, Set};
use super::sign::{Grade, Observed, Sign};

/// The most causes that are thought of together.
const MOST_TOGETHER: usize = 3;
/// The most explanations that are kept side by side.
pub(super) const MAX_EXPLANATIONS: usize = 12;
/// As many as there are causes.
const MAX_CAUSES: usize = ROWS.len();

/// What the evidence comes to.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// No sign is present.
    NoFault,
    /// These causes together, and no other set as small, bring every sign that is present.
    Likely(Set<Cause>),
    /// Something is wrong, and the evidence does not say what.
    Unsure {
        /// Sets of causes, any of which would bring the signs; may be empty.
        any_of: Vec<Set<Cause>, MAX_EXPLANATIONS>,
        /// Evidence that would tell more.
        gather: Set<Kind>,
    },
    /// Not one cause has the least evidence that it needs.
    NotEnough,
}

/// How a cause stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// In the answer.
    Likely,
    /// In one of several possible answers.
    Possible,
}

/// A cause with what speaks for and against it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Finding {
    /// The cause.
    pub cause: Cause,
    /// How it stands.
    pub standing: Standing,
    /// Signs that are present and that it brings or may bring.
    pub for_it: Set<Sign>,
    /// Signs that it brings and that are not clearly there.
    pub against_it: Set<Sign>,
}

/// A cause that cannot be judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotExamined {
    /// The cause.
    pub cause: Cause,
    /// What it would take.
    pub missing: Set<Kind>,
}

/// A whole diagnosis.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnosis {
    /// Every sign that the evidence can show, graded.
    pub observed: Signs,
    /// What it comes to.
    pub answer: Answer,
    /// The causes in the answer, the likeliest first.
    pub findings: Vec<Finding, MAX_CAUSES>,
    /// The causes about which nothing can be said.
    pub not_examined: Vec<NotExamined, MAX_CAUSES>,
}

/// Looks for what is wrong.
pub fn diagnose(evidence: &Evidence) -> Diagnosis {
    let observed = grade(evidence);
    let there = evidence.kinds();
    let not_examined: Vec<_, MAX_CAUSES> = ROWS
        .iter()
        .map(|row| NotExamined { cause: row.cause, missing: row.missing(there) })
        .filter(|not| !not.missing.is_empty())
        .collect();
    let answer =
        if not_examined.len() == MAX_CAUSES { Answer::NotEnough } else { answer(&observed, there) };
    let findings = findings(&answer, &observed);
    Diagnosis { observed, answer, findings, not_examined }
}

fn of_grade(observed: &[Observed], grade: Grade) -> Set<Sign> {
    observed.iter().filter(|seen| seen.grade == grade).map(|seen| seen.sign).collect()
}

fn answer(observed: &[Observed], there: Set<Kind>) -> Answer {
    let present = of_grade(observed, Grade::Present);
    if present.is_empty() {
        return Answer::NoFault;
    }
    let examined = |row: &&Row| row.missing(there).is_empty();
    let suspects: Set<Cause> = ROWS
        .iter()
        .filter(examined)
        .filter(|row| suspected(row, observed))
        .map(|row| row.cause)
        .collect();
    let found = explanations(suspects, observed, there);
    // A cause that cannot be judged may hide behind what is seen.
    let hidden: Set<Cause> = ROWS
        .iter()
        .filter(|row| !examined(row) && possible(row, observed))
        .map(|row| row.cause)
        .collect();
    let most = found.first().map_or(MOST_TOGETHER, |set| set.len());
    let with_hidden = explanations(suspects.or(hidden), observed, there);
    let rivals = with_hidden
        .iter()
        .filter(|set| set.len() <= most && !set.and(hidden).is_empty())
        .fold(Set::EMPTY, |all, set| all.or(set.and(hidden)));
    let missing =
        rivals.iter().fold(Set::EMPTY, |all: Set<Kind>, cause| all.or(row(cause).missing(there)));
    match found.as_slice() {
        [only] if rivals.is_empty() => Answer::Likely(*only),
        several => Answer::Unsure {
            any_of: found.clone(),
            gather: missing.or(parting(several)).without(there),
        },
    }
}

/// True when a hallmark is present and nothing that the cause brings is absent.
fn suspected(row: &Row, observed: &[Observed]) -> bool {
    let present = of_grade(observed, Grade::Present);
    !Set::of(row.hallmarks).and(present).is_empty() && possible(row, observed)
}

/// True when nothing that the cause brings is absent.
fn possible(row: &Row, observed: &[Observed]) -> bool {
    let absent = of_grade(observed, Grade::Absent);
    !row.effects.iter().any(|(sign, effect)| *effect == Effect::Brings && absent.has(*sign))
}

/// The smallest sets of suspects that account for every sign that is present.
fn explanations(
    suspects: Set<Cause>,
    observed: &[Observed],
    there: Set<Kind>,
) -> Vec<Set<Cause>, MAX_EXPLANATIONS> {
    let present = || observed.iter().filter(|seen| seen.grade == Grade::Present);
    // What each brings adds up.
    let accounts = |set: Set<Cause>| {
        present().all(|seen| {
            let most = set.iter().map(|cause| row(cause).most(seen.sign, there)).sum::<f64>();
            most > 0.0 && seen.value <= most
        })
    };
    let mut found = Vec::new();
    for size in 1..=MOST_TOGETHER {
        subsets(suspects, size, &mut |set| {
            if accounts(set) {
                // Past this many nobody reads on.
                let _ = found.push(set);
            }
        });
        if !found.is_empty() {
            break;
        }
    }
    found
}

/// Hands every subset of a size to `visit`, in the order of the numbers.
fn subsets(of: Set<Cause>, size: usize, visit: &mut dyn FnMut(Set<Cause>)) {
    fn grow(
        rest: &[Cause],
        of: Set<Cause>,
        chosen: Set<Cause>,
        size: usize,
        visit: &mut dyn FnMut(Set<Cause>),
    ) {
        if size == 0 {
            return visit(chosen);
        }
        for (at, cause) in rest.iter().enumerate().filter(|(_, cause)| of.has(**cause)) {
            grow(&rest[at + 1..], of, chosen.with(*cause), size - 1, visit);
        }
    }
    grow(Cause::ALL, of, Set::EMPTY, size, visit);
}

/// Evidence in which the explanations differ.
fn parting(explanations: &[Set<Cause>]) -> Set<Kind> {
    let any = explanations.iter().fold(Set::EMPTY, |all: Set<Cause>, set| all.or(*set));
    let pairs = any.iter().flat_map(|one| row(one).alike.iter().map(move |alike| (one, alike)));
    let parting =
        pairs.filter(|(_, (other, _))| any.has(*other)).flat_map(|(_, (_, by))| by.iter().copied());
    parting.collect()
}

fn findings(answer: &Answer, observed: &[Observed]) -> Vec<Finding, MAX_CAUSES> {
    let present = of_grade(observed, Grade::Present);
    let finding = |cause: Cause, standing| {
        let row = row(cause);
        let for_it = present.iter().filter(|sign| row.effect(*sign).is_some()).collect();
        let brings = row.effects.iter().filter(|(_, effect)| *effect == Effect::Brings);
        let seen = |sign| observed.iter().any(|seen| seen.sign == sign);
        let against_it =
            brings.map(|(sign, _)| *sign).filter(|sign| seen(*sign) && !present.has(*sign));
        Finding { cause, standing, for_it, against_it: against_it.collect() }
    };
    let mut findings: Vec<Finding, MAX_CAUSES> = match answer {
        Answer::Likely(set) => set.iter().map(|cause| finding(cause, Standing::Likely)).collect(),
        Answer::Unsure { any_of, .. } => any_of
            .iter()
            .fold(Set::EMPTY, |all: Set<Cause>, set| all.or(*set))
            .iter()
            .map(|cause| finding(cause, Standing::Possible))
            .collect(),
        Answer::NoFault | Answer::NotEnough => Vec::new(),
    };
    let weight = |finding: &Finding| finding.for_it.len() as i32 - finding.against_it.len() as i32;
    findings.sort_unstable_by_key(|finding| (-weight(finding), finding.cause));
    findings
}
