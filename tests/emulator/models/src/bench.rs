//! The bench: what the board's bus and pins do to it.

use std::cell::RefCell;

use rillmark_bench::{BareBench, Drive, Pin};

use crate::buffer;
use crate::control;

thread_local! {
    /// One module is one bench; whoever needs another one makes another module.
    static BENCH: RefCell<Option<BareBench>> = const { RefCell::new(None) };
}

/// Does something with the bench.
///
/// # Panics
/// Before [`bench_new`].
fn with<T>(act: impl FnOnce(&mut BareBench) -> T) -> T {
    BENCH.with_borrow_mut(|bench| act(bench.as_mut().expect("`bench_new` comes first")))
}

/// The pins in the order in which JavaScript numbers them.
const PINS: [Pin; 6] =
    [Pin::RangeLow, Pin::RangeHigh, Pin::TapLow, Pin::TapHigh, Pin::Cell, Pin::PowerNot];

/// Builds the bench of a seed; a clock that is not a number is a chip that lost its time.
#[unsafe(no_mangle)]
pub extern "C" fn bench_new(seed: u32, clock_unix_s: f64) {
    let keeps = clock_unix_s.is_finite().then_some(clock_unix_s as i64);
    BENCH.set(Some(BareBench::new(u64::from(seed), keeps)));
}

/// 1 when a chip answers to this address.
#[unsafe(no_mangle)]
pub extern "C" fn bench_answers(address: u8) -> u32 {
    with(|bench| u32::from(bench.answers(address)))
}

/// Bytes written to a chip.
#[unsafe(no_mangle)]
pub extern "C" fn bench_write(address: u8, len: usize, now_ns: f64) {
    let bytes = buffer::taken(len);
    with(|bench| bench.write(address, &bytes, now_ns as u64));
}

/// One byte read from a chip, counted from 0 within that read.
#[unsafe(no_mangle)]
pub extern "C" fn bench_read(address: u8, index: usize, now_ns: f64) -> u8 {
    with(|bench| bench.read(address, index, now_ns as u64))
}

/// A pin of the front end, 0 to 5: range low and high, tap low and high, cell, power (not).
#[unsafe(no_mangle)]
pub extern "C" fn bench_pin(pin: usize, high: u32, now_ns: f64) {
    with(|bench| bench.set_pin(PINS[pin], high != 0, now_ns as u64));
}

/// The square wave runs at this frequency.
#[unsafe(no_mangle)]
pub extern "C" fn bench_drive(hz: f64, now_ns: f64) {
    with(|bench| bench.set_drive(Drive::Running { hz }, now_ns as u64));
}

/// The drive is held at mid.
#[unsafe(no_mangle)]
pub extern "C" fn bench_park(now_ns: f64) {
    with(|bench| bench.set_drive(Drive::Parked, now_ns as u64));
}

/// Nothing drives.
#[unsafe(no_mangle)]
pub extern "C" fn bench_float(now_ns: f64) {
    with(|bench| bench.set_drive(Drive::Floating, now_ns as u64));
}

/// 1 while the clock chip pulls its alarm pin low.
#[unsafe(no_mangle)]
pub extern "C" fn bench_alarm(now_ns: f64) -> u32 {
    with(|bench| u32::from(bench.alarm(now_ns as u64)))
}

/// The board's power goes.
#[unsafe(no_mangle)]
pub extern "C" fn bench_power_off(now_ns: f64) {
    with(|bench| bench.power_off(now_ns as u64));
}

/// Carries out a control line and answers with a JSON object.
#[unsafe(no_mangle)]
pub extern "C" fn bench_control(len: usize, now_ns: f64) -> usize {
    let line = buffer::taken(len);
    let line = String::from_utf8_lossy(&line);
    let reply = with(|bench| control::carry_out(bench, &line, now_ns as u64));
    buffer::given(reply.to_string().as_bytes())
}
