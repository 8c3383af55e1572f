//! The host's end of the wire, in JSON: for tests that speak to the board without a host beside it.

use std::cell::RefCell;

use rillmark_evaluate_image::Case;
use rillmark_proto::record::codec;
use rillmark_proto::wire::frame::{Decoder, Event, MAX_FRAME};
use rillmark_proto::wire::hello::Hello;
use rillmark_proto::wire::message::{Command, FromProbe, Order, WIRE_VERSION};
use rillmark_proto::wire::{Incoming, decode, encode_command, encode_hello};
use serde_json::{Value, json};

use crate::buffer;

thread_local! {
    static DECODER: RefCell<Decoder> = const { RefCell::new(Decoder::new()) };
}

fn framed(encode: impl FnOnce(&mut [u8]) -> Option<usize>) -> usize {
    let mut frame = [0; MAX_FRAME];
    let len = encode(&mut frame).expect("what tests send fits into a frame");
    buffer::given(&frame[..len])
}

/// The frame of a hello.
#[unsafe(no_mangle)]
pub extern "C" fn wire_hello() -> usize {
    let hello = Hello { wire_min: WIRE_VERSION, wire_max: WIRE_VERSION };
    framed(|frame| encode_hello(hello, frame).ok())
}

/// The frame of a command; its order is in the buffer.
///
/// # Panics
/// When that is no order.
#[unsafe(no_mangle)]
pub extern "C" fn wire_command(id: u32, len: usize) -> usize {
    let order: Order = serde_json::from_slice(&buffer::taken(len)).expect("an order in JSON");
    framed(|frame| encode_command(&Command { id, order }, frame).ok())
}

/// Takes bytes of the line and gives a JSON array of what was said in them.
#[unsafe(no_mangle)]
pub extern "C" fn wire_heard(len: usize) -> usize {
    let mut heard = Vec::new();
    DECODER.with_borrow_mut(|decoder| {
        for byte in buffer::taken(len) {
            heard.extend(decoder.push(byte).map(meaning));
        }
    });
    buffer::given(Value::from(heard).to_string().as_bytes())
}

/// Forgets a frame that was cut off.
#[unsafe(no_mangle)]
pub extern "C" fn wire_cut() {
    DECODER.with_borrow_mut(|decoder| {
        decoder.reset();
    });
}

fn meaning(event: Event<'_>) -> Value {
    let payload = match event {
        Event::Payload(payload) => payload,
        Event::Damage { bytes } => return json!({"damaged": bytes}),
    };
    match decode(&payload) {
        Ok(Incoming::HelloAnswer(answer)) => json!({"hello": {
            "board": answer.board,
            "boot": answer.boot,
            "firmware": answer.firmware,
            "record_max": answer.record_max,
            "start": {
                "cause": format!("{:?}", answer.start.cause),
                "restarts": answer.start.restarts,
                "trouble": answer.start.trouble.map(|trouble| format!("{trouble:?}")),
            },
        }}),
        Ok(Incoming::FromProbe(FromProbe::Answer(answer))) => json!({"answer": answer}),
        Ok(Incoming::FromProbe(FromProbe::Reading(reading))) => json!({"reading": reading}),
        _ => json!({"foreign": true}),
    }
}

/// A record's canonical bytes, in the buffer, become JSON.
///
/// # Panics
/// When they are no record.
#[unsafe(no_mangle)]
pub extern "C" fn record_decode(len: usize) -> usize {
    let record = codec::decode(&buffer::taken(len)).expect("a record");
    buffer::given(json!(record).to_string().as_bytes())
}

/// A record in JSON, in the buffer, becomes its canonical bytes.
///
/// # Panics
/// When it is no record.
#[unsafe(no_mangle)]
pub extern "C" fn record_encode(len: usize) -> usize {
    let record = serde_json::from_slice(&buffer::taken(len)).expect("a record in JSON");
    buffer::given(&codec::encode(&record).expect("canonical bytes"))
}

/// A case for the program that evaluates readings, in JSON in the buffer, becomes its bytes.
///
/// # Panics
/// When it is no case.
#[unsafe(no_mangle)]
pub extern "C" fn case_encode(len: usize) -> usize {
    let case: Case = serde_json::from_slice(&buffer::taken(len)).expect("a case in JSON");
    buffer::given(&postcard::to_allocvec(&case).expect("its bytes"))
}
