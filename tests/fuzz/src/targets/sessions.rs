//! Session files: every byte is accounted for, nothing is handed out that the file does not hold, and a log
//! goes on in it without touching what is there.

use std::io::{BufReader, Cursor};

use rillmark::session::entry::{EndReason, Entry, HostTime};
use rillmark::session::reader::{Item, items};
use rillmark::session::replay::{Match, Replayed, Summary, open, replay};
use rillmark::session::writer::joint;
use rillmark_proto::reading::Reading;
use rillmark_proto::wire::frame::{MAX_FRAME, Piece, pieces, unpack};
use rillmark_proto::wire::message::FromProbe;
use rillmark_proto::wire::{Incoming, decode};

use super::records::is_finite_or_nothing;
use crate::store::BOARD;

pub(super) fn seeds() -> Vec<Vec<u8>> {
    let whole = crate::invented::session();
    // Beginnings of it cost less, and show the same of records and marks.
    let ends = found(&whole).into_iter().filter(|(_, item)| matches!(item, Item::Reading(_)));
    let ends: Vec<usize> = ends.map(|(at, _)| at as usize).take(4).collect();
    let mut seeds: Vec<_> = ends.iter().map(|end| whole[..*end].to_vec()).collect();
    // One without records.
    let all = found(&whole);
    let small = all.windows(2).filter(
        |pair| !matches!(&pair[0].1, Item::Entry(entry) if matches!(**entry, Entry::Record { .. })),
    );
    let small = small.flat_map(|pair| whole[pair[0].0 as usize..pair[1].0 as usize].to_vec());
    seeds.push(small.collect());
    seeds.push(whole);
    seeds
}

/// Everything in a session, with its places.
fn found(bytes: &[u8]) -> Vec<(u64, Item)> {
    items(bytes).map(|item| item.expect("it is in memory")).collect()
}

/// Bytes of an opening: of what is shorter a log writes the rest.
const OPENING: usize = 25;

/// True when it is a session.
pub(super) fn check(bytes: &[u8]) -> bool {
    let held = tiled(bytes);
    let Ok(session) = open(bytes) else {
        let goes_on = joint(&mut Cursor::new(bytes), "it", BOARD).is_ok();
        assert!(!goes_on || bytes.len() < OPENING, "no log goes on in it");
        return false;
    };
    let mut handed: Vec<Reading> = Vec::new();
    let summary = replay(bytes, &session, &[], |replayed| {
        sound(&replayed);
        handed.push(replayed.reading);
    });
    let summary = summary.expect("it is in memory");
    adds_up(bytes, &held, &handed, &summary);
    goes_on(bytes, &held);
    !held.is_empty()
}

/// The readings that the bytes hold; that every byte is part of one item, and that it does not matter in which
/// pieces a file is read.
fn tiled(bytes: &[u8]) -> Vec<Reading> {
    let all = found(bytes);
    let few = BufReader::with_capacity(1 + bytes.len() % 61, bytes);
    let in_pieces = items(few).map(|item| item.expect("it is in memory"));
    // By its text too: a NaN in a header is not equal to itself.
    let is_same = |(one, other): (_, &_)| one == *other || by_text(&one) == by_text(other);
    let in_pieces: Vec<_> = in_pieces.collect();
    assert_eq!(in_pieces.len(), all.len(), "as much in pieces");
    assert!(in_pieces.into_iter().zip(&all).all(is_same), "the same in pieces");
    let (mut held, mut end) = (Vec::new(), 0);
    let ends = all.iter().skip(1).map(|(at, _)| *at).chain([bytes.len() as u64]);
    for ((at, item), next) in all.iter().zip(ends) {
        assert_eq!(*at, end, "items follow each other");
        assert!(next > end, "an item has bytes");
        end = next;
        match item {
            Item::Damage { bytes } | Item::Torn { bytes } => assert_eq!(at + bytes, end),
            Item::Reading(reading) => held.push(**reading),
            Item::Entry(_) | Item::Other | Item::Newer { .. } => {}
        }
    }
    assert_eq!(end, bytes.len() as u64, "every byte is part of an item");
    assert_eq!(held.len(), by_hand(bytes), "as many readings as there are frames of readings");
    held
}

fn by_content(reading: &Reading) -> String {
    format!("{reading:?}")
}

fn by_text(item: &(u64, Item)) -> String {
    format!("{item:?}")
}

/// Frames that say a reading.
fn by_hand(bytes: &[u8]) -> usize {
    let mut space = [0; MAX_FRAME];
    let readings = pieces(bytes).filter(|piece| {
        let Piece::Frame { raw, .. } = piece else { return false };
        let payload = unpack(raw, &mut space).expect("it is whole");
        matches!(decode(&payload), Ok(Incoming::FromProbe(FromProbe::Reading(_))))
    });
    readings.count()
}

/// What is not defined is no number; what is another than recorded is said.
fn sound(replayed: &Replayed) {
    let Replayed { reading, assessment, matches, .. } = replayed;
    is_finite_or_nothing(&assessment.computed);
    let u = &assessment.uncertainty;
    for u in [u.temperature_k, u.ph, u.conductivity_us_cm, u.specific_conductance_us_cm] {
        assert!(u.is_none_or(|u| u.is_finite() && u >= 0.0), "no uncertainty: {u:?}");
    }
    for age in [assessment.ages.ph, assessment.ages.conductivity, assessment.ages.temperature] {
        assert!(age.is_none_or(f64::is_finite), "no age: {age:?}");
    }
    if *matches == Match::Same {
        assert!(reading.computed.same_bits(&assessment.computed), "said to be the same");
    }
}

fn adds_up(bytes: &[u8], held: &[Reading], handed: &[Reading], summary: &Summary) {
    assert_eq!(summary.readings, handed.len() as u64);
    assert_eq!(summary.readings + summary.duplicates, held.len() as u64, "none is passed over");
    let mut held = held.iter();
    for reading in handed {
        let is_there = held.any(|other| other == reading);
        assert!(is_there, "handed out in the order of the file, and none that is not there");
    }
    assert!(summary.damaged_bytes + summary.torn_bytes <= bytes.len() as u64);
    assert!(summary.mismatches + summary.unresolved <= summary.readings);
    assert!(summary.without_header <= summary.readings + summary.duplicates);
    assert!(summary.store_faults <= summary.readings && summary.cut_short <= summary.parts);
    assert!(summary.gaps >= u64::from(summary.missing_readings > 0));
}

/// A log that goes on in the file leaves every reading as it was, and its own entries are found.
fn goes_on(bytes: &[u8], held: &[Reading]) {
    let Ok(missing) = joint(&mut Cursor::new(bytes), "it", BOARD) else { return };
    let at = HostTime { monotonic_ms: 0, utc_ms: 0 };
    let note = Entry::Note { at, text: "goes on".into() };
    let end =
        Entry::End { reason: EndReason::Done, at, headers: 1, readings: 0, line_damaged_bytes: 0 };
    let mut longer = [bytes, &missing].concat();
    let before = longer.len();
    for entry in [&note, &end] {
        longer.extend(entry.frame().expect("it is short"));
    }
    let all = found(&longer);
    let mut own = all.iter().filter(|(at, _)| *at >= before as u64).map(|(_, item)| item);
    for entry in [note, end] {
        assert_eq!(own.next(), Some(&Item::Entry(Box::new(entry))), "what is appended is found");
    }
    let now: Vec<&Reading> = all
        .iter()
        .filter_map(|(_, item)| match item {
            Item::Reading(reading) => Some(&**reading),
            _ => None,
        })
        .collect();
    // Those that came twice too; a delimiter may make one of what was cut short.
    let is_same = |(now, then): (&&Reading, &Reading)| by_content(now) == by_content(then);
    assert!(now.len() >= held.len() && now.iter().zip(held).all(is_same), "all of it stays");
    assert!(now.len() - held.len() <= usize::from(!missing.is_empty()), "and no other");
}
