//! The catalogue as pure values: which record goes, which is in force, what is refused.

use super::*;
use rillmark_proto::record::fitted::Fitted;
use std::format;

fn id(number: u8) -> RecordId {
    RecordId([number; 16])
}

fn serial(text: &str) -> Serial {
    Serial::try_from(text).unwrap()
}

fn fitted(electrode: &str, cell: &str) -> Equipment {
    let fitted =
        Fitted { electrode: Some(serial(electrode)), cell: Some(serial(cell)), thermometer: None };
    Equipment { fitted, utc_ms: 7 }
}

fn keep(catalogue: &Catalogue, number: u8, of: &str) -> Catalogue {
    keep_as(RecordKind::Calibration, catalogue, number, of).unwrap()
}

fn verify(catalogue: &Catalogue, number: u8, of: &str) -> Catalogue {
    keep_as(RecordKind::Verification, catalogue, number, of).unwrap()
}

fn keep_as(
    kind: RecordKind,
    catalogue: &Catalogue,
    number: u8,
    of: &str,
) -> Result<Catalogue, Refusal> {
    let (next, slot) =
        catalogue.with_record(id(number), kind, Quantity::Ph, &serial(of), 700, Rank::Newest)?;
    assert!(catalogue.entries().iter().all(|e| e.slot != slot || e.id == id(number)));
    assert_eq!(next.change, catalogue.change + 1);
    assert!(next.is_last(id(number)));
    Ok(next)
}

fn keep_earlier(catalogue: &Catalogue, number: u8) -> Catalogue {
    let kind = RecordKind::Calibration;
    let kept =
        catalogue.with_record(id(number), kind, Quantity::Ph, &serial("a"), 700, Rank::Earlier);
    kept.unwrap().0
}

#[test]
fn an_earlier_record_never_comes_into_force_beside_another() {
    let none = Catalogue::default().equipped(fitted("a", "c"));
    let one = keep_earlier(&none, 1);
    assert_eq!(one.in_force(Quantity::Ph).map(|entry| entry.id), Some(id(1)), "the only one");
    let two = keep_earlier(&one, 2);
    assert_eq!(numbers(&two), [2, 1]);
    assert_eq!(two.in_force(Quantity::Ph).map(|entry| entry.id), Some(id(1)));
    // The one in force stays; of the others the one that was kept first goes.
    assert_eq!(numbers(&keep_earlier(&two, 3)), [3, 1]);
    // Kept again, each stands where it stood.
    assert_eq!(numbers(&keep_earlier(&two, 1)), [2, 1]);
    assert_eq!(numbers(&keep_earlier(&two, 2)), [2, 1]);
    // Another sensor's is not in the way.
    assert_eq!(numbers(&keep_earlier(&keep(&one, 9, "b"), 2)), [2, 1, 9]);
}

fn numbers(catalogue: &Catalogue) -> std::vec::Vec<u8> {
    catalogue.entries().iter().map(|entry| entry.id.0[0]).collect()
}

#[test]
fn the_last_two_of_each_are_kept_and_the_last_of_the_fitted_is_in_force() {
    let mut catalogue = Catalogue::default().equipped(fitted("a", "c"));
    for (number, of, left) in [
        (1, "a", &[1][..]),
        (2, "b", &[1, 2]),
        (3, "a", &[1, 2, 3]),
        (4, "a", &[2, 3, 4]),
        // Kept again: it is the last one again.
        (3, "a", &[2, 4, 3]),
    ] {
        catalogue = keep(&catalogue, number, of);
        assert_eq!(numbers(&catalogue), left);
    }
    let in_force = |c: &Catalogue| c.in_force(Quantity::Ph).map(|entry| entry.id.0[0]);
    assert_eq!(in_force(&catalogue), Some(3));
    assert_eq!(catalogue.in_force(Quantity::Conductivity), None);
    let other = catalogue.equipped(fitted("b", "c"));
    assert_eq!(in_force(&other), Some(2));
    let listed = other.listed(|_| true);
    assert_eq!(listed.iter().filter(|l| l.in_force).map(|l| l.id).collect::<Vec<_, 4>>(), [id(2)]);
    assert_eq!(in_force(&catalogue.equipped(fitted("z", "c"))), None);
}

#[test]
fn a_taken_short_form_is_refused() {
    let catalogue = keep(&Catalogue::default(), 1, "a");
    let mut same_short = id(1);
    same_short.0[15] = 99;
    let refused = catalogue.with_record(
        same_short,
        RecordKind::Verification,
        Quantity::Conductivity,
        &serial("c"),
        9,
        Rank::Newest,
    );
    assert_eq!(refused, Err(Refusal::ShortIdTaken { short: id(1).short() }));
}

#[test]
fn the_last_record_of_an_electrode_never_makes_room() {
    let mut catalogue = Catalogue::default();
    for number in 0..8 {
        catalogue = keep(&catalogue, 2 * number, &format!("e{number}"));
        catalogue = keep(&catalogue, 2 * number + 1, &format!("e{number}"));
    }
    for number in 8..16 {
        catalogue = keep(&catalogue, 100 + number, &format!("e{number}"));
        assert_eq!(catalogue.entries().len(), 16);
    }
    let last = [1, 3, 5, 7, 9, 11, 13, 15, 108, 109, 110, 111, 112, 113, 114, 115];
    assert_eq!(numbers(&catalogue), last);
    for kind in RecordKind::ALL {
        let refused = keep_as(kind, &catalogue, 200, "one more");
        assert_eq!(refused, Err(Refusal::StoreFull { needed: 700 }));
    }
    // A second record of an electrode that has its place replaces the first.
    assert!(numbers(&keep(&catalogue, 201, "e0")).ends_with(&[115, 201]));
}

#[test]
fn verifications_are_kept_beside_calibrations_and_never_in_force() {
    let mut catalogue = keep(&Catalogue::default().equipped(fitted("a", "c")), 1, "a");
    let in_force = |c: &Catalogue| c.in_force(Quantity::Ph).map(|entry| entry.id.0[0]);
    for (number, left) in [(10, &[1, 10][..]), (11, &[1, 10, 11]), (12, &[1, 11, 12])] {
        catalogue = verify(&catalogue, number, "a");
        assert_eq!((numbers(&catalogue).as_slice(), in_force(&catalogue)), (left, Some(1)));
    }
    assert!(catalogue.is_last(id(12)) && !catalogue.is_last(id(11)) && catalogue.is_last(id(1)));
    assert!(!catalogue.is_last(id(99)), "not kept");
    let kinds: std::vec::Vec<_> =
        catalogue.listed(|_| true).iter().map(|l| (l.kind, l.in_force)).collect();
    let verification = (RecordKind::Verification, false);
    assert_eq!(kinds, [(RecordKind::Calibration, true), verification, verification]);
    // A later calibration is another line of its own: the verifications stay.
    catalogue = keep(&keep(&catalogue, 2, "a"), 3, "a");
    assert_eq!(
        (numbers(&catalogue).as_slice(), in_force(&catalogue)),
        (&[11, 12, 2, 3][..], Some(3))
    );
}

#[test]
fn verifications_make_room_before_calibrations() {
    let mut catalogue = Catalogue::default();
    for number in 0..4 {
        let of = format!("e{number}");
        catalogue = keep(&catalogue, 10 * number + 1, &of);
        catalogue = keep(&catalogue, 10 * number + 2, &of);
        catalogue = verify(&catalogue, 10 * number + 3, &of);
        catalogue = verify(&catalogue, 10 * number + 4, &of);
    }
    let gone = |before: &Catalogue, after: &Catalogue| {
        let left = numbers(after);
        numbers(before).into_iter().filter(|n| !left.contains(n)).collect::<std::vec::Vec<_>>()
    };
    // First the verifications before the last, the oldest first, then such calibrations, then, for
    // calibrations alone, the last verifications; a verification is refused instead.
    let order = [3, 13, 23, 33, 1, 11, 21, 31, 4, 14, 24, 34];
    for (number, expected) in (100..).zip(order) {
        let of = format!("new {number}");
        let refused = keep_as(RecordKind::Verification, &catalogue, number, &of);
        assert_eq!(refused.is_err(), [4, 14, 24, 34].contains(&expected), "{expected}");
        let next = keep(&catalogue, number, &of);
        assert_eq!(gone(&catalogue, &next), [expected]);
        catalogue = next;
    }
    assert!(keep_as(RecordKind::Calibration, &catalogue, 200, "one more").is_err());
    // Its own electrode's last verification is followed by a new one.
    let full = verify(&Catalogue::default(), 1, "e");
    let full = (2..17).fold(full, |full, number| keep(&full, number, &format!("e{number}")));
    assert_eq!(gone(&full, &verify(&full, 50, "e")), [1]);
}

#[test]
fn the_longest_catalogue_fits_its_bytes_and_comes_back() {
    let long = "sixteen letters!";
    let mut equipment = fitted(long, long);
    equipment.fitted.thermometer = Some(serial(long));
    equipment.utc_ms = i64::MIN;
    let mut catalogue = Catalogue::default().equipped(equipment);
    for number in 0..16 {
        catalogue = keep(&catalogue, number, &format!("fifteen letters{number:x}"));
    }
    catalogue.change = u32::MAX;
    let bytes = catalogue.to_bytes().unwrap();
    assert_eq!(bytes.len(), MAX_BYTES);
    assert_eq!(Catalogue::from_bytes(&bytes), Some(catalogue));
    for wrong in [&bytes[..bytes.len() - 1], &[], &[2], &[&bytes[..], &[0]].concat()] {
        assert_eq!(Catalogue::from_bytes(wrong), None);
    }
}
