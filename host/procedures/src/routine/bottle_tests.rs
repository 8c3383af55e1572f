use std::vec::Vec;

use super::*;
use crate::routine::judgement::Severity;
use crate::routine::standard::{Printed, Source, Stated};
use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_proto::record::Dissolved;

/// A made-up day, counted from 1970-01-01.
const TODAY: i32 = 20_000;

fn named(name: &str) -> Planned {
    let solution = || conductivity_standards::by_name(name).map(Source::Solution);
    let source = buffers::by_name(name).map(Source::Buffer).or_else(solution).unwrap();
    Planned::new(name.try_into().unwrap(), source)
}

fn all(planned: &Planned) -> Vec<Judgement> {
    let mut said = Said::new();
    judge(1, planned, i64::from(TODAY), &mut said);
    said.all().to_vec()
}

/// What stands in the way, without what is only worth knowing.
fn said(planned: &Planned) -> Vec<Judgement> {
    let all = all(planned).into_iter();
    all.filter(|said| said.severity() > Severity::Note).collect()
}

fn sachet(name: &str, water: Water, vessel: Vessel, days_ago: i32) -> Planned {
    let made = Made::Sachet(Dissolved { water, vessel, days: TODAY - days_ago });
    Planned { made, ..named(name) }
}

fn opened(name: &str, days_ago: i32) -> Planned {
    Planned { opened_days: Some(TODAY - days_ago), ..named(name) }
}

/// Limits of `limits`: 90 days, 30 for what takes up carbon dioxide. Common practice, no source.
#[test]
fn an_open_bottle_keeps_as_long_as_its_kind() {
    for (name, limit_days) in [
        ("tetroxalate", 90),
        ("4.01", 90),
        ("7.00", 90),
        ("borax", 30),
        ("10.01", 30),
        ("calcium-hydroxide", 30),
        ("147", 30),
        ("1413", 90),
        ("12880", 90),
        ("108620", 90),
    ] {
        assert_eq!(default_opened_limit(&named(name)).value, limit_days, "{name}");
        let days = i32::from(limit_days);
        assert_eq!(said(&opened(name, days)), [], "{name}");
        let days = days + 1;
        let long = Judgement::StandardLongOpen { point: 1, days, limit_days };
        assert_eq!(said(&opened(name, days)), [long], "{name}");
    }
}

#[test]
fn a_bottle_with_a_table_of_its_own_has_the_limit_of_its_value() {
    let own = |ph| {
        let table = Printed::try_new(Quantity::Ph, &[(20.0, ph)], Stated::Absolute(0.01));
        Planned::new("own".try_into().unwrap(), Source::Printed(table.unwrap()))
    };
    assert_eq!(default_opened_limit(&own(9.0)).value, 90);
    assert_eq!(default_opened_limit(&own(9.01)).value, 30);
}

#[test]
fn the_limit_can_be_set() {
    let mut bottle = opened("10.01", 60);
    bottle.opened_limit_days = Some(60);
    assert_eq!(said(&bottle), []);
    bottle.opened_limit_days = Some(10);
    assert_eq!(said(&bottle), [Judgement::StandardLongOpen { point: 1, days: 60, limit_days: 10 }]);
}

#[test]
fn a_single_use_is_that_of_one_day_whatever_the_limit() {
    for (days, expected) in [
        // Days are counted in UTC: tomorrow is today somewhere.
        (-1, None),
        (0, None),
        (1, Some(Judgement::SingleUseOpenedBefore { point: 1, days: 1 })),
        (400, Some(Judgement::SingleUseOpenedBefore { point: 1, days: 400 })),
        (-2, Some(Judgement::OpenedInFuture { point: 1, days: 2 })),
    ] {
        let mut bottle = opened("1413", days);
        bottle.single_use = true;
        bottle.opened_limit_days = Some(1000);
        assert_eq!(said(&bottle), expected.into_iter().collect::<Vec<_>>(), "{days}");
    }
    // Nobody said when it was opened: now, then.
    assert_eq!(said(&Planned { single_use: true, ..named("1413") }), []);
}

#[test]
fn expiry_and_opening_are_told_apart_and_no_date_overflows() {
    let mut bottle = opened("10.01", 31);
    bottle.expiry_days = Some(TODAY - 1);
    let codes: Vec<_> = said(&bottle).iter().map(Judgement::code).collect();
    assert_eq!(codes, ["standard-expired", "standard-long-open"]);
    for day in [i32::MIN, i32::MAX] {
        bottle.opened_days = Some(day);
        let mut all = Said::new();
        judge(1, &bottle, i64::MAX / 86_400_000, &mut all);
        judge(1, &bottle, i64::MIN / 86_400_000, &mut all);
        assert!(!all.all().is_empty());
    }
}

/// 40 days at 0.05 mmol/L a day and 0.05 pH per mmol/L are at most 0.10 pH: half of it is taken off.
#[test]
fn air_is_told_with_what_a_bottle_is_taken_as() {
    let told = |planned: &Planned| {
        let notes = all(planned).into_iter();
        notes.filter(|said| said.severity() == Severity::Note).collect::<Vec<_>>()
    };
    let near = |got: f64, expected: f64| assert!(libm::fabs(got - expected) < 5e-3, "{got}");
    let [Judgement::AirLowersBuffer { days: 40, up_to_ph, taken_ph, .. }] =
        told(&opened("10.01", 40))[..]
    else {
        panic!("{:?}", told(&opened("10.01", 40)))
    };
    near(up_to_ph, 0.1);
    near(taken_ph, 9.96);
    // Nobody said when: anything up to the days that it is used.
    let [Judgement::AirMayLowerBuffer { limit_days: 30, up_to_ph, .. }] = told(&named("10.01"))[..]
    else {
        panic!("{:?}", told(&named("10.01")))
    };
    near(up_to_ph, 0.075);
    let [Judgement::WaterAddsToStandard { up_to_us_cm, taken_us_cm, .. }] = told(&named("84"))[..]
    else {
        panic!("{:?}", told(&named("84")))
    };
    near(up_to_us_cm, 2.19);
    near(taken_us_cm, 84.0 + 1.095);
    for fresh in [opened("10.01", 0), opened("84", 0), named("4.01"), named("1413")] {
        assert_eq!(told(&fresh), [], "{fresh:?}");
    }
}

#[test]
fn tap_water_makes_no_conductivity_standard_and_a_poor_buffer() {
    let tap = |name| said(&sachet(name, Water::Tap, Vessel::Flask, 0));
    let [Judgement::TapInStandard { point: 1, least_percent, most_percent }] = tap("1413")[..]
    else {
        panic!("{:?}", tap("1413"))
    };
    // 100 to 1000 µS/cm of 1413 µS/cm.
    assert!(libm::fabs(least_percent - 7.07) < 0.01 && libm::fabs(most_percent - 70.7) < 0.1);
    assert_eq!(tap("4.01"), [Judgement::TapInBuffer { point: 1, up_to_ph: 0.2 }]);
    let eye = all(&sachet("1413", Water::Deionised, Vessel::ByEye, 0));
    assert!(eye.contains(&Judgement::WaterByEye { point: 1, expanded_percent: 10.0 }), "{eye:?}");
}

#[test]
fn a_sachet_is_as_old_as_its_solution() {
    let old = sachet("1413", Water::Deionised, Vessel::Flask, 91);
    let long = Judgement::StandardLongOpen { point: 1, days: 91, limit_days: 90 };
    assert_eq!(said(&old), [long]);
    let ahead = sachet("1413", Water::Deionised, Vessel::Flask, -3);
    assert_eq!(said(&ahead), [Judgement::OpenedInFuture { point: 1, days: 3 }]);
}

#[test]
fn bottles_of_which_nothing_is_stated_are_counted() {
    let stated = |name| Planned { stated: Some(Stated::Absolute(0.01)), ..named(name) };
    let judged = |standards: &[Planned]| unstated(standards, false);
    assert_eq!(judged(&[stated("4.01"), stated("7.00")]), None);
    // 7.00 is a recipe that nobody knows, with 0.02; 4.01 is taken with 0.015.
    assert_eq!(
        judged(&[named("7.00"), named("4.01"), stated("10.01")]),
        Some(Judgement::BuffersUnstated {
            standards: 2,
            which: 0b011,
            closing: 0,
            expanded_ph: 0.03
        })
    );
    let Some(Judgement::StandardsUnstated { standards: 1, which: 1, closing: 0, expanded_percent }) =
        judged(&[named("1413")])
    else {
        panic!("{:?}", judged(&[named("1413")]))
    };
    // The bottle of the closing check is told as such.
    let with_check = unstated(&[stated("4.01"), named("7.00"), named("10.01")], true);
    assert!(
        matches!(
            with_check,
            Some(Judgement::BuffersUnstated { standards: 2, which: 0b110, closing: 3, .. })
        ),
        "{with_check:?}"
    );
    let known_check = unstated(&[named("4.01"), stated("7.00")], true);
    assert!(
        matches!(known_check, Some(Judgement::BuffersUnstated { which: 1, closing: 0, .. })),
        "{known_check:?}"
    );
    assert!(libm::fabs(expanded_percent - 1.6) < 1e-9, "{expanded_percent}");
}
