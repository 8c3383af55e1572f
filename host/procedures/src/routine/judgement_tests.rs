use std::collections::BTreeSet;
use std::vec::Vec;

use super::*;

/// Every judgement with its code and number, as they were first given. Lines are only ever added.
const PINNED: &[(&str, u16)] = &[
    ("potential-not-settled", 1),
    ("conductance-not-settled", 2),
    ("temperature-not-settled", 3),
    ("temperature-missing", 4),
    ("signal-missing", 5),
    ("reading-flagged", 6),
    ("too-few-readings", 7),
    ("too-few-temperatures", 8),
    ("standard-outside-table", 20),
    ("standard-expired", 21),
    ("buffer-not-as-labelled", 22),
    ("buffer-far-from-nominal", 23),
    ("standard-not-as-labelled", 24),
    ("temperatures-differ", 25),
    ("label-unchecked", 27),
    ("standard-long-open", 28),
    ("single-use-opened-before", 29),
    ("opened-in-future", 30),
    ("looks-like-other-buffer", 32),
    ("looks-like-other-standard", 33),
    ("may-be-other-buffer", 34),
    ("air-lowers-buffer", 35),
    ("air-may-lower-buffer", 36),
    ("water-adds-to-standard", 37),
    ("tap-in-standard", 38),
    ("tap-in-buffer", 39),
    ("too-few-points", 40),
    ("buffers-too-close", 41),
    ("not-equipped", 42),
    ("conductivity-first", 43),
    ("too-many-overrides", 44),
    ("standard-of-other-quantity", 45),
    ("standard-temperature-differs", 46),
    ("alkaline-not-last", 47),
    ("taken-unsettled", 48),
    ("buffers-unstated", 49),
    ("standards-unstated", 50),
    ("water-by-eye", 51),
    ("points-share-bottles", 52),
    ("dated-before-earlier", 53),
    ("long-since-earlier", 54),
    ("stored-longer-than-passed", 55),
    ("stored-since-nothing", 56),
    ("stored-days-counted", 57),
    ("slope-out-of-band", 60),
    ("slope-impossible", 61),
    ("slope-reversed", 62),
    ("offset-out-of-band", 63),
    ("offset-far-from-history", 64),
    ("slope-far-from-history", 65),
    ("residual-large", 66),
    ("two-points-only", 67),
    ("no-line", 68),
    ("single-point", 69),
    ("ph-points-contradict", 70),
    ("cell-constant-impossible", 80),
    ("cell-constant-unusual", 81),
    ("cell-constant-far-from-history", 82),
    ("conductivity-residual-large", 83),
    ("conductivity-points-contradict", 84),
    ("ranges-disagree", 85),
    ("range-factor-impossible", 86),
    ("cell-not-dry", 90),
    ("zero-not-settled", 91),
    ("zero-measured", 92),
    ("zero-carried-over", 93),
    ("ph-as-found-within-tolerance", 100),
    ("ph-as-found-outside-tolerance", 101),
    ("conductivity-as-found-within-tolerance", 102),
    ("conductivity-as-found-outside-tolerance", 103),
    ("ph-as-left-off", 104),
    ("conductivity-as-left-off", 105),
    ("no-earlier-calibration", 106),
    ("water-dilute", 120),
    ("water-salty", 121),
    ("stir-alike", 122),
    ("stir-differs", 123),
    ("stir-unclear", 124),
    ("stir-restless", 125),
    ("nothing-to-verify", 140),
    ("ph-check-far-off", 141),
    ("conductivity-check-far-off", 142),
    ("check-not-independent", 143),
    ("check-lot-unknown", 144),
    ("check-cannot-pass", 145),
    ("temperature-as-found-within-tolerance", 160),
    ("temperature-as-found-outside-tolerance", 161),
    ("temperature-as-left-off", 162),
    ("thermometer-offset-large", 163),
    ("reference-overdue", 164),
    ("reference-coarse", 165),
    ("thermometer-one-point", 166),
    ("thermometer-points-close", 167),
    ("thermometer-of-other-kind", 168),
    ("reference-far-from-reading", 169),
    ("reference-read-late", 170),
    ("reference-impossible", 171),
    ("thermometer-residual-large", 172),
];

#[test]
fn codes_and_numbers_keep_their_meaning() {
    let now: Vec<_> = Judgement::each(1).map(|j| (j.code(), j.number())).collect();
    assert_eq!(now, PINNED);
}

#[test]
fn codes_and_numbers_are_distinct_and_codes_are_plain() {
    let codes: BTreeSet<_> = PINNED.iter().map(|(code, _)| code).collect();
    let numbers: BTreeSet<_> = PINNED.iter().map(|(_, number)| number).collect();
    assert_eq!((codes.len(), numbers.len()), (PINNED.len(), PINNED.len()));
    for code in codes {
        assert!(code.bytes().all(|b| b.is_ascii_lowercase() || b == b'-'), "{code}");
    }
}

#[test]
fn each_says_where_it_comes_from_and_names_its_numbers() {
    for judgement in Judgement::each(7) {
        assert!(!judgement.source().is_empty(), "{}", judgement.code());
        assert!(judgement.numbers().iter().all(|(_, value)| *value == 7.0));
    }
    let slope =
        Judgement::SlopeOutOfBand { slope_percent: 93.0, min_percent: 95.0, max_percent: 102.0 };
    assert_eq!(
        slope.numbers(),
        [("slope_percent", 93.0), ("min_percent", 95.0), ("max_percent", 102.0)]
    );
    assert_eq!((slope.code(), slope.severity()), ("slope-out-of-band", Severity::Warning));
}

#[test]
fn the_numbers_of_every_judgement_fit() {
    // A judgement with more numbers than the list holds would panic in `collect`.
    assert_eq!(Judgement::each(0).map(|j| j.numbers().len()).max(), Some(MAX_NUMBERS));
}

#[test]
fn refusals_are_what_cannot_be_argued_with() {
    let refused: Vec<_> = Judgement::each(1)
        .filter(|j| j.severity() == Severity::Refusal)
        .map(|j| j.number())
        .collect();
    assert_eq!(
        refused,
        [
            4, 5, 6, 7, 20, 22, 23, 24, 32, 33, 38, 40, 41, 42, 44, 45, 55, 56, 61, 62, 68, 80, 86,
            90, 140, 168, 169
        ]
    );
}

#[test]
fn a_permanent_number_gives_its_code_back() {
    for &(code, number) in PINNED {
        assert_eq!(Judgement::code_of(number), Some(code));
    }
    assert_eq!(Judgement::code_of(u16::MAX), None);
}
