//! A probe that speaks enough of the protocol to be believed, and then lies.

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::SeqCst};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use rillmark_fuzz::random::Random;
use rillmark_proto::identity::{BoardId, RecordId};
use rillmark_proto::reading::Reading;
use rillmark_proto::record::codec::{self, RECORD_VERSION};
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::record::{Record, RecordBytes};
use rillmark_proto::wire::frame::{Decoder, Event, MAX_FRAME, encode, kind};
use rillmark_proto::wire::hello::HelloAnswer;
use rillmark_proto::wire::message::{
    Answer, Command, Done, FromProbe, Listed, Order, Refusal, Sampling, StorePiece, WIRE_VERSION,
};
use rillmark_proto::wire::start::Start;
use rillmark_proto::wire::{Incoming, decode, encode_from_probe, encode_hello_answer};

/// Ends the line, says something as if it were ours, and has a terminal turn and hide what stands around.
const HOSTILE: &str = "\nok\x1b[2K\u{9b}\u{202e}\r\u{200b}\x07\u{2066}\u{e0041}";

/// What it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lie {
    /// The truth, to see that the rest is no harm of ours.
    None,
    /// Nothing is ever said.
    Silent,
    /// The line ends at once, or after some frames.
    Leaves,
    /// Bytes without end.
    Noise,
    /// Readings without end, unasked.
    Flood,
    /// Other records than those that were asked for.
    OtherRecord,
    /// As many records as there can be, and a store without end.
    Endless,
    /// Readings that contradict each other, with the same number.
    Contradictions,
    /// Text that a terminal obeys.
    Text,
    /// Numbers that are none, or without sense.
    Numbers,
    /// Answers to other questions, refusals, other starts.
    Nonsense,
    /// Whole frames of any content.
    Frames,
}

impl Lie {
    pub(crate) const ALL: [Self; 12] = [
        Self::None,
        Self::Silent,
        Self::Leaves,
        Self::Noise,
        Self::Flood,
        Self::OtherRecord,
        Self::Endless,
        Self::Contradictions,
        Self::Text,
        Self::Numbers,
        Self::Nonsense,
        Self::Frames,
    ];
}

/// What it tells where it does not lie.
#[derive(Clone, Debug)]
pub(crate) struct Story {
    pub(crate) board: BoardId,
    pub(crate) records: Vec<(RecordId, Record)>,
    pub(crate) fitted: Fitted,
    pub(crate) readings: Vec<Reading>,
}

/// The server; it ends with this value.
#[derive(Debug)]
pub(crate) struct Liar {
    pub(crate) port: String,
    ended: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Liar {
    pub(crate) fn start(lie: Lie, story: Story, seed: u64) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        listener.set_nonblocking(true).expect("TCP can do it");
        let port = format!("tcp:{}", listener.local_addr().expect("it is bound"));
        let ended = Arc::new(AtomicBool::new(false));
        let until = Arc::clone(&ended);
        let mut tongue = Tongue {
            lie,
            story,
            random: Random::new(seed),
            sampling: false,
            running: 0,
            frames: 0,
        };
        let thread = thread::spawn(move || {
            while !until.load(SeqCst) {
                match listener.accept() {
                    Ok((stream, _)) => tongue.speak(stream, &until),
                    Err(_) => thread::sleep(Duration::from_millis(1)),
                }
            }
        });
        Self { port, ended, thread: Some(thread) }
    }
}

impl Drop for Liar {
    fn drop(&mut self) {
        self.ended.store(true, SeqCst);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

struct Tongue {
    lie: Lie,
    story: Story,
    random: Random,
    sampling: bool,
    running: u32,
    frames: usize,
}

impl Tongue {
    /// One connection, until the other end is gone.
    fn speak(&mut self, mut stream: TcpStream, ended: &AtomicBool) {
        let set = stream.set_nonblocking(false);
        let set = set.and(stream.set_read_timeout(Some(Duration::from_millis(2))));
        let set = set.and(stream.set_write_timeout(Some(Duration::from_millis(500))));
        let (mut decoder, mut space) = (Decoder::new(), [0; 4096]);
        (self.sampling, self.frames) = (false, 0);
        let leaves_after = self.random.below(6);
        while set.is_ok() && !ended.load(SeqCst) {
            let count = match stream.read(&mut space) {
                Ok(0) => return,
                Ok(count) => count,
                Err(error) if error.kind() == std::io::ErrorKind::ConnectionReset => return,
                Err(_) => 0,
            };
            if self.lie == Lie::Leaves && self.frames >= leaves_after {
                return;
            }
            let mut out = Vec::new();
            for &byte in &space[..count] {
                let Some(Event::Payload(payload)) = decoder.push(byte) else { continue };
                self.frames += 1;
                match decode(&payload) {
                    Ok(Incoming::Hello(_)) => out.extend(self.hello()),
                    Ok(Incoming::Command(command)) => out.extend(self.answer(&command)),
                    _ => {}
                }
            }
            if self.sampling || self.lie == Lie::Flood {
                let most = if self.lie == Lie::Flood { 200 } else { 1 };
                out.extend((0..most).flat_map(|_| self.reading()).collect::<Vec<_>>());
            }
            match self.lie {
                Lie::Silent => out.clear(),
                Lie::Noise => out.extend((0..2_000).map(|_| self.random.bits() as u8)),
                Lie::Frames => out.extend(self.frame()),
                _ => {}
            }
            if stream.write_all(&out).is_err() {
                return;
            }
        }
    }

    fn is(&mut self, lie: Lie) -> bool {
        self.lie == lie && self.random.below(2) == 0
    }

    fn hello(&mut self) -> Vec<u8> {
        let mut answer = HelloAnswer {
            wire_min: WIRE_VERSION,
            wire_max: WIRE_VERSION,
            record_max: RECORD_VERSION,
            board: self.story.board,
            boot: 3,
            firmware: [0, 1, 0],
            start: Start::POWER_ON,
        };
        if self.is(Lie::Nonsense) {
            let mut bytes = answer.to_bytes();
            for byte in &mut bytes[8..] {
                if self.random.below(3) == 0 {
                    *byte = self.random.bits() as u8;
                }
            }
            answer = HelloAnswer::from_bytes(&bytes).unwrap_or(answer);
        }
        let mut out = [0; MAX_FRAME];
        let len = encode_hello_answer(answer, &mut out).expect("it fits");
        out[..len].to_vec()
    }

    fn answer(&mut self, command: &Command) -> Vec<u8> {
        let outcome = match self.is(Lie::Nonsense) {
            true => self.nonsense(),
            false => self.done(&command.order),
        };
        let id = match self.is(Lie::Nonsense) {
            true => self.random.bits() as u32,
            false => command.id,
        };
        message(&FromProbe::Answer(Answer { id, outcome }))
    }

    fn nonsense(&mut self) -> Result<Done, Refusal> {
        let id = RecordId([self.random.bits() as u8; 16]);
        match self.random.below(9) {
            0 => Ok(Done::Plain),
            1 => Ok(Done::Equipment(None)),
            2 => Ok(Done::Kept(id)),
            3 => Ok(Done::Records(heapless_of([]))),
            4 => Ok(Done::Clock(Some(self.random.bits() as i64))),
            5 => Err(Refusal::StoreCorrupt),
            6 => Err(Refusal::NoSuchRecord { id }),
            7 => Err(Refusal::RecordVersion { found: 255, newest: 0 }),
            _ => Err(Refusal::StoreFull { needed: u32::MAX }),
        }
    }

    fn done(&mut self, order: &Order) -> Result<Done, Refusal> {
        Ok(match order {
            Order::Sample(sampling) => {
                self.sampling = *sampling != Sampling::Off;
                Done::Plain
            }
            Order::TellEquipment => {
                let fitted = match self.lie {
                    Lie::Text => Fitted {
                        electrode: Some(hostile()),
                        cell: Some(hostile()),
                        thermometer: Some(hostile()),
                    },
                    _ => self.story.fitted.clone(),
                };
                let utc_ms = if self.lie == Lie::Numbers { i64::MIN } else { 1_800_000_000_000 };
                Done::Equipment(Some(Equipment { fitted, utc_ms }))
            }
            Order::Keep(bytes) => match self.is(Lie::OtherRecord) {
                true => Done::Kept(RecordId([7; 16])),
                false => Done::Kept(codec::identity(bytes)),
            },
            Order::ListRecords => {
                let told = self.told();
                let times = if self.lie == Lie::Endless { 16 } else { 1 };
                let listed = (0..times).flat_map(|_| &told).map(|(id, record)| Listed {
                    id: *id,
                    kind: record.kind(),
                    quantity: record.quantity(),
                    in_force: record.calibration().is_some(),
                    whole: true,
                });
                Done::Records(heapless_of(listed.take(16)))
            }
            Order::TellRecord(id) => {
                let told = self.told();
                let asked = told.iter().find(|(told, _)| told == id);
                let other = told.iter().find(|(told, _)| told != id);
                let found = if self.lie == Lie::OtherRecord { other } else { asked };
                let (_, record) = found.ok_or(Refusal::NoSuchRecord { id: *id })?;
                Done::Record(codec::encode(record).map_err(|_| Refusal::RecordUnreadable)?)
            }
            Order::TellClock => match self.lie {
                Lie::Numbers => Done::Clock(Some(i64::MAX)),
                _ => Done::Clock(Some(1_800_000_000_000)),
            },
            Order::TellStore { offset } => {
                let size = if self.lie == Lie::Endless { 16 << 20 } else { 8 };
                let len = usize::from(self.lie == Lie::Endless).max(8 - *offset as usize % 8);
                Done::Store(StorePiece { size, bytes: heapless_of((0..len).map(|_| 0x5a)) })
            }
            Order::Equip(_) | Order::SetClock { .. } => Done::Plain,
        })
    }

    /// The records as they are told.
    fn told(&self) -> Vec<(RecordId, Record)> {
        let tell = |(id, record): &(RecordId, Record)| {
            let mut record = record.clone();
            match (self.lie, &mut record) {
                (Lie::Text, Record::Calibration(it)) => {
                    it.operator = hostile();
                    for point in &mut it.points {
                        (point.standard, point.lot) = (hostile(), hostile());
                        point.certificate = hostile();
                    }
                }
                (Lie::Numbers, Record::Calibration(it)) => {
                    (it.utc_ms, it.due_utc_ms) = (i64::MAX, Some(i64::MIN));
                    for (at, point) in it.points.iter_mut().enumerate() {
                        point.value = [f64::NAN, 1e308, f64::NEG_INFINITY][at % 3];
                        point.value_uncertainty = -1e300;
                        point.temperature_c = f64::INFINITY;
                    }
                }
                _ => return (*id, record),
            }
            // Its own identity, so that it is believed.
            let bytes = codec::encode(&record);
            (bytes.map_or(*id, |bytes: RecordBytes| codec::identity(&bytes)), record)
        };
        self.story.records.iter().map(tell).collect()
    }

    fn reading(&mut self) -> Vec<u8> {
        let Some(reading) = self.story.readings.first() else { return Vec::new() };
        let mut reading = *reading;
        if !self.is(Lie::Contradictions) {
            self.running = self.running.wrapping_add(1);
        }
        reading.running = self.running;
        reading.time.ms += u64::from(self.running) * 500;
        match self.lie {
            Lie::Contradictions => reading.flags.0 = self.random.below(3) as _,
            Lie::Numbers => {
                let wild = [f32::NAN, f32::INFINITY, -0.0, f32::MAX, f32::MIN_POSITIVE];
                let mut one = || Some(*self.random.one_of(&wild));
                reading.computed.ph = one();
                reading.computed.temperature_c = one();
                reading.computed.conductivity_us_cm = one();
                reading.raw.potential_nv = Some(i32::MIN);
                reading.raw.thermometer_milliohm = Some(u32::MAX);
                reading.time.ms = *self.random.one_of(&[0, u64::MAX, reading.time.ms, 1 << 63]);
                reading.running = *self.random.one_of(&[0, u32::MAX, self.running]);
                if let Some(conductance) = &mut reading.raw.conductance {
                    conductance.conductance_ps = i64::MIN;
                }
            }
            _ => {}
        }
        message(&FromProbe::Reading(reading))
    }

    /// A whole frame of any content.
    fn frame(&mut self) -> Vec<u8> {
        let body: Vec<u8> = (0..self.random.below(200)).map(|_| self.random.bits() as u8).collect();
        let kind = *self.random.one_of(&kind::KNOWN);
        let version = *self.random.one_of(&[0, 1, 1, 1, 2, 255]);
        let mut out = [0; MAX_FRAME];
        encode(kind, version, &body, &mut out)
            .map_or_else(|_| Vec::new(), |len| out[..len].to_vec())
    }
}

fn message(message: &FromProbe) -> Vec<u8> {
    let mut out = [0; MAX_FRAME];
    encode_from_probe(message, &mut out).map_or_else(|_| Vec::new(), |len| out[..len].to_vec())
}

/// As much of the hostile text as fits.
fn hostile<T: for<'a> TryFrom<&'a str>>() -> T {
    let mut ends = HOSTILE.char_indices().rev();
    ends.find_map(|(end, _)| T::try_from(&HOSTILE[..end]).ok()).expect("some of it fits")
}

fn heapless_of<T: FromIterator<U>, U>(from: impl IntoIterator<Item = U>) -> T {
    from.into_iter().collect()
}
