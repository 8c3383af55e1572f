//! What is done when the program cannot go on, and what the next start learns of it.

use core::cell::UnsafeCell;
use core::mem::MaybeUninit;
use core::panic::PanicInfo;
use core::sync::atomic::{AtomicBool, Ordering};

use cortex_m_rt::{ExceptionFrame, exception};
use embassy_rp::pac;
use rillmark_firmware::restart::{KEPT_LEN, Kept, Reset};
use rillmark_proto::wire::start::{FileTail, Start, Trouble};

/// RAM that the start-up code leaves as it is, so that it lives through every restart with power.
#[repr(transparent)]
struct Uncleared(UnsafeCell<MaybeUninit<[u8; KEPT_LEN]>>);

// SAFETY: only `load` and `store` touch it, with interrupts off, and the second core never runs.
#[allow(unsafe_code)]
unsafe impl Sync for Uncleared {}

#[allow(unsafe_code)] // SAFETY: the section holds nothing but such bytes
#[unsafe(link_section = ".uninit.last_words")]
static KEPT: Uncleared = Uncleared(UnsafeCell::new(MaybeUninit::uninit()));

#[allow(unsafe_code)]
fn load() -> Option<Kept> {
    let bytes = cortex_m::interrupt::free(|_| {
        // SAFETY: interrupts are off. Every content is a valid array of bytes, and a volatile read
        // takes what the RAM holds, written by this run or not.
        unsafe { KEPT.0.get().cast::<[u8; KEPT_LEN]>().read_volatile() }
    });
    Kept::from_bytes(&bytes)
}

#[allow(unsafe_code)]
fn store(kept: Kept) {
    cortex_m::interrupt::free(|_| {
        // SAFETY: interrupts are off, and nobody holds a reference.
        unsafe { KEPT.0.get().cast::<[u8; KEPT_LEN]>().write_volatile(kept.to_bytes()) }
    });
}

/// Marks in the watchdog's first scratch register that the watchdog is this program's own. It is
/// cleared with the power and by the reset pin; the boot ROM's own watchdog, which starts a program
/// that was just written, leaves it cleared (RP2040 data sheet, 4.7.4).
const OURS: u32 = u32::from_le_bytes(*b"RILL");

fn reset() -> Reset {
    // The watchdog's reason comes first: the chip's tells of its last reset, however long ago.
    let reason = pac::WATCHDOG.reason().read();
    let chip = pac::VREG_AND_CHIP_RESET.chip_reset().read();
    if reason.timer() && pac::WATCHDOG.scratch0().read() == OURS {
        Reset::WatchdogExpired
    } else if reason.timer() || reason.force() {
        Reset::WatchdogForced
    } else if chip.had_por() {
        Reset::PowerOn
    } else if chip.had_run() {
        Reset::Pin
    } else if chip.had_psm_restart() {
        Reset::Debugger
    } else {
        Reset::Unknown
    }
}

/// Begins a run: says how it came to start. To be called once, before the watchdog is started.
pub(super) fn begin() -> Start {
    let begun = Kept::begin(reset(), load());
    store(begun);
    pac::WATCHDOG.scratch0().write_value(OURS);
    begun.start()
}

/// Leaves word and starts the board anew.
fn end(trouble: Trouble) -> ! {
    static IS_ENDING: AtomicBool = AtomicBool::new(false);
    cortex_m::interrupt::disable();
    // What goes wrong on the way out is not what went wrong.
    if !IS_ENDING.load(Ordering::Relaxed) {
        IS_ENDING.store(true, Ordering::Relaxed);
        let kept = load().unwrap_or_else(|| Kept::begin(Reset::Unknown, None));
        store(kept.ended(trouble));
        match trouble {
            Trouble::Panic { file, line } => defmt::error!("panic in {}:{}", file.as_str(), line),
            Trouble::Fault { address } => defmt::error!("fault at {:#010x}", address),
        }
    }
    // Everything but the two oscillators (RP2040 data sheet, 2.13.3).
    pac::PSM.wdsel().write_value(pac::psm::regs::Wdsel(0x0001_fffc));
    pac::WATCHDOG.ctrl().modify(|ctrl| ctrl.set_trigger(true));
    loop {
        cortex_m::asm::nop();
    }
}

#[panic_handler]
fn panic(info: &PanicInfo<'_>) -> ! {
    let (file, line) = info.location().map_or(("", 0), |at| (at.file(), at.line()));
    end(Trouble::Panic { file: FileTail::of(file), line })
}

#[allow(unsafe_code)] // SAFETY: as the attribute asks for; it only leaves word and restarts
#[exception]
unsafe fn HardFault(frame: &ExceptionFrame) -> ! {
    end(Trouble::Fault { address: frame.pc() })
}
