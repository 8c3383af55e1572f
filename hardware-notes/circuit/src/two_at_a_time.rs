//! Runs decks two at a time.

use std::sync::Mutex;
use std::thread;

use crate::ngspice::SpiceError;

/// What `run` makes of each item, in their order.
///
/// # Errors
/// The first that a run gave.
pub(crate) fn map<I: Sync, T: Send>(
    items: &[I],
    run: impl Fn(&I) -> Result<T, SpiceError> + Sync,
) -> Result<Vec<T>, SpiceError> {
    let queue = Mutex::new(items.iter().enumerate());
    let work = || {
        let next = || queue.lock().expect("nobody panics with the queue").next();
        let mut done = Vec::new();
        while let Some((at, item)) = next() {
            let result = run(item);
            let failed = result.is_err();
            done.push((at, result));
            if failed {
                break;
            }
        }
        done
    };
    let mut done = thread::scope(|scope| {
        let other = scope.spawn(work);
        let mut done = work();
        done.extend(other.join().expect("a run does not panic"));
        done
    });
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}
