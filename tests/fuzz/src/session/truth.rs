//! A session of which everything is known, and what of it may be said.

use rillmark::session::entry::{Entry, HeaderReason};
use rillmark::session::reader::{Item, items};
use rillmark::session::replay::{Replayed, Session, Summary, open, replay};
use rillmark_metrology::assess::{Assessment, Assessor};
use rillmark_proto::reading::Reading;
use rillmark_proto::record::fitted::Serial;
use rillmark_proto::wire::encode_from_probe;
use rillmark_proto::wire::frame::MAX_FRAME;
use rillmark_proto::wire::message::FromProbe;

use super::{Damage, Verdict};
use crate::random::Random;

/// The session that `rillmark demo` logged (invented).
const GOLDEN: &[u8] = include_bytes!("../../../golden/session-v1.session");
/// The most bytes of a run or of a piece.
const MOST: usize = 512;

/// A fault that is planted in a session: it tells of nothing, and a verdict has to see it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// The last reading is gone, and its end counts one less.
    Lost,
    /// The last two are gone under their end.
    LostTwo,
    /// The last one is whole, and another.
    Invented,
    /// The last one is gone under its end, and the one before stands there twice.
    LostBesideDouble,
}

/// A session that nothing happened to.
#[derive(Debug)]
pub struct Original {
    /// Its name.
    pub name: &'static str,
    pub(super) bytes: Vec<u8>,
    pub(super) session: Session,
    pub(super) summary: Summary,
    pub(super) taken: Vec<Taken>,
    /// Where items begin, and the end.
    places: Vec<usize>,
    /// Where runs end.
    pub(super) ends: Vec<usize>,
    /// What their ends say.
    pub(super) run_ends: Vec<Entry>,
}

/// A reading as it was taken.
#[derive(Clone, Debug)]
pub(super) struct Taken {
    pub(super) replayed: Replayed,
    /// Number of the run.
    pub(super) run: usize,
    /// What its run and header say.
    thermometer: Option<Serial>,
    junction_ph: Option<f64>,
}

/// All of a replay.
pub(super) fn replayed(bytes: &[u8], session: &Session) -> (Vec<Replayed>, Summary) {
    let mut all = Vec::new();
    let summary = replay(bytes, session, &[], |replayed| all.push(replayed));
    (all, summary.expect("it is in memory"))
}

/// Every session that is damaged.
#[must_use]
pub fn originals() -> [Original; 2] {
    [
        Original::new("two runs", crate::invented::session()),
        Original::new("the demo's", GOLDEN.to_vec()),
    ]
}

impl Original {
    fn new(name: &'static str, bytes: Vec<u8>) -> Self {
        let session = open(&bytes[..]).expect("a session");
        let (all, summary) = replayed(&bytes, &session);
        assert!(summary.verified() && summary.end.is_some(), "{name} is whole: {summary:?}");
        let (mut places, mut ends, mut is_end) = (Vec::new(), Vec::new(), false);
        let (mut run, mut thermometer, mut junction_ph) = (0, None, None);
        let (mut taken, mut all) = (Vec::new(), all.into_iter());
        for item in items(&bytes[..]) {
            let (at, item) = item.expect("it is in memory");
            places.push(at as usize);
            if is_end {
                ends.push(at as usize);
            }
            is_end = matches!(&item, Item::Entry(entry) if matches!(**entry, Entry::End { .. }));
            match item {
                Item::Entry(entry) => {
                    let Entry::Header(header) = *entry else { continue };
                    if header.reason == HeaderReason::Began {
                        (run, junction_ph) = (run + 1, None);
                    }
                    thermometer = header.equipment.and_then(|it| it.fitted.thermometer);
                    junction_ph = header.junction_ph.or(junction_ph);
                }
                Item::Reading(_) => {
                    let replayed = all.next().expect("as many as there are frames");
                    let thermometer = thermometer.clone();
                    taken.push(Taken { replayed, run, thermometer, junction_ph });
                }
                _ => {}
            }
        }
        places.push(bytes.len());
        let run_ends = super::loss::ends(&bytes);
        Self { name, bytes, session, summary, taken, places, ends, run_ends }
    }

    /// The verdict on a session with a fault that its file does not tell.
    #[must_use]
    pub fn spoilt(&self, fault: Fault) -> Verdict {
        self.judged(&self.with(fault))
    }

    fn with(&self, fault: Fault) -> Vec<u8> {
        let mut spans: Vec<_> = self.places.windows(2).map(|pair| pair[0]..pair[1]).collect();
        let is_reading = |span: &std::ops::Range<usize>| {
            matches!(items(&self.bytes[span.clone()]).next(), Some(Ok((_, Item::Reading(_)))))
        };
        let readings: Vec<_> = spans.iter().rev().filter(|it| is_reading(it)).cloned().collect();
        if fault == Fault::Invented {
            let last = &readings[0];
            let Some(Ok((_, Item::Reading(mut reading)))) = items(&self.bytes[last.clone()]).next()
            else {
                return self.bytes.clone();
            };
            reading.time.ms ^= 1;
            let mut frame = [0; MAX_FRAME];
            let frame_len = encode_from_probe(&FromProbe::Reading(*reading), &mut frame);
            let frame = &frame[..frame_len.expect("it fits")];
            let (before, behind) = (&self.bytes[..last.start], &self.bytes[last.end..]);
            return [before, frame, behind].concat();
        }
        // The last ones, of which no number tells; and where one is gone its end counts as much less.
        let many = if fault == Fault::LostTwo { 2 } else { 1 };
        spans.retain(|span| !readings[..many].contains(span));
        if let (Fault::LostBesideDouble, Some(double)) = (fault, readings.get(1)) {
            let at = spans.iter().position(|span| span == double).unwrap_or(0);
            spans.insert(at, double.clone());
        }
        if fault != Fault::Lost {
            return spans.into_iter().flat_map(|it| self.bytes[it].to_vec()).collect();
        }
        let end = spans.pop();
        let mut bytes: Vec<u8> = spans.into_iter().flat_map(|it| self.bytes[it].to_vec()).collect();
        let entry = end.and_then(|span| items(&self.bytes[span]).next()?.ok());
        if let Some((_, Item::Entry(mut entry))) = entry
            && let Entry::End { readings, .. } = &mut *entry
        {
            *readings -= many as u64;
            bytes.extend(entry.frame().expect("it is short"));
        }
        bytes
    }

    /// Bytes of the file.
    #[must_use]
    pub fn size(&self) -> usize {
        self.bytes.len()
    }

    /// The reading of this content.
    pub(super) fn found(&self, reading: &Reading) -> Option<&Taken> {
        self.taken.iter().find(|taken| taken.replayed.reading == *reading)
    }

    /// What can be said at best of these of its readings at these UTCs, one after the other: with all records
    /// and headers there, only readings missing.
    pub(super) fn assessed(&self, readings: &[(&Taken, Option<i64>)]) -> Vec<Assessment> {
        let mut fresh = Assessor::new();
        for (short, held) in &self.session.records {
            fresh.know(*short, held.record.as_ref().expect("nothing happened to it"));
        }
        let (mut assessor, mut run) = (fresh.clone(), 0);
        let mut assessed = Vec::new();
        for (taken, utc_ms) in readings {
            if taken.run != run {
                (assessor, run) = (fresh.clone(), taken.run);
            }
            assessor.beside(taken.thermometer.as_ref());
            taken.junction_ph.into_iter().for_each(|u_ph| assessor.junction(u_ph));
            assessed.push(assessor.reading(&taken.replayed.reading, *utc_ms));
        }
        assessed
    }

    /// Two bits somewhere.
    pub fn pair(&self, random: &mut Random) -> Damage {
        let bits = self.size() * 8;
        Damage::Pair { one: random.below(bits), other: random.below(bits) }
    }

    /// Zeros or ones somewhere.
    pub fn run(&self, random: &mut Random) -> Damage {
        let filling = *random.one_of(&[0x00, 0xff]);
        Damage::Run { at: random.below(self.size()), len: 1 + random.below(MOST), filling }
    }

    /// A piece that goes, comes twice or changes places with the next.
    ///
    /// What comes twice may be whole frames, as a line or a program does it. Else it is any bytes: who moves
    /// whole frames edits the file, and a session is not sealed against that.
    pub fn piece(&self, random: &mut Random) -> Damage {
        let at = random.below(self.size());
        let [len, other] = [(); 2].map(|()| 1 + random.below(MOST));
        match random.below(4) {
            0 => Damage::Gone { at, len },
            1 => Damage::Twice { at, len },
            2 => Damage::Exchanged { at, len, other },
            _ => {
                let first = random.below(self.places.len() - 1);
                let most = *random.one_of(&[3, self.places.len()]);
                let last = (first + 1 + random.below(most)).min(self.places.len() - 1);
                let (at, end) = (self.places[first], self.places[last]);
                Damage::Twice { at, len: end - at }
            }
        }
    }
}
