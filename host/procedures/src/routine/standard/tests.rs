use super::*;
use rillmark_metrology::reference::conductivity_standards;
use rillmark_proto::record::{Dissolved, Vessel};

/// A made-up day, counted from 1970-01-01.
const TODAY: i32 = 20_000;
const ROOM: Celsius = Celsius::new(25.0);

fn named(name: &str) -> Planned {
    let solution = || conductivity_standards::by_name(name).map(Source::Solution);
    let source = buffers::by_name(name).map(Source::Buffer).or_else(solution).unwrap();
    Planned::new(name.try_into().unwrap(), source)
}

/// Opened today.
fn fresh(name: &str) -> Planned {
    Planned { opened_days: Some(TODAY), ..named(name) }
}

fn sachet(name: &str, water: Water, vessel: Vessel) -> Planned {
    let made = Made::Sachet(Dissolved { water, vessel, days: TODAY });
    Planned { made, ..named(name) }
}

/// Value and standard uncertainty at 25 °C.
fn value(planned: &Planned) -> (f64, f64) {
    let value = planned.value(ROOM, i64::from(TODAY)).unwrap();
    (value.value, value.standard_uncertainty.unwrap())
}

fn near(got: f64, expected: f64, within: f64) {
    assert!(libm::fabs(got - expected) <= within, "{got}, not {expected}");
}

/// 0.015 pH and 0.8 % for what is bought and states nothing; published uncertainties are those of the
/// solution, and only a laboratory comes near them.
#[test]
fn what_nobody_vouches_for_is_known_as_well_as_it_was_made() {
    for name in ["borax", "phthalate-1977", "4.01", "10.01"] {
        near(value(&fresh(name)).1, 0.015, 1e-12);
    }
    // A recipe that nobody knows is known no better.
    near(value(&fresh("7.00")).1, 0.02, 1e-12);
    for name in ["1408", "1413", "12880"] {
        let (value, u) = value(&fresh(name));
        near(u / value, 0.008, 1e-12);
    }
    let weighed = |name| value(&Planned { made: Made::Weighed, ..fresh(name) });
    near(weighed("borax").1, libm::hypot(0.005, 0.005), 1e-12);
    let (us_cm, u) = weighed("1408");
    // 0.03 % published, 0.2 % of a laboratory, and half of 2.19 µS/cm of the water's own.
    let own = 1.0975 / libm::sqrt(3.0) / 1408.23;
    near(u / us_cm, libm::sqrt(0.0003 * 0.0003 + 0.002 * 0.002 + own * own), 1e-5);
    let table = Printed::try_new(Quantity::Ph, &[(25.0, 7.0)], Stated::Absolute(0.01)).unwrap();
    let own = Planned::new("own".try_into().unwrap(), Source::Printed(table));
    near(value(&own).1, 0.01, 1e-12);
    near(value(&Planned { stated: None, ..own }).1, UNSTATED_PH, 1e-12);
}

#[test]
fn what_label_or_certificate_state_goes_before_the_default() {
    let stated = |name, stated| value(&Planned { stated: Some(stated), ..fresh(name) }).1;
    near(stated("borax", Stated::Absolute(0.003)), 0.003, 1e-12);
    near(stated("1413", Stated::Relative(0.0025)), 1413.0 * 0.0025, 1e-9);
    // Limits of ±0.02: a/√3, JCGM 100:2008, 4.3.7.
    near(rectangle(0.02), 0.011_547, 1e-6);
}

/// 0.2, 1 and 5 % of the water: limits of flask and cylinder, an eye has none.
#[test]
fn too_much_water_is_too_little_salt_and_hardly_moves_a_buffer() {
    for (vessel, relative) in
        [(Vessel::Flask, 0.001_155), (Vessel::Cylinder, 0.005_774), (Vessel::ByEye, 0.05)]
    {
        let (_, u) = value(&sachet("1413", Water::Deionised, vessel));
        let water = 1.0975 / libm::sqrt(3.0) / 1413.0;
        let parts = [0.008, relative, water];
        let expected = libm::sqrt(parts.iter().map(|part| part * part).sum());
        near(u / 1413.0, expected, 2e-5);
        // 5 % are 0.07 of a doubling, and that is 0.08 pH.
        assert!(value(&sachet("4.01", Water::Deionised, vessel)).1 < 0.017);
    }
    near(value(&sachet("4.01", Water::Tap, Vessel::Flask)).1, 0.116, 1e-3);
}

#[test]
fn water_has_a_conductivity_of_its_own_and_less_when_it_was_boiled() {
    // 1.10 µS/cm at 25 °C (REFERENCES 6; seen), up to twice that in a closed room: half of it.
    let (deionised, _) = value(&sachet("1413", Water::Deionised, Vessel::Flask));
    near(deionised, 1413.0 + 1.10, 0.01);
    let (boiled, _) = value(&sachet("1413", Water::Boiled, Vessel::Flask));
    near(boiled, 1413.0 + 0.55, 0.01);
    // At 5 °C it is 0.68.
    let cold = sachet("1413", Water::Boiled, Vessel::Flask);
    near(cold.added(Celsius::new(5.0), i64::from(TODAY)).most, 0.68, 0.01);
}

#[test]
fn air_moves_what_is_open_to_one_side_and_leaves_what_is_fresh() {
    let open = |name, days| Planned { opened_days: Some(TODAY - days), ..named(name) };
    let (fresh_ph, fresh_u) = value(&open("10.01", 0));
    let (old_ph, old_u) = value(&open("10.01", 40));
    near(fresh_ph - old_ph, 0.05, 1e-12);
    // A rectangle of 0.10 pH beside the 0.015.
    near(old_u, libm::hypot(0.015, 0.1 / libm::sqrt(12.0)), 1e-12);
    near(fresh_u, 0.015, 1e-12);
    // Saturated lime has more to lose, and no buffer loses more than air can take.
    let fall = |name, days| value(&fresh(name)).0 - value(&open(name, days)).0;
    near(fall("calcium-hydroxide", 40), 0.02, 1e-12);
    near(fall("borax", 10_000), 0.145, 1e-12);
    for name in ["4.01", "7.00", "1413", "12880"] {
        assert_eq!(value(&open(name, 80)).0, value(&fresh(name)).0, "{name}");
    }
    let (weak, u) = value(&open("84", 2));
    near(weak, 85.1, 0.01);
    near(u, libm::hypot(0.01 * 84.0, 2.195 / libm::sqrt(12.0)), 1e-3);
}

#[test]
fn a_day_that_nobody_said_is_any_up_to_the_limit() {
    let unknown = named("10.01");
    assert_eq!(unknown.open(i64::from(TODAY)), Open::UpTo(30));
    let short = Planned { opened_limit_days: Some(7), ..named("10.01") };
    assert_eq!(short.open(i64::from(TODAY)), Open::UpTo(7));
    let ampoule = Planned { single_use: true, ..named("10.01") };
    assert_eq!(ampoule.open(i64::from(TODAY)), Open::Fresh);
    let opened = |day| Planned { opened_days: Some(day), ..named("10.01") };
    for (day, open) in [
        (TODAY + 1, Open::Fresh),
        (TODAY, Open::Fresh),
        (TODAY - 1, Open::Days(1)),
        (TODAY + 2, Open::UpTo(30)),
        (i32::MIN, Open::Days(u16::MAX)),
        (i32::MAX, Open::UpTo(30)),
    ] {
        assert_eq!(opened(day).open(i64::from(TODAY)), open, "{day}");
    }
}
