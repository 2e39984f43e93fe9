//! The cheapest cables that pass.
//!
//! `options` says what may be chosen and what it costs, `trial` solves a design in every case
//! and corner, `shape` and `bounds` say what a design must lose at least, `forest`, `pareto` and
//! `relax` find the cheapest design that might pass, and `search` tries designs until the
//! cheapest that passes is proven.

mod bounds;
mod convex;
mod forest;
mod guide;
mod heuristic;
mod mesh;
mod options;
mod pareto;
mod relax;
mod search;
mod shape;
mod trial;

pub use options::{Choice, CostUnit, Open, Options, choices_of, cost};
pub use search::{Progress, Watch};

use crate::site::Site;
use relax::Model;
use search::Search;
use trial::Bench;

/// Tmp.
pub fn cheapest(site: &Site, watch: &Watch<'_>) -> (Option<(Vec<usize>, f64, f64)>, f64, u64) {
    let options = Options::of(site);
    let mut bench = Bench::of(site, options);
    let model = Model::of(&bench);
    let mut search = Search {
        bench: &mut bench,
        model: &model,
        watch,
        best: None,
        tried: 0,
    };
    let end = search.run();
    (
        end.best.map(|b| (b.design, b.cost, b.margin_v)),
        end.bound,
        search.tried,
    )
}
