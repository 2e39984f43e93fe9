//! The search over all states beside the loop: a thread of its own, so that no key waits for it.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

use crate::site::Site;
use crate::solve::Solver;
use crate::states::{AllStates, Reach};

/// A site to be searched, and which study of it asks.
struct Job {
    generation: u64,
    site: Site,
}

/// The thread that searches.
pub(crate) struct Searcher {
    jobs: Sender<Job>,
    results: Receiver<(u64, AllStates)>,
    /// The study that asked last.
    asked: Option<u64>,
    /// Whether its answer is still to come.
    pub(crate) waits: bool,
}

impl Searcher {
    /// Starts the thread; it ends when the searcher is dropped.
    pub(crate) fn start() -> Self {
        let (jobs, queue) = channel::<Job>();
        let (answers, results) = channel();
        thread::spawn(move || {
            let mut solver = Solver::new();
            while let Ok(job) = queue.recv() {
                // Only the newest of those that wait is still of use.
                let job = queue.try_iter().last().unwrap_or(job);
                let all = AllStates::of(&job.site, Reach::Screen, &mut solver);
                if answers.send((job.generation, all)).is_err() {
                    return;
                }
            }
        });
        Self {
            jobs,
            results,
            asked: None,
            waits: false,
        }
    }

    /// Asks for a study's search, once.
    pub(crate) fn ask(&mut self, generation: u64, site: &Site) {
        if self.asked == Some(generation) {
            return;
        }
        self.asked = Some(generation);
        let site = site.clone();
        self.waits = self.jobs.send(Job { generation, site }).is_ok();
    }

    /// The answer for a study, if it has come.
    pub(crate) fn answer(&mut self, generation: u64) -> Option<AllStates> {
        let newest = self
            .results
            .try_iter()
            .filter(|(of, _)| *of == generation)
            .last();
        self.waits &= newest.is_none();
        newest.map(|(_, all)| all)
    }
}
