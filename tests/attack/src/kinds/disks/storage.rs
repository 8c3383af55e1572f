//! A disk that fails at any byte, in this process.

use std::cell::{Cell, RefCell};
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
    /// So many times it is still forced onto the disk before that fails once.
    syncs: Rc<Cell<Option<usize>>>,
    has_failed: Rc<Cell<bool>>,
    /// So many bytes it took for certain.
    synced: Rc<Cell<usize>>,
}

impl Storage for Failing {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut held = self.bytes.borrow_mut();
        let fits = bytes.len().min(self.room.saturating_sub(held.len()));
        held.extend(&bytes[..fits]);
        if fits < bytes.len() { Err(self.kind.into()) } else { Ok(()) }
    }

    fn sync(&mut self) -> io::Result<()> {
        if let Some(left) = self.syncs.get() {
            self.syncs.set(left.checked_sub(1));
            if left == 0 {
                self.has_failed.set(true);
                return Err(self.kind.into());
            }
            self.synced.set(self.bytes.borrow().len());
        }
        if self.bytes.borrow().len() >= self.room { Err(self.kind.into()) } else { Ok(()) }
    }

    fn cut(&mut self, len: u64) -> io::Result<()> {
        if !self.cuts {
            return Err(self.kind.into());
        }
        self.bytes.borrow_mut().truncate(len as usize);
        Ok(())
    }

    fn named_len(&self) -> io::Result<Option<u64>> {
        Ok(Some(self.bytes.borrow().len() as u64))
    }

    fn remove(&mut self) -> io::Result<()> {
        self.cut(0)
    }
}

const KINDS: [io::ErrorKind; 3] =
    [io::ErrorKind::StorageFull, io::ErrorKind::Other, io::ErrorKind::QuotaExceeded];

fn bench() -> Probe {
    let setup = Setup { seed: 5, ..Setup::default() };
    let link = VirtualLink::with(setup, "bench").expect("a bench");
    Probe::connect(Box::new(link)).expect("the bench answers")
}

fn plan(count: u64) -> Plan {
    let sampling = Sampling::Full { interval_ms: 0 };
    Plan {
        sampling,
        count: Some(count),
        for_ms: None,
        note: None,
        junction_ph: None,
        measured: None,
    }
}

/// A disk that fails once to take what was written before, and then says nothing of it any more: what it did
/// not take may be gone, so the log fails and does not end as if nothing had been.
pub(super) fn sync_fails_once(case: &mut Case<'_>, outcome: &mut Outcome) {
    let at = case.random.below(12);
    let kind = *case.random.one_of(&KINDS);
    // Planted: a program that takes no notice.
    let syncs = Rc::new(Cell::new(Some(at).filter(|_| !case.is_planted("clean-end"))));
    let (bytes, has_failed, synced) = (Rc::default(), Rc::default(), Rc::default());
    let disk = Failing { bytes, room: usize::MAX, cuts: true, kind, syncs, has_failed, synced };
    let result = Writer::begin(Box::new(disk.clone()), "disk".into()).and_then(|mut writer| {
        log(&mut bench(), &mut writer, &plan(10), &|| false, &mut |_| Ok(()))
    });
    let has_failed = disk.has_failed.get() || case.is_planted("clean-end");
    let bytes = disk.bytes.borrow();
    let end = open(&bytes[..]).ok().and_then(|session| {
        replay(&bytes[..], &session, &[], drop).expect("bytes can be read").end
    });
    // An end may stand there where nothing but itself was not taken.
    let is_open = end.is_none() || readings(&bytes[disk.synced.get()..]).is_empty();
    match result {
        Err(failure) if has_failed && failure.exit == Exit::Storage && is_open => {}
        Ok(_) if !has_failed && end.is_some() => {}
        other => {
            let why = format!("sync {at} fails: {has_failed}, and the log: {other:?}, {end:?}");
            outcome.find(Wrong::Silent, why);
        }
    }
}

/// A log onto it: what is held is whole, and all that was told is held.
pub(super) fn storage(case: &mut Case<'_>, outcome: &mut Outcome) {
    let random = &mut case.random;
    let (room, cuts) = (1 + random.below(3_000), random.below(2) == 0);
    let disk = Failing {
        bytes: Rc::default(),
        room,
        cuts,
        kind: *random.one_of(&KINDS),
        syncs: Rc::default(),
        has_failed: Rc::default(),
        synced: Rc::default(),
    };
    let mut probe = bench();
    // More than there is room for.
    let plan = plan(100);
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
