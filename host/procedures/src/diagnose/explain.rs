//! The search for the fewest causes that bring what is seen.

use heapless::Vec;

use super::cause::Cause;
use super::evidence::{Evidence, Kind};
use super::grade::{Signs, grade};
use super::rows::{Effect, ROWS, Row, row};
use super::set::{Member, Set};
use super::sign::{Grade, Observed, Part, Sign};

/// The most causes that are thought of together.
const MOST_TOGETHER: usize = 3;
/// The most explanations that are kept side by side.
pub(super) const MAX_EXPLANATIONS: usize = 12;
/// As many as there are causes.
const MAX_CAUSES: usize = ROWS.len();

/// What the evidence comes to.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// Nothing that a healthy probe does not show, in what was examined: see [`Diagnosis::examined`].
    NothingFound,
    /// No sign is present, and some show more than healthy probes do.
    Unclear {
        /// Which.
        signs: Set<Sign>,
        /// Causes that could be behind them, examined or not.
        could_be: Set<Cause>,
    },
    /// These causes together, and no other set as small, bring every sign that is present.
    Likely(Set<Cause>),
    /// Something is wrong, and the evidence does not say what.
    Unsure {
        /// Sets of causes, any of which would bring the signs; may be empty.
        any_of: Vec<Set<Cause>, MAX_EXPLANATIONS>,
        /// Causes without their least evidence that would explain it too.
        unexamined: Set<Cause>,
        /// Evidence that would tell more.
        gather: Set<Kind>,
    },
    /// Something is wrong, and no known cause, nor several together, bring these signs.
    Unnamed {
        /// The signs that stay without an explanation.
        unexplained: Set<Sign>,
        /// Causes that are likely besides: they bring the signs of another part of the probe.
        beside: Set<Cause>,
    },
    /// Not one cause is ruled out, for want of evidence or because what there is does not decide, and
    /// nothing stands out.
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
    /// The causes that had their least evidence, and that it neither shows nor excludes.
    pub not_ruled_out: Set<Cause>,
}

impl Diagnosis {
    /// The causes that the evidence was complete enough for to rule them in or out.
    pub fn examined(&self) -> Set<Cause> {
        let missing: Set<Cause> = self.not_examined.iter().map(|not| not.cause).collect();
        let all: Set<Cause> = Cause::ALL.iter().copied().collect();
        all.without(missing).without(self.not_ruled_out)
    }
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
    let open = |row: &&Row| row.missing(there).is_empty() && possible(row, &observed);
    let open: Set<Cause> = ROWS.iter().filter(open).map(|row| row.cause).collect();
    let answer = match answer(&observed, there) {
        Answer::NothingFound if not_examined.len() + open.len() == MAX_CAUSES => Answer::NotEnough,
        answer => answer,
    };
    let findings = findings(&answer, &observed);
    let likely = findings.iter().filter(|finding| finding.standing == Standing::Likely);
    let likely: Set<Cause> = likely.map(|finding| finding.cause).collect();
    Diagnosis { observed, answer, findings, not_examined, not_ruled_out: open.without(likely) }
}

fn of_grade(observed: &[Observed], grade: Grade) -> Set<Sign> {
    observed.iter().filter(|seen| seen.grade == grade).map(|seen| seen.sign).collect()
}

fn answer(observed: &[Observed], there: Set<Kind>) -> Answer {
    let present = of_grade(observed, Grade::Present);
    if present.is_empty() {
        return unclear(observed);
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
        [] if rivals.is_empty() => unnamed(suspects, hidden, observed, there),
        [only] if rivals.is_empty() && only.iter().all(|cause| firm(row(cause), observed)) => {
            Answer::Likely(*only)
        }
        several => Answer::Unsure {
            any_of: found.clone(),
            unexamined: rivals,
            gather: missing.or(parting(several)).without(there),
        },
    }
}

/// Without any sign: which ones are more than healthy probes show.
fn unclear(observed: &[Observed]) -> Answer {
    let signs = of_grade(observed, Grade::Vague);
    if signs.is_empty() {
        return Answer::NothingFound;
    }
    let could =
        |row: &&Row| possible(row, observed) && signs.iter().any(|sign| row.effect(sign).is_some());
    let could_be = ROWS.iter().filter(could).map(|row| row.cause).collect();
    Answer::Unclear { signs, could_be }
}

/// Signs of electrode and cell that a wrong temperature brings about too.
const BY_TEMPERATURE: [Sign; 6] = [
    Sign::SlopeLow,
    Sign::BuffersDisagree,
    Sign::SlopeLowerCold,
    Sign::ConductanceLow,
    Sign::ConductanceHigh,
    Sign::StandardsDisagree,
];

/// Where all signs together have no explanation: what each part of the probe has by itself.
fn unnamed(
    suspects: Set<Cause>,
    hidden: Set<Cause>,
    observed: &[Observed],
    there: Set<Kind>,
) -> Answer {
    let certain = |set: Set<Cause>| {
        set.and(hidden).is_empty() && set.iter().all(|cause| firm(row(cause), observed))
    };
    let (mut unexplained, mut beside, mut open) = (Set::EMPTY, Set::EMPTY, false);
    let mut warm: Set<Sign> = Set::EMPTY;
    for part in [Part::Thermometer, Part::Electrode, Part::Cell] {
        let of_part = |seen: &&Observed| seen.sign.part() == part && !warm.has(seen.sign);
        let seen: Signs = observed.iter().filter(of_part).copied().collect();
        let present = of_grade(&seen, Grade::Present);
        if present.is_empty() {
            continue;
        }
        match explanations(suspects.or(hidden), &seen, there).as_slice() {
            [] => {
                let known = |sign: &Sign| {
                    suspects.or(hidden).iter().any(|cause| row(cause).effect(*sign).is_some())
                };
                let strange: Set<Sign> = present.iter().filter(|sign| !known(sign)).collect();
                unexplained = unexplained.or(if strange.is_empty() { present } else { strange });
                if part == Part::Thermometer {
                    // Whatever is computed with a temperature may follow from it.
                    warm = Set::of(&BY_TEMPERATURE);
                }
            }
            [one] if certain(*one) => beside = beside.or(*one),
            _ => open = true,
        }
    }
    match (unexplained.is_empty(), open) {
        // Each part has its own cause, more of them than are thought of together.
        (true, false) => Answer::Likely(beside),
        (true, true) => {
            Answer::Unnamed { unexplained: of_grade(observed, Grade::Present), beside: Set::EMPTY }
        }
        (false, _) => Answer::Unnamed { unexplained, beside },
    }
}

/// True when a hallmark is present and nothing that the cause brings is absent.
fn suspected(row: &Row, observed: &[Observed]) -> bool {
    let present = of_grade(observed, Grade::Present);
    !Set::of(row.hallmarks).and(present).is_empty() && possible(row, observed)
}

/// True when one of the signs by which a cause is named is present.
fn firm(row: &Row, observed: &[Observed]) -> bool {
    !Set::of(row.named_by).and(of_grade(observed, Grade::Present)).is_empty()
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
        Answer::Likely(set) | Answer::Unnamed { beside: set, .. } => {
            set.iter().map(|cause| finding(cause, Standing::Likely)).collect()
        }
        Answer::Unsure { any_of, .. } => any_of
            .iter()
            .fold(Set::EMPTY, |all: Set<Cause>, set| all.or(*set))
            .iter()
            .map(|cause| finding(cause, Standing::Possible))
            .collect(),
        Answer::NothingFound | Answer::Unclear { .. } | Answer::NotEnough => Vec::new(),
    };
    let weight = |finding: &Finding| finding.for_it.len() as i32 - finding.against_it.len() as i32;
    findings.sort_unstable_by_key(|finding| (-weight(finding), finding.cause));
    findings
}
