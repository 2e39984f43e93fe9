//! The page of sizes: the search for the cheapest cables runs beside the screen, and what it finds
//! is taken as one step.

use std::time::{Duration, Instant};

use crate::report::cost_text;
use crate::site::Site;
use crate::size::{self, Ladder, Progress, Sizing, Watch, choices_of};
use crate::tui::pages::Page;
use crate::tui::state::State;
use crate::tui::worker::{Told, Worker};

/// How long a search may take.
const LONGEST: Duration = Duration::from_secs(20);

/// What the page shows.
#[derive(Debug, Default)]
pub struct Sizes {
    /// The selected line: among the runs with choices, in file order.
    pub(crate) selected: usize,
    /// What was found, and the site that it was found for.
    pub(crate) found: Option<(Site, Sizing)>,
    /// The choices of the selected run, in the design found or else in the site as it stands.
    pub(crate) ladder: Option<Ladder>,
    search: Option<Search>,
}

/// A search that runs beside the screen, and the site that it is for.
type Search = (Worker<Progress, Sizing>, Site);

/// Sizes a site until the proof, the end of the time, or somebody's word.
fn searched(site: &Site, told: &Told<Progress>) -> Sizing {
    let start = Instant::now();
    let watch = Watch {
        goes_on: &|| told.goes_on() && start.elapsed() < LONGEST,
        tell: &|progress| told.tell(*progress),
    };
    size::size(site, &watch)
}

impl Sizes {
    /// Whether a search is under way.
    pub fn is_searching(&self) -> bool {
        self.search.is_some()
    }

    /// How far the search is.
    pub(crate) fn progress(&self) -> Option<Progress> {
        self.search.as_ref()?.0.progress()
    }
}

impl State {
    /// The runs that have choices, in file order.
    pub(crate) fn open_runs(&self) -> Vec<usize> {
        let site = self.site();
        let runs = site.runs.iter().enumerate();
        runs.filter(|(_, run)| !choices_of(site, run).is_empty())
            .map(|(i, _)| i)
            .collect()
    }

    /// Starts a search for the cheapest cables.
    pub(crate) fn start_sizing(&mut self) {
        self.show(Page::Sizes);
        if self.sizes.is_searching() {
            self.message = "the search is under way; Esc keeps the best so far".into();
        } else if self.open_runs().is_empty() {
            self.message =
                "no run has choices: name cables under [sizing] choices, or in a run's own choices"
                    .into();
        } else {
            self.sizes.found = None;
            let site = self.project.site().clone();
            let own = site.clone();
            let beside = Worker::start(move |told| searched(&own, told));
            self.sizes.search = Some((beside, site));
            self.message = "looking for the cheapest cables; Esc keeps the best so far".into();
        }
    }

    /// Asks a search to end with the best so far; whether there was one.
    pub(crate) fn stop_sizing(&mut self) -> bool {
        let Some((search, _)) = &self.sizes.search else {
            return false;
        };
        search.stop();
        self.message = "ending the search: the best so far is kept".into();
        true
    }

    /// Takes up what a search has found, once it has ended; whether the screen shows it anew.
    pub fn follow_sizing(&mut self) -> bool {
        let Some((mut search, site)) = self.sizes.search.take() else {
            return false;
        };
        let Some(sizing) = search.ended() else {
            self.sizes.search = Some((search, site));
            return true;
        };
        match sizing {
            Some(sizing) => {
                self.message = told(&site, &sizing);
                self.sizes.found = Some((site, sizing));
            }
            None => self.message = "the search broke off".into(),
        }
        self.climb();
        true
    }

    /// Takes the cables found as one step.
    pub(crate) fn take_sizes(&mut self) {
        let edits = match &self.sizes.found {
            None => {
                self.message = "nothing found yet: z looks for the cheapest cables".into();
                return;
            }
            Some((site, _)) if site != self.project.site() => {
                self.message = "the site has changed since: z looks again".into();
                return;
            }
            Some((_, sizing)) if sizing.cost.is_none() => {
                self.message = "no choice of cables passes: there is nothing to take".into();
                return;
            }
            Some((site, sizing)) => sizing.edits(site),
        };
        if edits.is_empty() {
            self.message = "the site has these cables already".into();
            return;
        }
        let what = match edits.len() {
            1 => "cheapest cable in 1 run".to_owned(),
            n => format!("cheapest cables in {n} runs"),
        };
        if self.apply(&edits, &what)
            && let Some((site, sizing)) = &mut self.sizes.found
        {
            // What was found now stands in the site.
            site.clone_from(self.project.site());
            for run in &mut sizing.runs {
                run.was.clone_from(&run.cable);
            }
            self.climb();
        }
    }

    /// Tries the choices of the selected run.
    pub(crate) fn climb(&mut self) {
        self.sizes.ladder = None;
        if self.shows != Page::Sizes {
            return;
        }
        let open = self.open_runs();
        self.sizes.selected = self.sizes.selected.min(open.len().saturating_sub(1));
        let Some(run) = open.get(self.sizes.selected) else {
            return;
        };
        let found = self.sizes.found.as_ref();
        let found = found.filter(|(site, _)| site == self.project.site());
        let design = found.and_then(|(_, sizing)| sizing.design.as_ref());
        let site = design.map_or(self.project.site(), |(site, _)| site);
        self.sizes.ladder = size::ladder(site, *run);
    }
}

/// What a search came to, in a line.
fn told(site: &Site, sizing: &Sizing) -> String {
    match (sizing.cost, sizing.bound) {
        (None, _) => "no choice of cables passes; the reasons stand below the runs".into(),
        (Some(cost), _) if sizing.optimal => format!(
            "{} is the cheapest that passes, proven; y takes it",
            cost_text(site, sizing.unit, cost)
        ),
        (Some(cost), Some(bound)) => format!(
            "{} is the best so far, nothing passes under {}; y takes it",
            cost_text(site, sizing.unit, cost),
            cost_text(site, sizing.unit, bound)
        ),
        (Some(cost), None) => format!(
            "{} passes, not proven with phase angles, diodes or limiters; y takes it",
            cost_text(site, sizing.unit, cost)
        ),
    }
}
