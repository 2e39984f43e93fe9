//! The checks: what a person should know about a site, found from its solved cases and corners.
//!
//! A check is a function of a site and its results; one file holds one check or a few that judge
//! the same thing. [`ALL`] lists every check there is.

mod ac;
mod acceptance;
mod amps;
mod asks;
mod battery;
mod beyond;
mod bundled;
mod class;
mod copper;
mod differs;
mod draws;
mod egress;
mod ethernet;
mod finding;
mod ground;
mod headroom;
mod list;
mod overview;
mod poe;
mod questions;
mod raceway;
mod reach;
mod readings;
mod registry;
mod relay;
mod runs;
mod signal;
mod silent;
mod supply;
mod typed;
mod volts;
mod way;
pub mod work;

pub(crate) use differs::DIFFERS;
pub use differs::differs as differs_from_bid;
pub use finding::{Finding, Worse};
pub use list::ALL;
pub use overview::{GroundPath, Low, Overview, Way, overview};
pub(crate) use questions::OPEN;
pub(crate) use raceway::Inside;
pub use raceway::raceway_fill;
pub use registry::{Explained, explained, registry};
pub use runs::limit_of;
pub(crate) use signal::{bus_taken, loop_taken, wiegand_low, wiegand_taken, wiegand_worst};
pub(crate) use silent::SILENT;
pub(crate) use supply::Shorts;
pub use supply::gauge_misfit;

use std::collections::HashSet;

pub(crate) use acceptance::{GONE, WORSE};
pub(crate) use beyond::BEYOND;
pub use beyond::check as beyond_cases;

use crate::battery::Discharge;
use crate::circuit::{Corner, NodeId};
use crate::readings::Readings;
use crate::results::{Results, Row};
use crate::site::{Case, Device, End, Run, Scope, Site, Supply};
use crate::solve::Solver;
use crate::threads::{MANY, both};

/// What a check looks at.
pub struct Look<'a> {
    /// The site.
    pub site: &'a Site,
    /// Its solved cases and corners.
    pub results: &'a Results,
    /// The things that are judged.
    pub scope: Scope,
    /// By case: which devices it switches off.
    off: Vec<HashSet<usize>>,
    /// By device: whether no supply needs to reach it.
    passive: Vec<bool>,
}

/// One entry of the list of checks.
#[derive(Clone, Copy, Debug)]
pub struct Check {
    /// Short code.
    pub code: &'static str,
    /// The question it answers, in plain language.
    pub question: &'static str,
    /// Its formula, with units.
    pub formula: &'static str,
    /// Where the formula or limit comes from.
    pub source: &'static str,
}

/// What the checks find about the things of a scope, and about all that is no thing of the
/// network; gravest first, then by subject and code.
pub fn findings(
    (site, scope): (&Site, Scope),
    results: &Results,
    discharges: &[Discharge],
    readings: &Readings,
    solver: &mut Solver,
) -> Vec<Finding> {
    let look = Look::within(site, results, scope);
    let (mut found, others) = both(
        look.scope.devices().len() >= MANY,
        || one_half(&look, discharges, solver),
        || other_half(&look, readings),
    );
    found.extend(others);
    // Some checks look at the whole site in any case.
    let judged = |finding: &Finding| {
        let thing = finding.own_thing(site);
        thing.is_none_or(|thing| look.scope.has(thing))
    };
    if !look.scope.is_whole() {
        found.retain(judged);
    }
    // Two sorted halves: this only lays them into one another.
    found.sort_by(Finding::order);
    found
}

/// What the checks find that solve the network once more, and as many others as make a half.
fn one_half(look: &Look<'_>, discharges: &[Discharge], solver: &mut Solver) -> Vec<Finding> {
    let mut found = Vec::new();
    headroom::check(look, solver, &mut found);
    supply::check(look, solver, &mut found);
    battery::check(look, discharges, solver, &mut found);
    ground::check(look, solver, &mut found);
    way::check(look, &mut found);
    draws::check(look, &mut found);
    questions::check(look, &mut found);
    found.sort_by(Finding::order);
    found
}

/// What the others find.
fn other_half(look: &Look<'_>, readings: &Readings) -> Vec<Finding> {
    let mut found = Vec::new();
    volts::check(look, &mut found);
    amps::check(look, &mut found);
    runs::check(look, &mut found);
    bundled::check(look, &mut found);
    copper::check(look, &mut found);
    class::check(look, &mut found);
    ac::check(look, &mut found);
    reach::check(look, &mut found);
    poe::check(look, &mut found);
    signal::check(look, &mut found);
    ethernet::check(look, &mut found);
    relay::check(look, &mut found);
    egress::check(look, &mut found);
    raceway::check(look, &mut found);
    typed::check(look, &mut found);
    readings::check(look, readings, &mut found);
    acceptance::check(look, &mut found);
    found.sort_by(Finding::order);
    found
}

/// Values that are this near to one another, as a part of them or of 1, are the same.
const SAME: f64 = 1e-9;

/// Whether a value is over another by more than rounding.
pub(crate) fn exceeds(value: f64, other: f64) -> bool {
    value > other + SAME * other.abs().max(1.0)
}

/// The greatest of some rows' values, and its row: the first where rounding alone tells them apart.
pub(crate) fn greatest<'r>(
    rows: impl Iterator<Item = &'r Row>,
    value: impl Fn(&Row) -> Option<f64>,
) -> Option<(f64, &'r Row)> {
    first_greatest(rows.filter_map(|row| Some((value(row)?, row))))
}

/// The greatest of some values and what it belongs to: the first where rounding alone tells them
/// apart.
pub(crate) fn first_greatest<T>(values: impl Iterator<Item = (f64, T)>) -> Option<(f64, T)> {
    values.reduce(|best, next| if exceeds(next.0, best.0) { next } else { best })
}

impl<'a> Look<'a> {
    fn new(site: &'a Site, results: &'a Results) -> Self {
        Self::within(site, results, Scope::whole(site))
    }

    fn within(site: &'a Site, results: &'a Results, scope: Scope) -> Self {
        let off = |case: &Case| {
            let states = case.states.iter().filter(|(_, state)| state == "off");
            states.map(|(device, _)| *device).collect()
        };
        Self {
            off: results.cases.iter().map(off).collect(),
            passive: passive(site),
            site,
            results,
            scope,
        }
    }

    /// The supplies that are judged.
    pub(crate) fn supplies(&self) -> impl Iterator<Item = (usize, &'a Supply)> {
        let all = self.scope.supplies().iter();
        all.map(|i| (*i, &self.site.supplies[*i]))
    }

    /// The devices that are judged.
    pub(crate) fn devices(&self) -> impl Iterator<Item = (usize, &'a Device)> {
        let all = self.scope.devices().iter();
        all.map(|i| (*i, &self.site.devices[*i]))
    }

    /// The runs that are judged.
    pub(crate) fn runs(&self) -> impl Iterator<Item = (usize, &'a Run)> {
        let all = self.scope.runs().iter();
        all.map(|i| (*i, &self.site.runs[*i]))
    }

    /// Whether the row's case switches a device off.
    pub(crate) fn is_off(&self, row: &Row, device: usize) -> bool {
        self.off[row.case].contains(&device)
    }

    /// A device without a draw, on loop or contact runs alone: no supply needs to reach it.
    pub(crate) fn is_passive(&self, device: usize) -> bool {
        self.passive[device]
    }

    /// Whether a run is connected, at least in some case.
    pub(crate) fn is_fitted(&self, run: usize) -> bool {
        self.results.is_fitted(self.site, run)
    }

    /// The rows of cases in which nothing is broken; all rows where there is no such case.
    pub(crate) fn whole_rows(&self) -> impl Iterator<Item = &Row> {
        let whole = |row: &&Row| self.results.cases[row.case].broken.is_empty();
        let some = self.results.rows.iter().any(|row| whole(&row));
        self.results
            .rows
            .iter()
            .filter(move |row| !some || whole(row))
    }

    /// A case in which nothing is broken, and every run is fitted that some case fits.
    pub(crate) fn whole_case(&self) -> Case {
        Case {
            name: String::new(),
            states: Vec::new(),
            relays: Vec::new(),
            broken: Vec::new(),
            fitted: (self.results.cases.iter())
                .flat_map(|c| c.fitted.clone())
                .collect(),
            temperature: None,
        }
    }

    /// Whether conductors lead from one node to another in a row's case.
    pub(crate) fn joined(&self, row: &Row, a: NodeId, b: NodeId) -> bool {
        let conductor = &self.results.live[row.case].conductor;
        conductor[a as usize] == conductor[b as usize]
    }

    /// The rows in which amps are judged: corners low and heavy.
    pub(crate) fn amp_rows(&self) -> impl Iterator<Item = &Row> {
        self.results
            .rows
            .iter()
            .filter(|r| matches!(r.corner, Corner::Low | Corner::Heavy))
    }
}

/// By device: it draws nothing and has loop or contact runs alone, at least one.
fn passive(site: &Site) -> Vec<bool> {
    let mut wired = vec![false; site.devices.len()];
    let mut other = vec![false; site.devices.len()];
    for run in &site.runs {
        let c = run.carries;
        let alone = (c.supervised || c.contact)
            && !(c.power || c.wiegand || c.rs485 || c.data || c.ethernet || c.bond);
        for end in [run.from, run.to] {
            if let End::Device(i) = end {
                wired[i] = true;
                other[i] |= !alone;
            }
        }
    }
    let draws = |i: usize| !site.devices[i].draw.is_empty() || site.devices[i].on.is_some();
    (0..site.devices.len())
        .map(|i| wired[i] && !other[i] && !draws(i))
        .collect()
}
