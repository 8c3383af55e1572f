use super::*;
use crate::routine::profile::{FIELD, LABORATORY};
use crate::routine::standard::{Printed, Source, Stated};
use rillmark_proto::record::{Settling, Signal};

const DAY: i64 = MS_PER_DAY;

fn published(name: &str, lot: &str) -> Planned {
    let source = match buffers::by_name(name) {
        Some(buffer) => Source::Buffer(buffer),
        None => Source::Solution(conductivity_standards::by_name(name).unwrap()),
    };
    let planned = Planned::new(name.try_into().unwrap(), source);
    // Opened today, with a certificate: there is nothing to say about it.
    let (opened_days, stated) = (Some(20_000), Some(Stated::Absolute(0.005)));
    Planned { lot: lot.try_into().unwrap(), opened_days, stated, ..planned }
}

fn own(name: &str, lot: &str, quantity: Quantity, value: f64, u: f64) -> Planned {
    let rows = [(0.0, value), (50.0, value)];
    let table = Printed::try_new(quantity, &rows, Stated::Absolute(u)).unwrap();
    let planned = Planned::new(name.try_into().unwrap(), Source::Printed(table));
    Planned { lot: lot.try_into().unwrap(), ..planned }
}

/// A point in a standard at 25 °C; its signal does not matter here.
fn point(standard: &Planned) -> Point {
    let value = standard.source.value(Celsius::new(25.0)).unwrap();
    Point {
        standard: standard.name.clone(),
        lot: standard.lot.clone(),
        expiry_days: None,
        opened_days: None,
        single_use: false,
        dissolved: None,
        certificate: Default::default(),
        basis: None,
        value: value.value,
        value_uncertainty: value.standard_uncertainty.unwrap_or(0.01),
        value_per_kelvin: 0.0,
        temperature_c: 25.0,
        signal: Signal::PotentialNv(0),
        as_found: None,
        settling: Settling {
            settled: true,
            drift_per_min: 0.0,
            scatter: 0.0,
            waited_ms: 0,
            time_constant_s: None,
        },
    }
}

fn plan(quantity: Quantity, standard: Planned) -> VerifyPlan {
    let criterion = FIELD.criterion(quantity).unwrap();
    VerifyPlan { quantity, standard, operator: Operator::new(), criterion }
}

fn situation(seen: &[Planned]) -> VerifySituation {
    let serial = |text: &str| Some(text.try_into().unwrap());
    VerifySituation {
        board: BoardId([1; 8]),
        fitted: Fitted { electrode: serial("E"), cell: serial("K"), thermometer: serial("T") },
        in_force: Coefficients {
            ph: Some(rillmark_proto::calibration::ph::PhCalibration::exact(0.98, 2.0)),
            ..Coefficients::default()
        },
        calibration: Some(ShortId([1; 4])),
        is_beside_another: false,
        seen: seen.iter().map(point).collect(),
        all_seen: true,
        utc_ms: 20_000 * DAY,
    }
}

fn codes(plan: &VerifyPlan, situation: &VerifySituation) -> std::vec::Vec<&'static str> {
    plan.judge(situation).all().iter().map(Judgement::code).collect()
}

#[test]
fn independence_is_that_of_bottle_and_lot() {
    use Independence::{Independent, LotUnknown, SameLot};
    let ph = Quantity::Ph;
    let cases = [
        // Another solution needs no lot.
        (published("phosphate-1-3.5", ""), published("phosphate-1-1", ""), Independent),
        (published("borax", "A"), published("borax", "B"), Independent),
        (published("borax", "A"), published("borax", "A"), SameLot),
        (published("borax", ""), published("borax", "A"), LotUnknown),
        (published("borax", "A"), published("borax", ""), LotUnknown),
        // A bottle with values of its own may be any solution of that value: phosphate 1:1 is 6.865
        // at 25 °C (REFERENCES 2; computed).
        (own("ours", "A", ph, 6.86, 0.01), published("phosphate-1-1", "A"), SameLot),
        (own("ours", "A", ph, 6.86, 0.01), published("phosphate-1-1", "B"), Independent),
        (own("ours", "A", ph, 7.41, 0.01), published("phosphate-1-1", "A"), Independent),
        (published("phosphate-1-1", ""), own("ours", "A", ph, 6.86, 0.01), LotUnknown),
        // Two names of the literature are two solutions, however near their values are.
        (published("technical-4.01", ""), published("phthalate-1977", ""), Independent),
        // Reference thermometers are told apart by name alone.
        (
            own("glass 2", "", Quantity::Temperature, 25.0, 0.1),
            own("glass 1", "", Quantity::Temperature, 25.0, 0.1),
            Independent,
        ),
    ];
    for (check, seen, expected) in cases {
        let what = std::format!("{} after {}", check.name, seen.name);
        let plan = plan(check.source.quantity(), check);
        assert_eq!(plan.independence(&situation(&[seen])), expected, "{what}");
    }
}

#[test]
fn ice_is_made_anew_every_time() {
    let ice = || {
        let source = Source::Reference(Reference::Ice { standard_uncertainty_k: None });
        Planned::new("ice-point".try_into().unwrap(), source)
    };
    let check = plan(Quantity::Temperature, ice());
    let situation = VerifySituation { all_seen: false, ..situation(&[ice()]) };
    assert_eq!(check.independence(&situation), Independence::Independent);
}

#[test]
fn the_worst_of_all_points_counts_and_a_point_nobody_knows_is_not_independent() {
    let check = plan(Quantity::Ph, published("borax", "A"));
    let (known, same) = (published("borax", "B"), published("borax", "A"));
    let unknown = published("borax", "");
    let of = |seen: &[Planned]| check.independence(&situation(seen));
    assert_eq!(of(&[known.clone(), unknown.clone()]), Independence::LotUnknown);
    assert_eq!(of(&[same, unknown]), Independence::SameLot);
    let forgotten = VerifySituation { all_seen: false, ..situation(&[known]) };
    assert_eq!(check.independence(&forgotten), Independence::LotUnknown);
}

#[test]
fn what_stands_in_the_way_is_told_before_the_beaker() {
    let borax = || published("borax", "A");
    let fine = situation(&[published("phosphate-1-1", "B")]);
    let no_codes: [&str; 0] = [];
    assert_eq!(codes(&plan(Quantity::Ph, borax()), &fine), no_codes);
    assert_eq!(
        codes(&plan(Quantity::Ph, borax()), &situation(&[borax()])),
        ["check-not-independent"]
    );
    let unknown = situation(&[published("borax", "")]);
    assert_eq!(codes(&plan(Quantity::Ph, borax()), &unknown), ["check-lot-unknown"]);
    let expired = Planned { expiry_days: Some(19_999), ..borax() };
    assert_eq!(codes(&plan(Quantity::Ph, expired), &fine), ["standard-expired"]);
    let nobody = VerifySituation { fitted: Fitted::default(), ..fine.clone() };
    assert_eq!(codes(&plan(Quantity::Ph, borax()), &nobody), ["not-equipped"]);
    let uncalibrated = VerifySituation { calibration: None, ..fine.clone() };
    assert_eq!(codes(&plan(Quantity::Ph, borax()), &uncalibrated), ["nothing-to-verify"]);
    // There is a calibration of the electrode, but none of the cell.
    let cell = plan(Quantity::Conductivity, published("kcl-0.01-mol-per-l", ""));
    assert_eq!(codes(&cell, &fine), ["nothing-to-verify"]);
    let other = codes(&plan(Quantity::Ph, published("kcl-0.01-mol-per-l", "")), &fine);
    assert_eq!(other, ["standard-of-other-quantity"]);
}

/// ±0.05 pH is narrower than twice ±0.06 pH, so that no reading could pass; ±0.2 pH is not.
#[test]
fn a_standard_that_cannot_decide_is_told_beforehand() {
    let poor = || own("own 7", "A", Quantity::Ph, 7.0, 0.03);
    let seen = situation(&[published("borax", "B")]);
    let criterion = LABORATORY.criterion(Quantity::Ph).unwrap();
    let strict = VerifyPlan { criterion, ..plan(Quantity::Ph, poor()) };
    let said = strict.judge(&seen);
    assert_eq!(said.all(), [Judgement::CheckCannotPass { expanded: 0.06, limit: 0.05 }]);
    assert!(codes(&plan(Quantity::Ph, poor()), &seen).is_empty());
}
