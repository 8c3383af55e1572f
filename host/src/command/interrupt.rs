//! Ctrl-C (and the system's wish to end us) as a question that a long command asks now and then.

use std::sync::atomic::{AtomicBool, Ordering};

static INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// Listens from now on; the returned question says whether somebody wants the command to end. A
/// second Ctrl-C ends the process at once, as far as our files are concerned like a killed one.
pub fn listen() -> fn() -> bool {
    // A listener that cannot be set, or is set already, leaves the system's behaviour or ours.
    let _ = ctrlc::set_handler(|| {
        if INTERRUPTED.swap(true, Ordering::SeqCst) {
            std::process::exit(130);
        }
    });
    || INTERRUPTED.load(Ordering::SeqCst)
}
