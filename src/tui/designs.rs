//! The page of alternates: other designs are drawn, sized and judged beside the screen, one after
//! another.

use std::time::{Duration, Instant};

use crate::alternates::{self, Alternate, alternates};
use crate::site::{Project, Site};
use crate::size;
use crate::solve::Solver;
use crate::tui::pages::Page;
use crate::tui::state::State;
use crate::tui::worker::{Told, Worker};

/// How long the cables of one design may take.
const LONGEST: Duration = Duration::from_secs(3);

/// What the page shows.
#[derive(Debug, Default)]
pub struct Designs {
    /// Those tried so far: what passes first, cheapest first.
    pub(crate) found: Vec<Alternate>,
    /// The site that they are alternates of.
    of: Option<Site>,
    trying: Option<Worker<Progress, Vec<Alternate>>>,
    /// Somebody ended it before all were tried.
    ended: bool,
}

/// How far the trying is.
#[derive(Clone, Debug)]
pub(crate) struct Progress {
    found: Vec<Alternate>,
    /// The design that is tried now.
    pub(crate) now: String,
    /// Designs tried.
    pub(crate) done: usize,
    /// Designs there are.
    pub(crate) of: usize,
}

impl Designs {
    /// Forgets what somebody ended before all were tried: they are asked for anew.
    pub(crate) fn forget_ended(&mut self) {
        if self.ended && self.trying.is_none() {
            *self = Self::default();
        }
    }

    /// Whether somebody ended it before all were tried.
    pub(crate) fn is_ended(&self) -> bool {
        self.ended && self.trying.is_none()
    }

    /// How far the trying is, while it goes on.
    pub(crate) fn progress(&self) -> Option<Progress> {
        self.trying.as_ref()?.progress()
    }
}

/// Draws, sizes and judges every design.
fn tried(project: &Project, told: &Told<Progress>) -> Vec<Alternate> {
    let size = |site: &Site| {
        let start = Instant::now();
        let watch = size::Watch {
            goes_on: &|| told.goes_on() && start.elapsed() < LONGEST,
            tell: &|_| {},
        };
        size::size(site, &watch)
    };
    let goes_on = |progress: &alternates::Progress<'_>| {
        told.tell(Progress {
            found: progress.found.to_vec(),
            now: progress.next.to_owned(),
            done: progress.done,
            of: progress.of,
        });
        told.goes_on()
    };
    let watch = alternates::Watch {
        size: &size,
        goes_on: &goes_on,
    };
    alternates(project, &mut Solver::new(), &watch)
}

impl State {
    /// Tries the other designs where they are to be seen and not known yet.
    pub(crate) fn start_designs(&mut self) {
        let site = self.project.site();
        if self.shows != Page::Alternates || self.designs.of.as_ref() == Some(site) {
            return;
        }
        let project = self.project.clone();
        self.designs = Designs {
            of: Some(site.clone()),
            trying: Some(Worker::start(move |told| tried(&project, told))),
            ..Designs::default()
        };
    }

    /// Asks the trying to end with the designs so far; whether it was under way.
    pub(crate) fn stop_designs(&mut self) -> bool {
        let Some(trying) = &self.designs.trying else {
            return false;
        };
        trying.stop();
        self.designs.ended = true;
        self.message = "no more designs are tried: those so far are kept".into();
        true
    }

    /// Takes up the designs tried so far; whether more are under way.
    pub fn follow_designs(&mut self) -> bool {
        let Some(trying) = &mut self.designs.trying else {
            return false;
        };
        let ended = trying.ended();
        let found = match &ended {
            Some(found) => found.clone(),
            None => trying.progress().map(|p| p.found),
        };
        if ended.is_some() {
            self.designs.trying = None;
        }
        if let Some(found) = found {
            self.take_designs(found);
        } else if ended.is_some() {
            self.message = "the trying of designs broke off".into();
        }
        ended.is_none()
    }

    /// Shows designs; one that somebody selected stays selected.
    fn take_designs(&mut self, found: Vec<Alternate>) {
        let known = &mut self.designs.found;
        if known.len() == found.len() {
            return;
        }
        let chosen = known.get(self.row).filter(|_| self.row > 0);
        let chosen = chosen.map(|d| d.name.clone());
        *known = found;
        if self.shows == Page::Alternates {
            let place = chosen.and_then(|name| known.iter().position(|d| d.name == name));
            self.row = place.unwrap_or(self.row);
        }
    }
}
