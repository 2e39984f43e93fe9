//! The cheapest cables of a design, put into it.

use super::Cables;
use crate::site::{Edit, Project, Run, Site};
use crate::size::{Sizing, choices_of};

/// The runs to which edits give a cable and no choices: it is what the design is about, and
/// stands.
pub(super) fn own_cables(site: &Site, edits: &[Edit]) -> Vec<usize> {
    let given = |table: &[String], wanted: &str| {
        edits.iter().any(|edit| {
            matches!(edit, Edit::Set { table: own, key, .. } if own == table && key == wanted)
        })
    };
    let is_own = |run: &Run| {
        let table = ["run".to_owned(), run.name.clone()];
        given(&table, "cable") && !given(&table, "choices")
    };
    let runs = site.runs.iter().enumerate();
    runs.filter(|(_, run)| is_own(run))
        .map(|(i, _)| i)
        .collect()
}

/// Sizes a design and puts the cables into it; how they came about, and the edits that it took.
pub(super) fn size_in_place(
    design: &mut Project,
    held: &[usize],
    size: &dyn Fn(&Site) -> Sizing,
) -> (Cables, Vec<Edit>) {
    let mut site = design.site().clone();
    for run in held {
        // The one choice that is left to it.
        let run = &mut site.runs[*run];
        run.choices = run.jacket.into_iter().collect();
    }
    if site
        .runs
        .iter()
        .all(|run| choices_of(&site, run).is_empty())
    {
        return (Cables::AsDrawn, Vec::new());
    }
    let sizing = size(&site);
    let Some(_) = sizing.cost else {
        let why = sizing.unsized_runs.first();
        let why = why.map(|u| format!("{}: {}", u.id, u.reason));
        return (Cables::NonePass(why.unwrap_or_default()), Vec::new());
    };
    let edits = sizing.edits(&site);
    if design.apply_all(&edits, String::new()).is_err() {
        return (Cables::AsDrawn, Vec::new());
    }
    let changed = sizing.runs.iter().filter(|r| r.cable != r.was);
    let changed: Vec<(String, String)> = changed
        .map(|r| (site.runs[r.run].name.clone(), r.cable.clone()))
        .collect();
    if sizing.optimal {
        (Cables::Cheapest(changed), edits)
    } else {
        (Cables::BestFound(changed), edits)
    }
}
