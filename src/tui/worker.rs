//! Work that runs beside the screen: a thread that says how far it is and can be told to end.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;

/// Work under way: `P` says how far it is, `R` is what comes of it.
#[derive(Debug)]
pub(crate) struct Worker<P, R> {
    told: Arc<Told<P>>,
    thread: Option<JoinHandle<R>>,
}

/// What the work and the screen tell each other.
#[derive(Debug)]
pub(crate) struct Told<P> {
    stop: AtomicBool,
    progress: Mutex<Option<P>>,
}

impl<P> Told<P> {
    /// Whether nobody has asked for the end.
    pub(crate) fn goes_on(&self) -> bool {
        !self.stop.load(Ordering::Relaxed)
    }

    /// Says how far the work is.
    pub(crate) fn tell(&self, progress: P) {
        if let Ok(mut held) = self.progress.lock() {
            *held = Some(progress);
        }
    }
}

impl<P: Clone + Send + 'static, R: Send + 'static> Worker<P, R> {
    /// Starts work.
    pub(crate) fn start(work: impl FnOnce(&Told<P>) -> R + Send + 'static) -> Self {
        let told = Arc::new(Told {
            stop: AtomicBool::new(false),
            progress: Mutex::new(None),
        });
        let own = Arc::clone(&told);
        let thread = std::thread::spawn(move || work(&own));
        Self {
            told,
            thread: Some(thread),
        }
    }

    /// How far it is.
    pub(crate) fn progress(&self) -> Option<P> {
        self.told.progress.lock().ok()?.clone()
    }

    /// What came of it, once it has ended; inside, nothing where it broke off.
    pub(crate) fn ended(&mut self) -> Option<Option<R>> {
        let thread = self.thread.take_if(|thread| thread.is_finished())?;
        Some(thread.join().ok())
    }
}

impl<P, R> Worker<P, R> {
    /// Asks it to end with what it has.
    pub(crate) fn stop(&self) {
        self.told.stop.store(true, Ordering::Relaxed);
    }
}

impl<P, R> Drop for Worker<P, R> {
    fn drop(&mut self) {
        self.stop();
    }
}
