//! Two pieces of work at once.

use std::panic::resume_unwind;
use std::thread;

/// Devices from which a thread of its own is worth its start.
pub(crate) const MANY: usize = 200;

/// Does both, the first on a thread of its own where `at_once` says that it is worth one.
pub(crate) fn both<A: Send, B>(
    at_once: bool,
    first: impl FnOnce() -> A + Send,
    second: impl FnOnce() -> B,
) -> (A, B) {
    if !at_once {
        return (first(), second());
    }
    thread::scope(|scope| {
        let first = scope.spawn(first);
        let second = second();
        // A panic goes on here as if there were no thread.
        let first = first.join().unwrap_or_else(|panic| resume_unwind(panic));
        (first, second)
    })
}
