use std::vec::Vec;

use super::*;
use crate::reference::{buffers, conductivity_standards};
use crate::routine::standard::{Printed, Source, Stated};

/// A made-up day, counted from 1970-01-01.
const TODAY: i32 = 20_000;

fn named(name: &str) -> Planned {
    let solution = || conductivity_standards::by_name(name).map(Source::Solution);
    let source = buffers::by_name(name).map(Source::Buffer).or_else(solution).unwrap();
    Planned::new(name.try_into().unwrap(), source)
}

fn said(planned: &Planned) -> Vec<Judgement> {
    let mut said = Said::new();
    judge(1, planned, i64::from(TODAY), &mut said);
    said.all().to_vec()
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
