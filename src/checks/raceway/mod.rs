//! Raceways, the ground over them, what the cables in them bear, and the boxes at their ends.

mod data;
mod fill;
mod heat;
mod lie;
mod wet;

use std::collections::BTreeMap;

pub(crate) use data::BESIDE;
pub use fill::raceway_fill;
pub(crate) use fill::{BENDS, FILL, Inside, JAM};
pub(crate) use heat::HEAT;
pub(crate) use lie::{BONDED, COVER, MAINS, SPLICES, WATER};
pub(crate) use wet::{CORROSION, RATING};

use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look};
use crate::site::{Raceway, Route};

pub(crate) const UNKNOWN: Check = Check {
    code: "raceway-unknown",
    question: "what is missing to judge raceways, cables in them and boxes?",
    formula: "what is not stated decides",
    source: "the drawing, and a look at the place; unknown never passes",
};

/// A raceway and the runs that lie in it.
pub(crate) struct Filled<'a> {
    pub(crate) raceway: &'a Raceway,
    /// Runs in it, as indices; those in another run's jacket with the rest.
    pub(crate) runs: Vec<usize>,
}

impl Filled<'_> {
    /// Whether it lies in the ground or in the open, as its runs say.
    pub(crate) fn is_outside(&self, look: &Look<'_>) -> bool {
        let outside = |i: &usize| {
            let route = look.site.runs[*i].route;
            matches!(route, Some(Route::Outdoor | Route::Buried))
        };
        self.raceway.cover.is_some() || self.runs.iter().any(outside)
    }

    /// Whether it gets wet inside: as it says, else where it lies. NEC 300.5(B) and 300.9 count
    /// the inside of a raceway in the ground, or in the wet above it, as a wet location.
    pub(crate) fn is_wet(&self, look: &Look<'_>) -> bool {
        self.raceway.wet.unwrap_or_else(|| self.is_outside(look))
    }
}

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let mut asks = Asks::of(UNKNOWN);
    let mut by_name: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (i, run) in look.site.runs.iter().enumerate() {
        if let Some(name) = &run.raceway {
            by_name.entry(name).or_default().push(i);
        }
    }
    let mut raceways = Vec::new();
    for raceway in &look.site.raceways {
        let runs = by_name.remove(raceway.name.as_str()).unwrap_or_default();
        raceways.push(Filled { raceway, runs });
    }
    for name in by_name.into_keys() {
        let words = format!("anything of itself (write [raceway.\"{name}\"]: kind, size, cover)");
        asks.add(name, None, &words);
    }
    for filled in &raceways {
        fill::check(look, filled, &mut asks, found);
        lie::check(look, filled, &mut asks, found);
        data::check(look, filled, found);
    }
    wet::check(look, &raceways, &mut asks, found);
    heat::check(look, &mut asks, found);
    found.extend(asks.into_findings());
}
