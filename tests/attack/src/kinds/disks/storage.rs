//! A disk that fails at any byte, in this process.

use std::cell::RefCell;
use std::io;
use std::rc::Rc;

use rillmark::exit::Exit;
use rillmark::link::probe::Probe;
use rillmark::link::virtual_link::VirtualLink;
use rillmark::session::log::{Event, Plan, log};
use rillmark::session::replay::{open, replay};
use rillmark::session::writer::{Storage, Writer};
use rillmark_bench::Setup;
use rillmark_proto::wire::message::Sampling;

use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::truth::readings;

/// A disk that fails at a byte, and perhaps cannot even cut off what it wrote of a frame.
#[derive(Clone)]
struct Failing {
    bytes: Rc<RefCell<Vec<u8>>>,
    room: usize,
    cuts: bool,
    kind: io::ErrorKind,
}

impl Storage for Failing {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut held = self.bytes.borrow_mut();
        let fits = bytes.len().min(self.room.saturating_sub(held.len()));
        held.extend(&bytes[..fits]);
        if fits < bytes.len() { Err(self.kind.into()) } else { Ok(()) }
    }

    fn sync(&mut self) -> io::Result<()> {
        if self.bytes.borrow().len() >= self.room { Err(self.kind.into()) } else { Ok(()) }
    }

    fn cut(&mut self, len: u64) -> io::Result<()> {
        if !self.cuts {
            return Err(self.kind.into());
        }
        self.bytes.borrow_mut().truncate(len as usize);
        Ok(())
    }
}

/// A log onto it: what is held is whole, and all that was told is held.
pub(super) fn storage(case: &mut Case<'_>, outcome: &mut Outcome) {
    let random = &mut case.random;
    let kinds = [io::ErrorKind::StorageFull, io::ErrorKind::Other, io::ErrorKind::QuotaExceeded];
    let (room, cuts) = (1 + random.below(3_000), random.below(2) == 0);
    let disk = Failing { bytes: Rc::default(), room, cuts, kind: *random.one_of(&kinds) };
    let setup = Setup { seed: 5, ..Setup::default() };
    let link = VirtualLink::with(setup, "bench").expect("a bench");
    let mut probe = Probe::connect(Box::new(link)).expect("the bench answers");
    // More than there is room for.
    let (sampling, count) = (Sampling::Full { interval_ms: 0 }, Some(100));
    let plan = Plan { sampling, count, for_ms: None, note: None, junction_ph: None };
    let mut sent = 0_u64;
    let result = Writer::begin(Box::new(disk.clone()), "disk".into()).and_then(|mut writer| {
        log(&mut probe, &mut writer, &plan, &|| false, &mut |event| {
            sent += u64::from(matches!(event, Event::Reading { .. }));
            Ok(())
        })
    });
    match result {
        Err(failure) if failure.exit == Exit::Storage => {}
        other => outcome.find(Wrong::Silent, format!("{other:?} on a disk that fails at {room}")),
    }
    let bytes = disk.bytes.borrow();
    let held = readings(&bytes).len() as u64;
    // The last one may be written and not yet told.
    if held > sent + 1 || sent > held {
        outcome.find(Wrong::Silent, format!("{held} readings are held, {sent} were told"));
    }
    if let Ok(session) = open(&bytes[..]) {
        let summary = replay(&bytes[..], &session, &[], drop).expect("bytes can be read");
        if !summary.verified() || summary.damaged_bytes > 0 || (cuts && summary.torn_bytes > 0) {
            outcome.find(Wrong::Silent, format!("what was written is not whole: {summary:?}"));
        }
    }
}
