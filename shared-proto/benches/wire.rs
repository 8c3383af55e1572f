//! Frames per second: written, found in bytes as they come, walked and read in memory.
//!
//! `cargo bench -p rillmark-proto --bench wire`

use divan::counter::{BytesCount, ItemsCount};
use divan::{Bencher, black_box};
use rillmark_proto::identity::ShortId;
use rillmark_proto::reading::{
    CalibrationsUsed, Computed, Flags, ProbeTime, Range, Raw, RawConductance, Reading,
};
use rillmark_proto::wire::frame::{Decoder, Event, MAX_FRAME, Piece, pieces, unpack};
use rillmark_proto::wire::message::FromProbe;
use rillmark_proto::wire::{decode, encode_from_probe};

const READINGS: u32 = 10_000;

fn main() {
    divan::main();
}

/// A reading such as a probe in a lake makes once a second.
fn reading(running: u32) -> Reading {
    let swing = (running % 997) as i32;
    Reading {
        running,
        time: ProbeTime { boot: 3, ms: u64::from(running) * 1000 },
        raw: Raw {
            potential_nv: Some(-20_500_000 + swing * 1000),
            conductance: Some(RawConductance {
                conductance_ps: 312_000_000 + i64::from(swing) * 10_000,
                range: Range::Ohm10k,
            }),
            thermometer_milliohm: Some(1_058_000 + swing as u32),
        },
        flags: Flags::NONE,
        computed: Computed {
            temperature_c: Some(14.9),
            ph: Some(7.36),
            conductivity_us_cm: Some(312.7),
            specific_conductance_us_cm: Some(387.1),
        },
        calibrations: CalibrationsUsed {
            ph: Some(ShortId([1, 2, 3, 4])),
            conductivity: Some(ShortId([5, 6, 7, 8])),
            temperature: Some(ShortId([9, 10, 11, 12])),
        },
    }
}

fn session() -> Vec<u8> {
    let (mut stream, mut out) = (Vec::new(), [0; MAX_FRAME]);
    for running in 0..READINGS {
        let message = FromProbe::Reading(reading(running));
        let len = encode_from_probe(&message, &mut out).expect("fits");
        stream.extend(&out[..len]);
    }
    stream
}

#[divan::bench]
fn encode_readings(bencher: Bencher) {
    let messages: Vec<_> = (0..READINGS).map(|n| FromProbe::Reading(reading(n))).collect();
    bencher.counter(ItemsCount::new(READINGS)).bench_local(|| {
        let mut out = [0; MAX_FRAME];
        messages
            .iter()
            .map(|message| encode_from_probe(message, &mut out).expect("fits"))
            .sum::<usize>()
    });
}

/// As from a line: byte by byte, each frame decoded.
#[divan::bench]
fn decode_from_a_line(bencher: Bencher) {
    let stream = session();
    bencher.counter(ItemsCount::new(READINGS)).bench_local(|| {
        let (mut decoder, mut read) = (Decoder::new(), 0);
        for byte in &stream {
            if let Some(Event::Payload(payload)) = decoder.push(*byte) {
                black_box(decode(&payload).expect("a message"));
                read += 1;
            }
        }
        assert_eq!(read, READINGS);
    });
}

/// As from a session file: each frame decoded.
#[divan::bench]
fn decode_from_memory(bencher: Bencher) {
    let stream = session();
    bencher.counter(ItemsCount::new(READINGS)).bench_local(|| {
        let (mut space, mut read) = ([0; MAX_FRAME], 0);
        for piece in pieces(&stream) {
            let Piece::Frame { raw, .. } = piece else { unreachable!("undamaged") };
            let payload = unpack(raw, &mut space).expect("whole");
            black_box(decode(&payload).expect("a message"));
            read += 1;
        }
        assert_eq!(read, READINGS);
    });
}

/// Only where the frames are.
#[divan::bench]
fn walk_memory(bencher: Bencher) {
    let stream = session();
    bencher.counter(ItemsCount::new(READINGS)).bench_local(|| pieces(&stream).count());
}

/// Bytes in which nothing is whole, with the most work there is: every second byte could begin
/// a frame.
#[divan::bench]
fn reject_the_worst_garbage(bencher: Bencher) {
    let mut stream: Vec<u8> = [0x03, 0x11].into_iter().cycle().take(MAX_FRAME - 1).collect();
    stream.push(0);
    bencher.counter(BytesCount::new(stream.len())).bench_local(|| pieces(&stream).count());
}
