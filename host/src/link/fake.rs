//! A line with a scripted probe at its end, for tests: simulated time, losses on demand.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use rillmark_proto::identity::BoardId;
use rillmark_proto::reading::{ProbeTime, Reading};
use rillmark_proto::record::RecordBytes;
use rillmark_proto::record::fitted::Equipment;
use rillmark_proto::wire::frame::{Decoder, Event, MAX_FRAME};
use rillmark_proto::wire::hello::HelloAnswer;
use rillmark_proto::wire::message::{
    Answer, Command, Done, FromProbe, Listed, Order, Refusal, STORE_PIECE_BYTES, Sampling,
    StorePiece,
};
use rillmark_proto::wire::start::Start;
use rillmark_proto::wire::{Incoming, decode, encode_from_probe, encode_hello_answer};

use super::{Link, LinkError};

/// UTC at the simulated clock's zero: 2026-01-01.
pub(crate) const UTC_AT_ZERO: i64 = 1_767_225_600_000;

/// What the scripted probe is and does; a test changes it while the line is in use.
pub(crate) struct World {
    pub(crate) now: u64,
    pub(crate) answer: HelloAnswer,
    /// False: neither hello nor command is answered.
    pub(crate) answers: bool,
    /// Answers that get lost on the way.
    pub(crate) lose_answers: u32,
    pub(crate) equipment: Option<Equipment>,
    pub(crate) records: Vec<(Listed, RecordBytes)>,
    /// A question for one of them is never answered.
    pub(crate) withholds_records: bool,
    /// The store's part of the flash.
    pub(crate) store: Vec<u8>,
    /// The most bytes of it that one answer brings.
    pub(crate) piece: usize,
    /// How long an answer takes, in ms.
    pub(crate) answers_after: u64,
    pub(crate) refusal: Option<Refusal>,
    /// The refusal of every question about the store.
    pub(crate) store_refusal: Option<Refusal>,
    pub(crate) commands: Vec<Command>,
    pub(crate) sampling: Sampling,
    /// Bytes on their way to the host, by the time they arrive.
    pub(crate) coming: BTreeMap<u64, Vec<u8>>,
    /// Times at which the cable is pulled, and for how long it stays out.
    pub(crate) pulls: Vec<(u64, u64)>,
    /// From when on something arrives each millisecond, for ever: always the same bytes.
    pub(crate) flood: Option<(u64, Vec<u8>)>,
    /// When the computer was asleep, and for how long: of the two clocks only UTC goes on.
    pub(crate) slept: Option<(u64, u64)>,
    /// When the computer's clock was set, and by how many ms.
    pub(crate) set: Option<(u64, i64)>,
    connected: bool,
    decoder: Decoder,
}

impl World {
    pub(crate) fn new() -> Rc<RefCell<Self>> {
        Rc::new(RefCell::new(Self {
            now: 0,
            answer: HelloAnswer {
                wire_min: 1,
                wire_max: 1,
                record_max: 1,
                board: BoardId([1, 2, 3, 4, 5, 6, 7, 8]),
                boot: 3,
                firmware: [0, 1, 0],
                start: Start::POWER_ON,
            },
            answers: true,
            lose_answers: 0,
            equipment: None,
            records: Vec::new(),
            withholds_records: false,
            store: (0..5_000_u32).map(|at| at as u8).collect(),
            piece: STORE_PIECE_BYTES,
            answers_after: 1,
            refusal: None,
            store_refusal: None,
            commands: Vec::new(),
            sampling: Sampling::Off,
            coming: BTreeMap::new(),
            pulls: Vec::new(),
            flood: None,
            slept: None,
            set: None,
            connected: true,
            decoder: Decoder::new(),
        }))
    }

    /// Has bytes arrive at a time.
    pub(crate) fn comes(&mut self, at: u64, bytes: &[u8]) {
        self.coming.entry(at).or_default().extend_from_slice(bytes);
    }

    /// Has a reading arrive at a time.
    pub(crate) fn reads(&mut self, at: u64, reading: Reading) {
        self.comes(at, &reading_frame(reading));
    }

    fn pulled(&self) -> bool {
        self.pulls.iter().any(|(at, long)| (*at..at + long).contains(&self.now))
    }

    fn done(&mut self, order: Order) -> Result<Done, Refusal> {
        if let Some(refusal) = self.refusal {
            return Err(refusal);
        }
        let store = !matches!(
            order,
            Order::Sample(_) | Order::SetClock { .. } | Order::TellClock | Order::TellStore { .. }
        );
        if let Some(refusal) = self.store_refusal.filter(|_| store) {
            return Err(refusal);
        }
        Ok(match order {
            Order::Sample(sampling) => {
                self.sampling = sampling;
                Done::Plain
            }
            Order::Equip(equipment) => {
                self.equipment = Some(equipment);
                Done::Plain
            }
            Order::TellEquipment => Done::Equipment(self.equipment.clone()),
            Order::Keep(bytes) | Order::KeepEarlier(bytes) => {
                Done::Kept(rillmark_proto::record::codec::identity(&bytes))
            }
            Order::ListRecords => {
                Done::Records(self.records.iter().map(|(listed, _)| *listed).collect())
            }
            Order::TellRecord(id) => {
                let found = self.records.iter().find(|(listed, _)| listed.id == id);
                Done::Record(found.ok_or(Refusal::NoSuchRecord { id })?.1.clone())
            }
            Order::SetClock { .. } => Done::Plain,
            Order::TellClock => Done::Clock(None),
            Order::TellStore { offset } => {
                let rest = self.store.get(offset as usize..).unwrap_or_default();
                let bytes = rest.iter().copied().take(self.piece).collect();
                Done::Store(StorePiece { size: self.store.len() as u32, bytes })
            }
        })
    }

    fn hear(&mut self, bytes: &[u8]) {
        let mut out = [0; MAX_FRAME];
        for &byte in bytes {
            let reply = match self.decoder.push(byte) {
                Some(Event::Payload(payload)) => match decode(&payload) {
                    Ok(Incoming::Hello(_)) => Reply::Hello,
                    Ok(Incoming::Command(command)) => Reply::Command(Box::new(command)),
                    _ => continue,
                },
                _ => continue,
            };
            let len = match reply {
                Reply::Hello => encode_hello_answer(self.answer, &mut out),
                Reply::Command(command) => {
                    self.commands.push((*command).clone());
                    if self.withholds_records && matches!(command.order, Order::TellRecord(_)) {
                        continue;
                    }
                    let outcome = self.done(command.order);
                    let answer = FromProbe::Answer(Answer { id: command.id, outcome });
                    encode_from_probe(&answer, &mut out)
                }
            }
            .expect("MAX_FRAME bytes suffice for every message");
            if !self.answers {
                continue;
            }
            if self.lose_answers > 0 {
                self.lose_answers -= 1;
                continue;
            }
            self.comes(self.now + self.answers_after, &out[..len]);
        }
    }
}

enum Reply {
    Hello,
    Command(Box<Command>),
}

/// The frame of a reading.
pub(crate) fn reading_frame(reading: Reading) -> Vec<u8> {
    let mut out = [0; MAX_FRAME];
    let len = encode_from_probe(&FromProbe::Reading(reading), &mut out)
        .expect("MAX_FRAME bytes suffice for every message");
    out[..len].to_vec()
}

/// A reading without content, by its running number; taken half a second apart.
pub(crate) fn empty_reading(running: u32) -> Reading {
    Reading {
        running,
        time: ProbeTime { boot: 3, ms: u64::from(running) * 500 },
        raw: Default::default(),
        flags: Default::default(),
        computed: Default::default(),
        calibrations: Default::default(),
    }
}

/// The line into a [`World`].
pub(crate) struct FakeLink(pub(crate) Rc<RefCell<World>>);

impl FakeLink {
    fn lost(&self) -> LinkError {
        LinkError::Lost { name: "fake".into(), cause: "pulled".into() }
    }
}

impl Link for FakeLink {
    fn receive(&mut self, into: &mut [u8], patience_ms: u64) -> Result<usize, LinkError> {
        let mut world = self.0.borrow_mut();
        let until = world.now + patience_ms;
        loop {
            if world.pulled() {
                world.connected = false;
                // What is sent while the cable is out goes nowhere.
                let now = world.now;
                world.coming.retain(|at, _| *at > now);
            }
            if !world.connected {
                return Err(self.lost());
            }
            let first = world.coming.first_key_value().map(|(at, _)| *at);
            if let Some(at) = first.filter(|at| *at <= world.now) {
                let mut bytes = world.coming.remove(&at).unwrap_or_default();
                let rest = bytes.split_off(bytes.len().min(into.len()));
                into[..bytes.len()].copy_from_slice(&bytes);
                if !rest.is_empty() {
                    world.coming.insert(at, rest);
                }
                return Ok(bytes.len());
            }
            if let Some((_, bytes)) = world.flood.clone().filter(|(from, _)| world.now >= *from) {
                world.now += 1;
                into[..bytes.len()].copy_from_slice(&bytes);
                return Ok(bytes.len());
            }
            if world.now >= until {
                return Ok(0);
            }
            let next_pull =
                world.pulls.iter().map(|(at, _)| *at).filter(|at| *at > world.now).min();
            let next = [first, next_pull, Some(until)].into_iter().flatten().min();
            world.now = next.unwrap_or(until).max(world.now + 1).min(until);
        }
    }

    fn send(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        let mut world = self.0.borrow_mut();
        if world.pulled() {
            world.connected = false;
        }
        if !world.connected {
            return Err(self.lost());
        }
        world.hear(bytes);
        Ok(())
    }

    fn reopen(&mut self) -> Result<(), LinkError> {
        let mut world = self.0.borrow_mut();
        if world.pulled() {
            return Err(LinkError::NotThere { name: "fake".into() });
        }
        let now = world.now;
        world.coming.retain(|at, _| *at > now);
        world.connected = true;
        Ok(())
    }

    fn monotonic_ms(&self) -> u64 {
        self.0.borrow().now
    }

    fn utc_ms(&self) -> i64 {
        let world = self.0.borrow();
        let slept = world.slept.filter(|(at, _)| world.now >= *at).map_or(0, |(_, long)| long);
        let set = world.set.filter(|(at, _)| world.now >= *at).map_or(0, |(_, by)| by);
        UTC_AT_ZERO + (world.now + slept) as i64 + set
    }

    fn wait(&mut self, ms: u64) {
        self.0.borrow_mut().now += ms;
    }

    fn name(&self) -> &str {
        "fake"
    }
}
