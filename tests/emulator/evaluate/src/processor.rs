//! The program.

use core::hint::black_box;
use core::panic::PanicInfo;
use core::sync::atomic::{AtomicU8, Ordering};

use cortex_m::asm::{bkpt, udf};
use cortex_m_rt::entry;
use rillmark_evaluate_image::{CASE_BYTES, Case, OUTCOME_BYTES};

/// Where the case is put.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // a name that is found from outside
static CASE: [AtomicU8; CASE_BYTES] = [const { AtomicU8::new(0) }; CASE_BYTES];

/// Where the outcome is found.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // a name that is found from outside
static OUTCOME: [AtomicU8; OUTCOME_BYTES] = [const { AtomicU8::new(0) }; OUTCOME_BYTES];

#[entry]
fn main() -> ! {
    loop {
        bkpt();
        let mut bytes = [0; CASE_BYTES];
        for (to, from) in bytes.iter_mut().zip(&CASE) {
            *to = from.load(Ordering::Relaxed);
        }
        let Ok(case) = postcard::from_bytes::<Case>(&bytes) else { udf() };
        bkpt();
        let computed = black_box(black_box(&case).evaluate());
        bkpt();
        let Ok(outcome) = postcard::to_slice(&case.outcome(&computed), &mut bytes) else { udf() };
        for (from, to) in outcome.iter().zip(&OUTCOME) {
            to.store(*from, Ordering::Relaxed);
        }
    }
}

#[panic_handler]
fn panic(_: &PanicInfo<'_>) -> ! {
    udf()
}
