//! The stack: guarded at its far end, and measured.
//!
//! The memory protection unit turns the first touch past the end into a fault; paint shows how far
//! the stack ever reached. A fault that finds no stack to be told on stops the processor, which the
//! watchdog ends: the next start is told as stalled.

use cortex_m::peripheral::MPU;
use rillmark_pico::partition::{GUARD_BYTES, STACK_BYTES, STACK_END};

const PAINT: u32 = 0x5a5a_a5a5;

/// Guards the stack's end and paints what is not in use. To be called once, early.
#[inline(never)]
#[allow(unsafe_code)]
pub(super) fn guard_and_paint(mpu: &MPU) {
    /// Far more than what this function itself still puts on the stack.
    const MARGIN: u32 = 128;
    let now = cortex_m::register::msp::read() - MARGIN;
    for address in (STACK_END..now).step_by(4) {
        // SAFETY: inside the stack's region and below everything on it; interrupts stack less than
        // the margin, and what they had there they have left.
        unsafe { (address as *mut u32).write_volatile(PAINT) };
    }
    // Region 0 of the ARMv6-M memory protection unit (architecture reference manual, B3.5): no access
    // and no execution; everything else as without the unit.
    const NUMBER_IS_VALID: u32 = 1 << 4;
    const NEVER_EXECUTE: u32 = 1 << 28;
    const SIZE: u32 = (GUARD_BYTES.trailing_zeros() - 1) << 1;
    const ENABLE: u32 = 1 << 0;
    const BACKGROUND: u32 = 1 << 2;
    // SAFETY: nothing lies in the region: the linker script ends the variables before it.
    unsafe {
        mpu.rbar.write((STACK_END - GUARD_BYTES) | NUMBER_IS_VALID);
        mpu.rasr.write(NEVER_EXECUTE | SIZE | ENABLE);
        mpu.ctrl.write(BACKGROUND | ENABLE);
    }
    cortex_m::asm::dsb();
    cortex_m::asm::isb();
}

/// The most bytes of stack that were ever in use. Takes about a millisecond.
#[allow(unsafe_code)]
pub(super) fn most_used() -> u32 {
    let mut words = (STACK_END..STACK_END + STACK_BYTES).step_by(4);
    // SAFETY: inside the stack's region, aligned.
    let used = words.find(|address| unsafe { (*address as *const u32).read_volatile() } != PAINT);
    used.map_or(0, |used| STACK_END + STACK_BYTES - used)
}
