use std::collections::BTreeSet;

use super::*;

#[test]
fn every_judgement_has_its_own_whole_sentence() {
    let sentences: Vec<_> = Judgement::each(3).map(|j| sentence(&j)).collect();
    for text in &sentences {
        assert!(text.ends_with(['.', '?']), "{text}");
        assert!(text.starts_with(|c: char| c.is_uppercase() || c.is_ascii_digit()), "{text}");
        assert!(!text.contains("  "), "{text}");
    }
    // As-left and as-found sentences of the two quantities differ too.
    assert_eq!(sentences.iter().collect::<BTreeSet<_>>().len(), sentences.len());
}

#[test]
fn every_flag_has_words() {
    for (_, name) in Flags::NAMED {
        assert_ne!(flag(name), name);
    }
}

#[test]
fn one_is_singular() {
    for (days, said) in [(1, "1 day"), (2, "2 days"), (-1, "-1 days")] {
        assert_eq!(counted(days, "day"), said);
    }
}

#[test]
fn three_digits_count() {
    for (number, said) in [(12_824.6, "12800"), (1413.0, "1410"), (146.9, "147"), (84.0, "84")] {
        assert_eq!(three_digits(number).to_string(), said);
    }
}

#[test]
fn what_may_still_come_is_said_as_well_as_it_is_known() {
    for (at_most, said) in [
        (1_722.5, "Far more than 0.6 mV"),
        (1.204, "Up to 1.20 mV, more than the 0.6 mV"),
        (0.6, "too short a time, or scatters too much"),
    ] {
        let text = to_come(at_most, 0.6, "mV");
        assert!(text.contains(said), "{text}");
    }
}

#[test]
fn numbers_are_said_with_their_limits() {
    let slope =
        Judgement::SlopeOutOfBand { slope_percent: 93.04, min_percent: 95.0, max_percent: 102.0 };
    let text = sentence(&slope);
    assert!(text.contains("93.0 %") && text.contains("95 to 102 %"), "{text}");
}
