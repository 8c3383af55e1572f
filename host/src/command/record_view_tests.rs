//! Records as people and machines see them.

use rillmark_proto::record::{CalibrationRecord, Outcome};

use super::*;
use crate::link::fake::{FakeLink, UTC_AT_ZERO, World};
use crate::session::sample::{
    cell_record, equipment, kept_record, ph_record, thermometer_record, verification_record,
};

fn all() -> Vec<Kept> {
    let kept_as = |record: Record, in_force| {
        let (listed, bytes) = kept_record(&record, in_force);
        Kept { id: listed.id, quantity: record.quantity(), in_force, bytes, record: Ok(record) }
    };
    let kept = |record: &CalibrationRecord, in_force| kept_as(record.clone().into(), in_force);
    let verification = kept_as(verification_record(&ph_record(0.98)).into(), false);
    let mut left = ph_record(0.98);
    left.outcome = Outcome::LeftUnadjusted;
    left.due_utc_ms = Some(UTC_AT_ZERO - 1);
    let mut unreadable = kept(&ph_record(0.97), false);
    unreadable.record = Err(Unread::Here(codec::DecodeError::NewerVersion { found: 2, newest: 1 }));
    vec![
        kept(&ph_record(0.98), true),
        kept(&cell_record(), true),
        kept(&left, false),
        unreadable,
        verification,
    ]
}

#[test]
fn records_are_a_line_each() {
    insta::assert_snapshot!(Kept::table(&all(), UTC_AT_ZERO));
}

#[test]
fn a_damaged_record_is_listed_and_spoils_none_of_the_others() {
    let world = World::new();
    let records: [Record; 3] = [0.97, 0.98, 0.99].map(|slope| ph_record(slope).into());
    {
        let mut world = world.borrow_mut();
        world.records = records.iter().map(|record| kept_record(record, false)).collect();
        world.records[0].0.whole = false;
        // One that says it is whole, and is another one.
        world.records[1].1 = world.records[2].1.clone();
        world.records[2].0.in_force = true;
    }
    let mut probe = Probe::connect(Box::new(FakeLink(world))).expect("it answers");
    let kept = kept_records(&mut probe).expect("the others are there");
    let whole: Vec<_> = kept.iter().map(|kept| kept.record.is_ok()).collect();
    assert_eq!(whole, [false, false, true]);
    let damaged: Vec<_> = kept.iter().map(|kept| kept.json()["damaged"].clone()).collect();
    assert_eq!(damaged, [true, false, false].map(Value::from));
    let table = Kept::table(&kept, UTC_AT_ZERO);
    assert!(table.contains("damaged in the probe's store"), "{table}");
    assert!(table.contains("handed out another record"), "{table}");
}

#[test]
fn one_record_is_told_whole() {
    let all = all();
    let text: Vec<_> = all.iter().map(|kept| kept.whole(UTC_AT_ZERO)).collect();
    insta::assert_snapshot!(text.join("\n"));
}

#[test]
fn a_record_in_force_that_the_probe_cannot_read_is_told() {
    let mut kept = all().swap_remove(0);
    assert_eq!(kept.unread_by_probe(1), None);
    kept.bytes[0] = 2;
    let told = kept.unread_by_probe(1).expect("the probe reads version 1 alone");
    assert!(told.contains("computes nothing with it. Update the probe's firmware"), "{told}");
    assert_eq!(kept.unread_by_probe(2), None);
    kept.in_force = false;
    assert_eq!(kept.unread_by_probe(1), None);
}

#[test]
fn a_thermometer_s_record_is_told_whole() {
    let record = Record::from(thermometer_record());
    let (listed, bytes) = kept_record(&record, true);
    let quantity = record.quantity();
    let kept = Kept { id: listed.id, quantity, in_force: true, bytes, record: Ok(record) };
    let json = serde_json::to_string_pretty(&kept.json()["result"]).expect("JSON");
    insta::assert_snapshot!(format!("{}\n{json}", kept.whole(UTC_AT_ZERO)));
}

#[test]
fn json_has_the_documented_keys() {
    let all = all();
    let json: Vec<_> = all
        .iter()
        .filter(|kept| kept.record.is_ok() && kept.id != all[2].id)
        .map(Kept::json)
        .collect();
    insta::assert_snapshot!(serde_json::to_string_pretty(&json).expect("JSON"));
    assert!(all[3].json()["unreadable"].is_string());
    assert_eq!(equipment_json(None), serde_json::Value::Null);
    assert_eq!(equipment_json(Some(&equipment()))["electrode"], "E-17");
}
