//! The cheapest cables that pass.
//!
//! `options` says what may be chosen and what it costs, `trial` solves a design in every case
//! and corner, `shape`, `mesh` and `bounds` say what a design must lose at least, `forest` and
//! `carried` how the runs hang together, `drawn` what they draw where draws follow volts;
//! `pareto`, `lists`, `guide` and `relax` find the cheapest design that might pass, `spare` what
//! a known one leaves, and `search` tries designs until the cheapest that passes is proven.
//! `ladder` says why it is that one, `longest` how far a run may go.

mod amps;
mod bounds;
mod carried;
mod convex;
mod drawn;
mod duct;
mod forest;
mod guide;
mod heuristic;
mod homes;
mod hub;
mod ladder;
mod lists;
mod longest;
mod mesh;
mod mixture;
mod options;
mod pareto;
mod parting;
mod reasons;
mod relax;
mod row;
mod search;
mod shape;
mod spare;
mod spoke;
mod star;
mod ties;
mod trial;

pub use ladder::{Ladder, Rung, ladder};
pub use longest::{Reach, Room, longest, room};
pub use options::{Choice, CostUnit, Open, Options, choices_of, cost};
pub use reasons::Unsized;
pub use search::{Progress, Watch};

use crate::diagnostic::Severity;
use crate::site::{Edit, Site};
use crate::solve::Solver;
use crate::study::Study;
use relax::Model;
use search::Search;
use trial::Bench;

/// A run and the cable chosen for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Sized {
    /// Index of the run.
    pub run: usize,
    /// The cable chosen, as the file names it.
    pub cable: String,
    /// The cable that it had.
    pub was: String,
    /// What the run now costs.
    pub cost: f64,
}

/// What sizing a site comes to.
#[derive(Clone, Debug)]
pub struct Sizing {
    /// The design is proven to be the cheapest that passes.
    pub optimal: bool,
    /// What the design costs, all runs together; `None` where none passes.
    pub cost: Option<f64>,
    /// No passing design costs less than this.
    pub bound: Option<f64>,
    /// In what costs are counted.
    pub unit: CostUnit,
    /// Every run with choices and what was chosen, in file order.
    pub runs: Vec<Sized>,
    /// What no choice can save; empty where a design passes.
    pub unsized_runs: Vec<Unsized>,
    /// Runs that keep a cable without price: they count 0.
    pub unpriced: Vec<usize>,
    /// Least volts between a device and an end of its window, over all cases and corners.
    pub margin_v: Option<f64>,
    /// What still counts when the design is in place: code and subject.
    pub remaining: Vec<String>,
    /// The search was ended before it had its proof.
    pub interrupted: bool,
    /// The site with the design in place, and what is known of it.
    pub design: Option<(Site, Study)>,
}

/// Finds the cheapest cables with which a site passes.
///
/// A design passes when in every case and corner there is an operating point, every device's
/// volts lie in its window, no supply, output or conductor carries more than its rating, and
/// every cable fits its run. Designs of the same cost are ranked by the worst margin, the least
/// volts between any device and an end of its window, then by file order.
pub fn size(site: &Site, watch: &Watch<'_>) -> Sizing {
    let options = Options::of(site);
    let mut sizing = Sizing {
        optimal: false,
        cost: None,
        bound: None,
        unit: options.unit,
        runs: Vec::new(),
        unsized_runs: reasons::unfit(site, &options),
        unpriced: options.unpriced.clone(),
        margin_v: None,
        remaining: Vec::new(),
        interrupted: false,
        design: None,
    };
    let misfits = options::fixed_misfits(site, &options);
    let unfit = misfits.into_iter().map(|(run, reason)| Unsized {
        id: site.runs[run].name.clone(),
        reason,
    });
    sizing.unsized_runs.extend(unfit);
    if !sizing.unsized_runs.is_empty() {
        return sizing;
    }
    let mut bench = Bench::of(site, options);
    let model = Model::of(&bench, false);
    let opened = model.has_meshes().then(|| Model::of(&bench, true));
    let mut search = Search::of(&mut bench, &model, opened.as_ref(), watch);
    let mut end = search.run();
    sizing.interrupted = end.interrupted;
    if end.best.is_none() && end.interrupted {
        let open = bench.options.open.iter();
        sizing.unsized_runs = open.map(|open| not_found(site, open.run)).collect();
        return sizing;
    }
    if end.best.is_none() {
        // Where the bounds of linear networks say nothing, what they refuse may pass all the same.
        search.thickest();
        end.best = search.best.take();
        if end.best.is_none() {
            sizing.unsized_runs = reasons::reasons(site, &mut bench);
        }
    }
    let Some(best) = end.best else {
        return sizing;
    };
    let design = put(site, &bench.options, &best.design);
    let study = Study::of(&design, &mut Solver::new());
    let unproven = !model.is_sound(&bench);
    sizing.optimal = !end.interrupted && !unproven;
    sizing.cost = Some(best.cost);
    let bound = if end.interrupted {
        end.bound
    } else {
        best.cost
    };
    sizing.bound = Some(bound).filter(|_| !unproven);
    sizing.margin_v = Some(best.margin_v).filter(|v| v.is_finite());
    sizing.remaining = study
        .findings
        .iter()
        .filter(|j| j.counts() && j.finding.severity != Severity::Note)
        .map(|j| format!("{} {}", j.finding.code, j.finding.subject))
        .collect();
    let chosen = bench.options.open.iter().zip(&best.design);
    sizing.runs = chosen
        .map(|(open, k)| Sized {
            run: open.run,
            cable: design.cables[open.choices[*k].cable.0].name.clone(),
            was: site.runs[open.run].cable_text.clone(),
            cost: open.choices[*k].cost,
        })
        .collect();
    sizing.design = Some((design, study));
    sizing
}

fn not_found(site: &Site, run: usize) -> Unsized {
    Unsized {
        id: site.runs[run].name.clone(),
        reason: "no passing design was found before the search was ended".into(),
    }
}

impl Sizing {
    /// The edits that put the design into the file: those runs whose cable changes.
    pub fn edits(&self, site: &Site) -> Vec<Edit> {
        let changed = self.runs.iter().filter(|r| r.cable != r.was);
        changed
            .map(|r| Edit::set("run", &site.runs[r.run].name, "cable", &r.cable))
            .collect()
    }
}

/// A site with a design in place.
fn put(site: &Site, options: &Options, design: &[usize]) -> Site {
    let mut site = site.clone();
    for (open, k) in options.open.iter().zip(design) {
        let choice = &open.choices[*k];
        let name = site.cables[choice.cable.0].name.clone();
        let run = &mut site.runs[open.run];
        run.cable = Some(choice.wires);
        run.jacket = Some(choice.cable);
        run.cable_text = name;
    }
    site
}
