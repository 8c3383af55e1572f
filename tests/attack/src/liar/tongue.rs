//! Answers, and lies in place of answers.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::atomic::{AtomicBool, Ordering::SeqCst};
use std::time::Duration;

use rillmark_fuzz::random::Random;
use rillmark_proto::identity::RecordId;
use rillmark_proto::record::codec::{self, RECORD_VERSION};
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::wire::frame::{Decoder, Event, MAX_FRAME};
use rillmark_proto::wire::hello::HelloAnswer;
use rillmark_proto::wire::message::{
    Answer, Command, Done, FromProbe, Listed, Order, Refusal, Sampling, StorePiece, WIRE_VERSION,
};
use rillmark_proto::wire::start::Start;
use rillmark_proto::wire::{Incoming, decode, encode_from_probe, encode_hello_answer};

use super::told::hostile;
use super::{Lie, Story};

/// What a liar says.
pub(super) struct Tongue {
    pub(super) lie: Lie,
    pub(super) story: Story,
    pub(super) random: Random,
    sampling: bool,
    pub(super) running: u32,
    frames: usize,
}

impl Tongue {
    pub(super) fn new(lie: Lie, story: Story, seed: u64) -> Self {
        let random = Random::new(seed);
        Self { lie, story, random, sampling: false, running: 0, frames: 0 }
    }

    /// One connection, until the other end is gone.
    pub(super) fn speak(&mut self, mut stream: TcpStream, ended: &AtomicBool) {
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

    pub(super) fn is(&mut self, lie: Lie) -> bool {
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
            Order::Keep(bytes) | Order::KeepEarlier(bytes) => match self.is(Lie::OtherRecord) {
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
}

/// A message's frame.
pub(super) fn message(message: &FromProbe) -> Vec<u8> {
    let mut out = [0; MAX_FRAME];
    encode_from_probe(message, &mut out).map_or_else(|_| Vec::new(), |len| out[..len].to_vec())
}

fn heapless_of<T: FromIterator<U>, U>(from: impl IntoIterator<Item = U>) -> T {
    from.into_iter().collect()
}
