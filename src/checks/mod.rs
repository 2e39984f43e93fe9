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
mod class;
mod copper;
mod draws;
mod egress;
mod ethernet;
mod ground;
mod headroom;
mod list;
mod overview;
mod poe;
mod questions;
mod raceway;
mod reach;
mod registry;
mod relay;
mod runs;
mod signal;
mod silent;
mod supply;
mod volts;
mod way;
pub mod work;

pub use list::ALL;
pub use overview::{GroundPath, Low, Overview, Way, overview};
pub(crate) use questions::OPEN;
pub use registry::{Explained, explained, registry};
pub use runs::limit_of;
pub(crate) use signal::{bus_taken, loop_taken, wiegand_low, wiegand_taken, wiegand_worst};
pub(crate) use silent::SILENT;
pub(crate) use supply::Shorts;
pub use supply::gauge_misfit;

use std::collections::HashSet;

pub use beyond::check as beyond_cases;

use crate::battery::Discharge;
use crate::circuit::{Corner, NodeId};
use crate::diagnostic::Severity;
use crate::practice::source;
use crate::results::{Results, Row};
use crate::site::{Case, End, Site, Thing};
use crate::solve::Solver;

/// What a check looks at.
pub struct Look<'a> {
    /// The site.
    pub site: &'a Site,
    /// Its solved cases and corners.
    pub results: &'a Results,
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

/// Which way a finding's value gets worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worse {
    /// A smaller value is worse.
    Lower,
    /// A greater value is worse.
    Higher,
}

/// What a check found about one subject, at its worst case and corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Code of the check.
    pub code: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// Name of what it is about.
    pub subject: String,
    /// The thing it is about, where that has a place in the network.
    pub thing: Option<Thing>,
    /// Index of the case.
    pub case: Option<usize>,
    /// The corner.
    pub corner: Option<Corner>,
    /// What is the matter, in one sentence.
    pub message: String,
    /// The value found, in `unit`.
    pub value: Option<f64>,
    /// The limit that it is held against, in `unit`.
    pub limit: Option<f64>,
    /// SI unit of value and limit.
    pub unit: Option<&'static str>,
    /// The formula with the numbers put in.
    pub formula: String,
    /// Where formula and limit come from.
    pub source: String,
    /// Which way the value gets worse.
    pub worse: Worse,
}

impl Check {
    /// A finding of this check without value or place.
    pub(crate) fn finding(&self, severity: Severity, subject: &str, message: String) -> Finding {
        Finding {
            code: self.code,
            severity,
            subject: subject.to_owned(),
            thing: None,
            case: None,
            corner: None,
            message,
            value: None,
            limit: None,
            unit: None,
            formula: self.formula.to_owned(),
            source: self.source.to_owned(),
            worse: Worse::Higher,
        }
    }
}

impl Finding {
    /// Gravest first, then by subject and code.
    pub fn order(&self, other: &Self) -> std::cmp::Ordering {
        (self.severity, &self.subject, self.code).cmp(&(other.severity, &other.subject, other.code))
    }

    /// Says which thing it is about.
    pub(crate) fn about(mut self, thing: Thing) -> Self {
        self.thing = Some(thing);
        self
    }

    /// Says in which case and corner it is worst.
    pub(crate) fn at(mut self, row: &Row) -> Self {
        self.case = Some(row.case);
        self.corner = Some(row.corner);
        self
    }

    /// Gives value, limit and their unit.
    pub(crate) fn measured(mut self, value: f64, limit: f64, unit: &'static str) -> Self {
        self.value = Some(value);
        self.limit = Some(limit);
        self.unit = Some(unit);
        self
    }

    /// Puts numbers into the formula.
    pub(crate) fn put_in(mut self, numbers: impl AsRef<str>) -> Self {
        let numbers = numbers.as_ref();
        if !numbers.is_empty() {
            self.formula = format!("{}; {numbers}", self.formula);
        }
        self
    }

    /// A smaller value is worse.
    pub(crate) fn lower_is_worse(mut self) -> Self {
        self.worse = Worse::Lower;
        self
    }
}

/// Everything that the checks find, gravest first, then by subject and code.
pub fn findings(
    site: &Site,
    results: &Results,
    discharges: &[Discharge],
    solver: &mut Solver,
) -> Vec<Finding> {
    let look = Look::new(site, results);
    let mut found = Vec::new();
    volts::check(&look, &mut found);
    headroom::check(&look, solver, &mut found);
    amps::check(&look, &mut found);
    supply::check(&look, solver, &mut found);
    runs::check(&look, &mut found);
    way::check(&look, &mut found);
    copper::check(&look, &mut found);
    class::check(&look, &mut found);
    draws::check(&look, &mut found);
    ac::check(&look, &mut found);
    reach::check(&look, &mut found);
    poe::check(&look, &mut found);
    battery::check(&look, discharges, solver, &mut found);
    signal::check(&look, &mut found);
    ethernet::check(&look, &mut found);
    ground::check(&look, solver, &mut found);
    relay::check(&look, &mut found);
    egress::check(&look, &mut found);
    raceway::check(&look, &mut found);
    questions::check(&look, &mut found);
    acceptance::check(&look, &mut found);
    for finding in &mut found {
        finding.source = source(site, &finding.source);
    }
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
        let off = |case: &Case| {
            let states = case.states.iter().filter(|(_, state)| state == "off");
            states.map(|(device, _)| *device).collect()
        };
        Self {
            off: results.cases.iter().map(off).collect(),
            passive: passive(site),
            site,
            results,
        }
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
        self.site.runs[run].fitted
            || (self.results.cases.iter()).any(|case| case.fitted.contains(&run))
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
