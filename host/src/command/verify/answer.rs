//! What a verification came to, and what to do next, in words.

use rillmark_metrology::decision::Tolerance;
use rillmark_metrology::verification::Verified;
use rillmark_procedures::routine::profile;
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::{Limit, VerificationRecord};

use super::super::output::line_of;
use crate::words::en::verification as words;

/// What is said on standard output; `kept` says what became of the record.
pub(super) fn text(record: &VerificationRecord, kept: &str) -> String {
    let Limit { lower, upper, profile: name, source } = &record.limit;
    let quantity = record.quantity();
    let (u, u_value) = (record.found_uncertainty, record.point.value_uncertainty);
    let numbers = words::numbers(
        quantity,
        record.found,
        record.point.value,
        record.point.temperature_c,
        record.difference(),
        record.expanded_uncertainty(),
    );
    let lines = [
        Some(words::headline(record.verdict, profile::tag_of(&record.limit, quantity))),
        Some(numbers),
        Some(words::of_parts(&words::parts(quantity, u, u_value))),
        Some(words::limited(&words::limit(quantity, *lower, *upper, name, source))),
        words::dependence(record.independence, record.verdict).map(str::to_owned),
        (record.verdict == Verdict::Pass).then(|| words::PASSED.to_owned()),
        Some(kept.to_owned()),
    ];
    lines.into_iter().flatten().map(|line| line_of(&line)).collect()
}

/// What to do next after a fail, or where nobody can tell.
pub(super) fn what_next(record: &VerificationRecord) -> String {
    let (u, u_value) = (record.found_uncertainty, record.point.value_uncertainty);
    match record.verdict {
        Verdict::Pass => String::new(),
        Verdict::Fail => words::failed(record.quantity(), record.difference()),
        Verdict::CannotTell => {
            let total = u.hypot(u_value);
            let tolerance = Tolerance::of(&record.limit);
            let hopeless = tolerance.is_ok_and(|limits| limits.is_narrower_than_guard_bands(total));
            words::cannot_tell(record.quantity(), hopeless, u_value >= u)
        }
    }
}

#[cfg(test)]
mod tests {
    use rillmark_proto::record::verification::ProfileName;

    use super::*;
    use crate::session::sample::{ph_record, verification_record};

    fn record(verdict: Verdict, u: f64, u_value: f64) -> VerificationRecord {
        let mut record = verification_record(&ph_record(0.98));
        record.point.value_uncertainty = u_value;
        VerificationRecord { verdict, found_uncertainty: u, ..record }
    }

    #[test]
    fn what_nobody_can_tell_is_blamed_on_the_larger_part() {
        let next = |u, u_value| what_next(&record(Verdict::CannotTell, u, u_value));
        // ±0.2 pH: 0.11 and more in all is hopeless.
        let texts = [next(0.01, 0.05), next(0.05, 0.01), next(0.01, 0.11), next(0.11, 0.01)];
        let distinct: std::collections::BTreeSet<_> = texts.iter().collect();
        assert_eq!(distinct.len(), 4, "{texts:#?}");
        for text in texts {
            assert!(text.contains("drinking water") && text.ends_with('.'), "{text}");
        }
    }

    #[test]
    fn a_recalled_limit_is_told_beside_the_verdict_and_nobody_elses() {
        let mut record = record(Verdict::Pass, 0.02, 0.01);
        let mut first = |profile: &str| {
            record.limit.profile = ProfileName::try_from(profile).expect("short");
            text(&record, "kept").lines().next().expect("a headline").to_owned()
        };
        assert!(first("field").ends_with("The limit itself is recalled, not checked."));
        for other in ["laboratory", ""] {
            assert!(!first(other).contains("recalled"), "{other}");
        }
    }

    #[test]
    fn the_text_says_numbers_u_limit_and_whether_it_is_independent() {
        for verdict in [Verdict::Pass, Verdict::Fail, Verdict::CannotTell] {
            let said = text(&record(verdict, 0.02, 0.01), "as 12ab34cd");
            for part in ["7.310", "7.020", "+0.290", "0.045", "±0.2 pH", "field", "12ab34cd"] {
                assert!(said.contains(part), "{part} is not in {said}");
            }
        }
    }
}
