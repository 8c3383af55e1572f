//! What of a probe's state comes into a session.

use super::*;
use crate::link::fake::{FakeLink, World};
use crate::link::probe::Probe;
use crate::session::log::{Plan, log};
use crate::session::replay::open;
use crate::session::sample::{
    Memory, equipment, kept, kept_record, ph_record, reading, verification_record,
};
use rillmark_proto::wire::message::Sampling;
use std::rc::Rc;

#[test]
fn verifications_of_what_is_in_force_are_in_the_session_and_others_are_not() {
    let (world, memory) = (World::new(), Memory::new());
    let (now, before) = (ph_record(0.98), ph_record(0.97));
    let verified = |record| kept_record(&verification_record(record).into(), false);
    {
        let mut world = world.borrow_mut();
        world.equipment = Some(equipment());
        world.records =
            vec![kept(&before, false), kept(&now, true), verified(&before), verified(&now)];
        world.reads(1_000, reading(0));
    }
    let mut probe = Probe::connect(Box::new(FakeLink(Rc::clone(&world)))).expect("it answers");
    let plan = Plan {
        sampling: Sampling::Full { interval_ms: 5_000 },
        count: Some(1),
        for_ms: None,
        note: None,
        junction_ph: None,
        measured: None,
    };
    log(&mut probe, &mut memory.writer(), &plan, &|| false, &mut |_| Ok(())).expect("it logs");
    let session = open(&memory.content()[..]).expect("a session");
    let held = |id: RecordId| session.records.contains_key(&id.short());
    assert!(held(kept(&now, true).0.id) && held(verified(&now).0.id));
    assert!(!held(kept(&before, false).0.id) && !held(verified(&before).0.id));
    assert_eq!(session.headers[0].in_force, [kept(&now, true).0.id]);
}
