//! Work on more than one thread: two halves at once, or many pieces in order.

use std::sync::mpsc::sync_channel;
use std::thread;

/// Devices from which a second thread is worth what it costs.
pub(crate) const MANY: usize = 200;

/// Results of one thread that may wait for those of others.
const WAITING: usize = 2;

/// Does both, at once where `at_once` says that it is worth it; the pool's threads are started
/// once, as a start costs as much as a check of ten devices.
pub(crate) fn both<A: Send, B: Send>(
    at_once: bool,
    first: impl FnOnce() -> A + Send,
    second: impl FnOnce() -> B + Send,
) -> (A, B) {
    if at_once {
        rayon::join(first, second)
    } else {
        (first(), second())
    }
}

/// Does a piece of work for each number below `count`, and takes the results in order until `take`
/// says that it wants no more.
///
/// Each thread has what `start` gives it, and does every so manieth piece. These threads wait for
/// one another, so they are none of the pool's, where one could wait for what it has to do itself.
pub(crate) fn in_order<S, T: Send>(
    count: usize,
    start: impl Fn() -> S + Sync,
    work: impl Fn(&mut S, usize) -> T + Sync,
    mut take: impl FnMut(T) -> bool,
) {
    let threads = thread::available_parallelism().map_or(1, usize::from);
    let threads = threads.min(count);
    if threads <= 1 {
        let mut own = start();
        let _ = (0..count).all(|i| take(work(&mut own, i)));
        return;
    }
    thread::scope(|scope| {
        let results: Vec<_> = (0..threads)
            .map(|first| {
                let (send, receive) = sync_channel(WAITING);
                let (start, work) = (&start, &work);
                scope.spawn(move || {
                    let mut own = start();
                    let mut pieces = (first..count).step_by(threads);
                    // Sending fails when nobody takes the results any more.
                    pieces.all(|i| send.send(work(&mut own, i)).is_ok());
                });
                receive
            })
            .collect();
        // A thread that ends early has panicked; the scope passes that on.
        let mut numbers = 0..count;
        numbers.all(|i| results[i % threads].recv().is_ok_and(&mut take));
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_come_in_order_and_end_when_enough() {
        let mut taken = Vec::new();
        in_order(
            100,
            || 0,
            |done, i| {
                *done += 1;
                i * i
            },
            |square| {
                taken.push(square);
                taken.len() < 70
            },
        );
        let squares: Vec<usize> = (0..70).map(|i| i * i).collect();
        assert_eq!(taken, squares);
    }
}
