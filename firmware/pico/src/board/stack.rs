//! The stack: guarded at its far end, and measured.
//!
//! The memory protection unit turns the first write past the end into a fault; paint shows how far
//! the stack ever reached.

use rillmark_pico::partition::{RAM_ADDRESS, RAM_BUDGET, STACK_BYTES};

/// Where the stack ends, seen from where it begins (as the linker script has it).
const END: u32 = RAM_ADDRESS + RAM_BUDGET;
/// Bytes at the end that the guard takes.
const GUARD_BYTES: u32 = 32;
const PAINT: u32 = 0x5a5a_a5a5;

/// Guards the stack's end and paints what is not in use. To be called once, early.
#[inline(never)]
#[allow(unsafe_code)]
pub(super) fn guard_and_paint() {
    /// Far more than what this function itself still puts on the stack.
    const MARGIN: u32 = 128;
    let now = cortex_m::register::msp::read() - MARGIN;
    for address in (END + GUARD_BYTES..now).step_by(4) {
        // SAFETY: inside the stack's region and below everything on it; interrupts stack less than
        // the margin, and what they had there they have left.
        unsafe { (address as *mut u32).write_volatile(PAINT) };
    }
    if embassy_rp::install_core0_stack_guard().is_err() {
        defmt::warn!("the stack is not guarded");
    }
}

/// The most bytes of stack that were ever in use.
#[allow(unsafe_code)]
pub(super) fn most_used() -> u32 {
    let mut words = (END + GUARD_BYTES..END + STACK_BYTES).step_by(4);
    // SAFETY: inside the stack's region, aligned.
    let used = words.find(|address| unsafe { (*address as *const u32).read_volatile() } != PAINT);
    used.map_or(0, |used| END + STACK_BYTES - used)
}
