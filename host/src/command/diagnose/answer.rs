//! The diagnosis for people and machines.

use rillmark_proto::diagnose::set::Member;
use rillmark_proto::diagnose::sign::Against;
use rillmark_proto::diagnose::{Answer, Cause, Diagnosis, Evidence, Grade, Kind, Set, Sign};
use serde_json::{Value, json};

use crate::command::output::{Lean, Table};
use crate::words::en::{diagnose as words, manners};

/// A diagnosis with the evidence that it rests on.
pub(super) struct Found {
    pub(super) evidence: Evidence,
    pub(super) diagnosis: Diagnosis,
}

/// A sign that is not clear is worth watching from this part of its limit on.
const WATCHED: f64 = 0.75;

fn signs(set: Set<Sign>) -> Vec<&'static str> {
    set.iter().map(words::sign).collect()
}

fn codes<T: Member>(set: Set<T>, code: impl Fn(T) -> &'static str) -> Vec<&'static str> {
    set.iter().map(code).collect()
}

impl Found {
    pub(super) fn text(&self) -> String {
        let Diagnosis { observed, answer, findings, not_examined } = &self.diagnosis;
        let mut text = String::new();
        let mut line = |indent: usize, words: &str| {
            text.push_str(&" ".repeat(indent));
            text.push_str(words);
            text.push('\n');
        };
        if !observed.is_empty() {
            let [sign, value, limit, grade] = words::COLUMNS;
            let mut table = Table::new(&[
                (sign, Lean::Left),
                (value, Lean::Right),
                (limit, Lean::Right),
                (grade, Lean::Left),
            ]);
            for seen in observed {
                table.row([
                    words::sign(seen.sign).to_owned(),
                    words::value(seen, seen.value),
                    words::limit(seen),
                    words::grade(seen.grade).to_owned(),
                ]);
            }
            line(0, &table.text());
        }
        line(0, &headline(answer));
        for finding in findings {
            line(2, words::cause(finding.cause));
            if !finding.for_it.is_empty() {
                line(4, &words::speaks_for(&signs(finding.for_it)));
            }
            if !finding.against_it.is_empty() {
                line(4, &words::speaks_against(&signs(finding.against_it)));
            }
            if let (Cause::ContaminatedBuffer, Some(number)) =
                (finding.cause, self.evidence.electrode.odd_buffer)
            {
                line(4, &words::odd_buffer(number));
            }
            line(4, &words::next(words::remedy(finding.cause)));
        }
        if findings.iter().any(|finding| words::wants_caution(finding.cause)) {
            line(0, manners::CLEANING);
        }
        if let Answer::Unsure { gather, .. } = answer
            && !gather.is_empty()
        {
            line(0, words::GATHER);
            gather.iter().for_each(|kind| line(2, words::kind(kind)));
        }
        let vague: Set<Sign> = observed
            .iter()
            .filter(|seen| seen.grade == Grade::Vague && seen.value >= WATCHED * seen.limit)
            .map(|seen| seen.sign)
            .collect();
        if *answer == Answer::NoFault && !vague.is_empty() {
            line(0, &words::watch(&signs(vague)));
        }
        if !not_examined.is_empty() {
            line(0, words::NOT_EXAMINED);
            for not in not_examined {
                let missing: Vec<_> = not.missing.iter().map(words::kind).collect();
                line(2, &words::not_examined(words::cause(not.cause), &missing));
            }
        }
        text
    }

    pub(super) fn json(&self) -> Value {
        let Diagnosis { observed, answer, findings, not_examined } = &self.diagnosis;
        let (name, any_of, gather) = match answer {
            Answer::NoFault => ("no-fault", Vec::new(), Set::EMPTY),
            Answer::NotEnough => ("not-enough-evidence", Vec::new(), Set::EMPTY),
            Answer::Likely(set) => ("likely", vec![codes(*set, Cause::code)], Set::EMPTY),
            Answer::Unsure { any_of, gather } => {
                ("unsure", any_of.iter().map(|set| codes(*set, Cause::code)).collect(), *gather)
            }
        };
        json!({
            "answer": name,
            "any_of": any_of,
            "gather": codes(gather, Kind::code),
            "evidence": codes(self.evidence.kinds(), Kind::code),
            "signs": observed.iter().map(|seen| json!({
                "sign": seen.sign.code(),
                "value": seen.value,
                "limit": seen.limit,
                "against": match seen.against {
                    Against::Limit => "limit",
                    Against::Earlier => "earlier-calibration",
                },
                "grade": seen.grade.name(),
                "source": seen.source,
            })).collect::<Vec<_>>(),
            "findings": findings.iter().map(|finding| json!({
                "cause": finding.cause.code(),
                "for": codes(finding.for_it, Sign::code),
                "against": codes(finding.against_it, Sign::code),
                "buffer": self.evidence.electrode.odd_buffer
                    .filter(|_| finding.cause == Cause::ContaminatedBuffer),
                "next": words::remedy(finding.cause),
            })).collect::<Vec<_>>(),
            "not_examined": not_examined.iter().map(|not| json!({
                "cause": not.cause.code(),
                "missing": codes(not.missing, Kind::code),
            })).collect::<Vec<_>>(),
        })
    }
}

fn headline(answer: &Answer) -> String {
    let names = |set: Set<Cause>| set.iter().map(words::cause).collect::<Vec<_>>();
    match answer {
        Answer::NoFault => words::NO_FAULT.to_owned(),
        Answer::NotEnough => words::NOT_ENOUGH.to_owned(),
        Answer::Likely(set) => words::likely(&names(*set)),
        Answer::Unsure { any_of, .. } => {
            let sets: Vec<_> = any_of.iter().map(|set| names(*set).join(words::TOGETHER)).collect();
            words::unsure(&sets)
        }
    }
}
