//! The diagnosis for people and machines.

use rillmark_metrology::assess::Remark;
use rillmark_metrology::verification::Verified;
use rillmark_procedures::diagnose::records::Parted;
use rillmark_procedures::diagnose::rows::row;
use rillmark_procedures::diagnose::set::Member;
use rillmark_procedures::diagnose::sign::Against;
use rillmark_procedures::diagnose::{Answer, Cause, Diagnosis, Evidence, Grade, Kind, Set, Sign};
use rillmark_proto::identity::ShortId;
use rillmark_proto::record::Quantity;
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::record::verification::VerificationRecord;
use serde_json::{Value, json};

use super::sources::{PassedOver, Why};
use crate::command::output::{Lean, Table};
use crate::command::reading_view::remark_json;
use crate::command::record_view::{fitted_json, of, quantity_code, verification_json, what};
use crate::foreign::shown;
use crate::words::en::{assess, diagnose as words, manners, verification};

/// A diagnosis with what it rests on, and what is to be said beside it.
pub(super) struct Found<'a> {
    /// What was looked at.
    pub(super) fitted: Fitted,
    pub(super) evidence: Evidence,
    pub(super) diagnosis: Diagnosis,
    /// Records that are no evidence.
    pub(super) passed_over: Vec<PassedOver>,
    /// Verifications that the calibrations looked at failed.
    pub(super) failed: Vec<&'a VerificationRecord>,
    /// Calibrations whose coefficients are not those of their points.
    pub(super) parted: Vec<(ShortId, Quantity, Parted)>,
    /// Of the calibrations in force of a probe.
    pub(super) remarks: Option<&'a [Remark]>,
}

/// Columns that a person's terminal has at least.
const WIDTH: usize = 80;

fn signs(set: Set<Sign>) -> Vec<&'static str> {
    set.iter().map(words::sign).collect()
}

fn codes<T: Member>(set: Set<T>, code: impl Fn(T) -> &'static str) -> Vec<&'static str> {
    set.iter().map(code).collect()
}

/// Adds words in lines of at most [`WIDTH`], the first one indented and the others two more.
fn add(text: &mut String, indent: usize, words: &str) {
    let (words, mut used) = (shown(words), 0);
    for word in words.split(' ') {
        let length = word.chars().count();
        if used == 0 || used + 1 + length > WIDTH {
            let margin = if used == 0 { indent } else { indent + 2 };
            if used > 0 {
                text.push('\n');
            }
            text.push_str(&" ".repeat(margin));
            used = margin + length;
        } else {
            text.push(' ');
            used += 1 + length;
        }
        text.push_str(word);
    }
    text.push('\n');
}

impl Found<'_> {
    pub(super) fn text(&self) -> String {
        let Diagnosis { observed, answer, findings, not_examined, not_ruled_out } = &self.diagnosis;
        let mut text = String::new();
        if let Some(names) = self.looked_at() {
            add(&mut text, 0, &names);
            text.push('\n');
        }
        if !observed.is_empty() {
            text.push_str(&self.table());
            if observed.iter().any(|seen| seen.grade == Grade::Hidden) {
                add(&mut text, 0, words::UNDECIDED);
            }
            text.push('\n');
        }
        let mut line = |indent: usize, words: &str| add(&mut text, indent, words);
        line(0, &self.headline());
        match answer {
            Answer::Unclear { signs, could_be } => {
                for seen in observed.iter().filter(|seen| signs.has(seen.sign)) {
                    line(2, &words::told(seen));
                    let behind = could_be.iter().filter(|c| row(*c).effect(seen.sign).is_some());
                    let missing = |cause| not_examined.iter().any(|not: &_| not.cause == cause);
                    let behind: Vec<_> =
                        behind.map(|c| words::behind(words::cause(c), missing(c))).collect();
                    line(4, &words::could_be(&behind));
                }
            }
            Answer::Unnamed { unexplained, beside } => {
                for seen in observed.iter().filter(|seen| unexplained.has(seen.sign)) {
                    line(2, &words::told(seen));
                }
                line(2, &words::next(words::EXCHANGE));
                if !beside.is_empty() {
                    line(0, words::BESIDE);
                }
            }
            _ => {}
        }
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
        let found = |cause| findings.iter().any(|finding| finding.cause == cause);
        let open: Vec<_> =
            not_ruled_out.iter().filter(|cause| !found(*cause)).map(words::cause).collect();
        if !open.is_empty() {
            line(0, &words::not_ruled_out(&open));
        }
        if !not_examined.is_empty() {
            line(0, words::NOT_EXAMINED);
            for not in not_examined {
                let missing: Vec<_> = not.missing.iter().map(words::kind).collect();
                line(2, &words::not_examined(words::cause(not.cause), &missing));
            }
        }
        self.notes().iter().for_each(|note| line(0, &assess::said(note)));
        text
    }

    /// The sensors that were looked at; `None` without any.
    fn looked_at(&self) -> Option<String> {
        let Evidence { electrode, cell, thermometer } = &self.evidence;
        let named = [
            (Quantity::Ph, *electrode != Default::default()),
            (Quantity::Conductivity, *cell != Default::default()),
            (Quantity::Temperature, *thermometer != Default::default()),
        ]
        .into_iter()
        .filter_map(|(quantity, seen)| {
            let serial = self.fitted.serial_for(quantity);
            (seen || serial.is_some()).then(|| of(quantity, serial))
        });
        let names: Vec<_> = named.collect();
        (!names.is_empty()).then(|| words::looked_at(&names))
    }

    /// What is to be said besides.
    fn notes(&self) -> Vec<String> {
        let failed = self.failed.iter().map(|record| {
            let VerificationRecord { found, point, .. } = record;
            let (quantity, u) = (record.quantity(), record.expanded_uncertainty());
            let found = verification::brief(quantity, *found, point.value, u);
            words::failed(&of(quantity, record.verified()), &point.standard, &found)
        });
        let left_out = Some(self.evidence.electrode.rests_left_out).filter(|count| *count > 0);
        let parted = self
            .parted
            .iter()
            .map(|(short, quantity, by)| words::parted(short, what(*quantity), *by));
        let left_out = left_out.map(words::rests_left_out);
        let mut notes: Vec<String> = failed.chain(parted).chain(left_out).collect();
        let mut told: Vec<&Why> = Vec::new();
        for PassedOver { short, why } in &self.passed_over {
            match why {
                Why::Altered => notes.push(words::altered(short)),
                Why::Ambiguous => notes.push(words::ambiguous(short)),
                Why::Unreadable => notes.push(words::unreadable(short)),
                Why::NotGiven => notes.push(words::not_given(short)),
                Why::NotFitted { .. } if told.contains(&why) => {}
                Why::NotFitted { quantity, serial } => {
                    told.push(why);
                    let alike = self.passed_over.iter().filter(|other| other.why == *why);
                    let of = of(*quantity, serial.as_ref());
                    notes.push(words::not_fitted(alike.count(), &of));
                }
            }
        }
        notes.extend(self.remarks.into_iter().flatten().map(assess::sentence));
        notes
    }

    fn table(&self) -> String {
        let [sign, value, limit, grade] = words::COLUMNS;
        let mut table = Table::new(&[
            (sign, Lean::Left),
            (value, Lean::Right),
            (limit, Lean::Right),
            (grade, Lean::Left),
        ]);
        for seen in &self.diagnosis.observed {
            table.row([
                words::sign(seen.sign).to_owned(),
                words::value(seen, seen.value),
                words::limit(seen),
                words::grade(seen.grade).to_owned(),
            ]);
        }
        table.text()
    }

    fn headline(&self) -> String {
        let names = |set: Set<Cause>| set.iter().map(words::cause).collect::<Vec<_>>();
        let examined = words::examined(self.diagnosis.examined().len(), Cause::ALL.len());
        match &self.diagnosis.answer {
            Answer::NothingFound if self.failed.is_empty() && self.parted.is_empty() => {
                words::nothing_found(&examined)
            }
            Answer::NothingFound if self.failed.is_empty() => words::nothing_but_parted(&examined),
            Answer::NothingFound => words::nothing_but_failed(&examined),
            Answer::Unclear { .. } => words::unclear(&examined),
            Answer::NotEnough => words::NOT_ENOUGH.to_owned(),
            Answer::Likely(set) => words::likely(&names(*set), &examined),
            Answer::Unnamed { .. } => words::unnamed(&examined),
            Answer::Unsure { any_of, unexamined, .. } => {
                let sets: Vec<_> =
                    any_of.iter().map(|set| names(*set).join(words::TOGETHER)).collect();
                let several = any_of.iter().all(|set| set.len() > 1);
                words::unsure(&sets, several, &names(*unexamined), &examined)
            }
        }
    }

    pub(super) fn json(&self) -> Value {
        let Diagnosis { observed, answer, findings, not_examined, not_ruled_out } = &self.diagnosis;
        let none = Set::<Sign>::EMPTY;
        let causes = |set: Set<Cause>| codes(set, Cause::code);
        let (name, any_of, gather, signs) = match answer {
            Answer::NothingFound => ("nothing-found", Vec::new(), Set::EMPTY, none),
            Answer::NotEnough => ("not-enough-evidence", Vec::new(), Set::EMPTY, none),
            Answer::Unclear { signs, could_be } => {
                let each = could_be.iter().map(|cause| vec![cause.code()]).collect();
                ("unclear", each, Set::EMPTY, *signs)
            }
            Answer::Likely(set) => ("likely", vec![causes(*set)], Set::EMPTY, none),
            Answer::Unnamed { unexplained, beside } => {
                let beside = if beside.is_empty() { vec![] } else { vec![causes(*beside)] };
                ("cannot-be-named", beside, Set::EMPTY, *unexplained)
            }
            Answer::Unsure { any_of, gather, .. } => {
                ("unsure", any_of.iter().map(|set| causes(*set)).collect(), *gather, none)
            }
        };
        let examined = self.diagnosis.examined();
        json!({
            "fitted": fitted_json(&self.fitted),
            "answer": name,
            "examined": causes(examined),
            "examined_count": examined.len(),
            "causes_count": Cause::ALL.len(),
            "any_of": any_of,
            "unexplained": codes(signs, Sign::code),
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
                "meaning": (seen.grade == Grade::Hidden).then_some(words::UNDECIDED),
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
            "not_ruled_out": causes(*not_ruled_out),
            "not_examined": not_examined.iter().map(|not| json!({
                "cause": not.cause.code(),
                "missing": codes(not.missing, Kind::code),
            })).collect::<Vec<_>>(),
            "rests_left_out": self.evidence.electrode.rests_left_out,
            "passed_over": self.passed_over.iter().map(passed_over_json).collect::<Vec<_>>(),
            "coefficients_part": self.parted.iter().map(|(short, _, by)| {
                let (by, unit) = match by {
                    Parted::Ph(by) => (by, "pH"),
                    Parted::Percent(by) => (by, "%"),
                };
                json!({ "record": short.to_string(), "by": by, "unit": unit })
            }).collect::<Vec<_>>(),
            "failed_verifications":
                self.failed.iter().map(|record| verification_json(record)).collect::<Vec<_>>(),
            "remarks": self.remarks.map(|all| all.iter().map(remark_json).collect::<Vec<_>>()),
        })
    }
}

fn passed_over_json(passed: &PassedOver) -> Value {
    let (why, quantity, serial) = match &passed.why {
        Why::NotFitted { quantity, serial } => ("not-fitted", Some(*quantity), serial.as_ref()),
        Why::Altered => ("altered", None, None),
        Why::Ambiguous => ("ambiguous", None, None),
        Why::Unreadable => ("unreadable", None, None),
        Why::NotGiven => ("not-given", None, None),
    };
    json!({
        "record": passed.short.to_string(),
        "why": why,
        "quantity": quantity.map(quantity_code),
        "serial": serial.map(|serial| serial.as_str()),
    })
}

#[cfg(test)]
mod tests {
    use super::add;

    #[test]
    fn lines_are_at_most_80_columns() {
        let mut text = String::new();
        add(&mut text, 4, &"µS and words ".repeat(30));
        add(&mut text, 0, "short");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        assert!(text.lines().nth(1).is_some_and(|line| line.starts_with("      ")));
        assert!(text.ends_with("\nshort\n"));
    }
}
