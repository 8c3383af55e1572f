//! The exchange buffer, seen from both sides.

use std::sync::atomic::{AtomicU8, Ordering};

/// Room for the longest record as JSON text.
const LEN: usize = 64 * 1024;

static BUFFER: [AtomicU8; LEN] = [const { AtomicU8::new(0) }; LEN];

/// Address of the buffer in the module's memory.
#[unsafe(no_mangle)]
pub extern "C" fn buffer() -> *const AtomicU8 {
    BUFFER.as_ptr()
}

/// How much it holds.
#[unsafe(no_mangle)]
pub extern "C" fn buffer_len() -> usize {
    LEN
}

/// The first bytes, as JavaScript left them.
pub(crate) fn taken(len: usize) -> Vec<u8> {
    BUFFER.iter().take(len).map(|byte| byte.load(Ordering::Relaxed)).collect()
}

/// Gives bytes to JavaScript and says how many.
///
/// # Panics
/// When they are more than fit.
pub(crate) fn given(bytes: &[u8]) -> usize {
    assert!(bytes.len() <= LEN, "{} bytes do not fit", bytes.len());
    for (to, from) in BUFFER.iter().zip(bytes) {
        to.store(*from, Ordering::Relaxed);
    }
    bytes.len()
}
