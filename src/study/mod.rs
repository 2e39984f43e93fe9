//! The one door: from a site to its results, findings, assumptions and verdict.

mod accepted;
mod assumed;
mod fix;
mod fix_ac;
mod fix_battery;
mod fix_rules;
mod fix_signal;
mod fix_supply;
mod sway;
mod sway_supply;

pub use assumed::Assumption;
pub use fix::{Fix, fixes, is_proposal};
pub use sway::Sway;
use sway::sways;

use crate::battery::{self, Discharge};
use crate::checks::{self, Finding};
use crate::diagnostic::Severity;
use crate::readings::Readings;
use crate::results::Results;
use crate::site::{Difference, Scope, Site, Touched};
use crate::solve::Solver;
use crate::states::{AllStates, Reach};
use crate::threads::{MANY, both};

/// Everything that is known about a site.
#[derive(Clone, Debug)]
pub struct Study {
    /// Solved cases and corners.
    pub results: Results,
    /// Every supply with a battery, stepped down to its end.
    pub discharges: Vec<Discharge>,
    /// Readings beside the solved site, and what follows from them.
    pub readings: Readings,
    /// Findings, gravest first.
    pub findings: Vec<Judged>,
    /// Silent inputs that matter, and what they were taken for.
    pub assumptions: Vec<Assumption>,
    /// What each assumption could do, what moves the verdict most first; empty until
    /// [`Study::try_silent`].
    pub sways: Vec<Sway>,
    /// The worst over all states, once [`Study::take_states`] took it.
    pub states: Option<AllStates>,
    /// The gravest finding that counts; `None` is a pass.
    pub verdict: Option<Severity>,
}

/// A finding and whether somebody accepted it.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The finding.
    pub finding: Finding,
    /// Index into the site's accepted findings, while it holds.
    pub accepted: Option<usize>,
}

impl Study {
    /// Solves and judges a site; the solver's plans are kept from one study to the next.
    pub fn of(site: &Site, solver: &mut Solver) -> Self {
        Self::from_results(site, Results::of(site, solver, None), solver)
    }

    /// Solves and judges a site that differs little from this study's: the same comes out as from
    /// [`Study::of`], sooner.
    pub fn again(&self, site: &Site, solver: &mut Solver) -> Self {
        let results = Results::of(site, solver, Some(&self.results));
        Self::from_results(site, results, solver)
    }

    /// All that can be known: solves and judges a site, tries its silent inputs as
    /// [`Study::try_silent`] does, and searches all states meanwhile.
    pub fn whole(site: &Site, solver: &mut Solver, most: usize) -> Self {
        let tried = |solver: &mut Solver| {
            let mut study = Self::of(site, solver);
            study.try_silent(site, solver, most);
            study
        };
        let states = |solver: &mut Solver| AllStates::of(site, Reach::Proof, solver);
        let (states, mut study) = if site.devices.len() < MANY {
            let study = tried(solver);
            (states(solver), study)
        } else {
            solver.with_second(|one, other| both(true, || states(other), || tried(one)))
        };
        study.take_states(site, states);
        study
    }

    /// Solves and judges the site of this study anew after edits that touched no more than is
    /// said: the same comes out as from [`Study::of`], sooner. Where values of some things alone
    /// changed, and the network has its operating points, what does not hang together with them
    /// keeps its findings.
    pub fn follow(&mut self, site: &Site, touched: &Touched, solver: &mut Solver) {
        let Touched::Values(things) = touched else {
            *self = self.again(site, solver);
            return;
        };
        let results = Results::with_values(site, solver, &self.results);
        let scope = if is_solved_as_it_stands(site) && self.results.may_differ_in_part(&results) {
            Scope::around(site, things)
        } else {
            Scope::whole(site)
        };
        let mut findings = std::mem::take(&mut self.findings);
        findings.retain(|j| {
            let thing = j.finding.own_thing(site);
            thing.is_some_and(|thing| !scope.has(thing)) && !accepted::is_later(&j.finding)
        });
        *self = Self::built(site, results, (scope, findings), solver);
    }

    fn from_results(site: &Site, results: Results, solver: &mut Solver) -> Self {
        Self::built(site, results, (Scope::whole(site), Vec::new()), solver)
    }

    /// Judges what is within a scope; the findings of the rest are known.
    fn built(
        site: &Site,
        results: Results,
        (scope, mut findings): (Scope, Vec<Judged>),
        solver: &mut Solver,
    ) -> Self {
        let discharges = battery::discharges(site, &results, solver);
        let readings = Readings::of(site, &results, solver);
        let found = checks::findings((site, scope), &results, &discharges, &readings, solver);
        let found = found.into_iter();
        findings.extend(found.map(|finding| judged(site, &results, finding)));
        let mut findings = reviewed(site, &results, findings);
        findings.sort_by(|a, b| a.finding.order(&b.finding));
        Self {
            assumptions: assumed::assumptions(site),
            sways: Vec::new(),
            states: None,
            verdict: verdict(&findings),
            results,
            discharges,
            readings,
            findings,
        }
    }

    /// Tries the silent inputs at the hard ends of their ranges, as long as inputs x devices stay
    /// within `most`, and asks where one of them decides whether something fails.
    pub fn try_silent(&mut self, site: &Site, solver: &mut Solver, most: usize) {
        self.sways = sways(site, self, solver, most);
        for ask in sway::asks(site, self, &self.sways) {
            self.findings.push(judged(site, &self.results, ask));
        }
        self.findings.sort_by(|a, b| a.finding.order(&b.finding));
        self.verdict = verdict(&self.findings);
    }

    /// Takes what a search of all states found, and says where one is worse than every case.
    pub fn take_states(&mut self, site: &Site, states: AllStates) {
        let known = self.findings.iter().map(|j| &j.finding);
        for finding in checks::beyond_cases(site, &states, &known.collect::<Vec<_>>()) {
            self.findings.push(judged(site, &self.results, finding));
        }
        self.findings.sort_by(|a, b| a.finding.order(&b.finding));
        self.verdict = verdict(&self.findings);
        self.states = Some(states);
    }

    /// Takes what differs from the site as it was bid.
    pub fn take_bid(&mut self, site: &Site, differences: &[Difference]) {
        for finding in checks::differs_from_bid(site, differences) {
            self.findings.push(judged(site, &self.results, finding));
        }
        self.findings.sort_by(|a, b| a.finding.order(&b.finding));
    }

    /// The assumptions, what moves the verdict most first where that was tried, and what it does.
    pub fn assumed(&self) -> impl Iterator<Item = (&Assumption, Option<&Sway>)> {
        let tried = self
            .sways
            .iter()
            .map(|s| (&self.assumptions[s.assumption], Some(s)));
        let all = self.assumptions.iter().map(|a| (a, None));
        tried.chain(all.skip(self.sways.len()))
    }

    /// How many findings of a severity count.
    pub fn count(&self, severity: Severity) -> usize {
        self.findings
            .iter()
            .filter(|j| j.counts() && j.finding.severity == severity)
            .count()
    }

    /// The verdict as a word.
    pub fn verdict_word(&self) -> &'static str {
        self.verdict.map_or("pass", Severity::as_str)
    }

    /// Whether the verdict is no stop and no fail.
    pub fn is_clean(&self) -> bool {
        !matches!(self.verdict, Some(Severity::Stop | Severity::Fail))
    }
}

/// Whether nothing is solved besides the cases as they stand. A battery runs down on draws of its
/// own, and the ohms that readings show go into the site all at once: there a part without an
/// operating point tells on all others.
fn is_solved_as_it_stands(site: &Site) -> bool {
    site.readings.is_empty() && site.supplies.iter().all(|s| s.battery.is_none())
}

fn judged(site: &Site, results: &Results, finding: Finding) -> Judged {
    Judged {
        accepted: accepted::holds(site, results, &finding),
        finding,
    }
}

/// The findings, with what became of those that somebody accepted.
fn reviewed(site: &Site, results: &Results, mut findings: Vec<Judged>) -> Vec<Judged> {
    let review = accepted::review(site, results, &findings).into_iter();
    findings.extend(review.map(|finding| judged(site, results, finding)));
    findings
}

fn verdict(findings: &[Judged]) -> Option<Severity> {
    let counting = findings.iter().filter(|j| j.counts());
    let gravest = counting.map(|j| j.finding.severity).min();
    gravest.filter(|severity| *severity != Severity::Note)
}

impl Judged {
    /// Whether the finding counts for the verdict.
    pub fn counts(&self) -> bool {
        self.accepted.is_none()
    }
}
