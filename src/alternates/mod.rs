//! Other designs of the same site: each a real edited site, sized, solved, judged and priced, so
//! that cost and margin can be weighed against each other.

mod outcome;
mod propose;
mod sized;

pub use outcome::{Cables, Outcome};

use crate::site::{Edit, Project, Site};
use crate::size::{self, Sizing};
use crate::solve::Solver;
use crate::study::Study;
use outcome::{by_rank, mark_front, outcome};
use propose::{Proposal, proposals, throughout};
use sized::{own_cables, size_in_place};

/// One design.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternate {
    /// Its name.
    pub name: String,
    /// What it does and why that helps.
    pub why: String,
    /// What a person must mind.
    pub caution: Option<&'static str>,
    /// The edits that lead from the site to it.
    pub edits: Vec<Edit>,
    /// What comes of it, or why it cannot be drawn.
    pub outcome: Result<Outcome, String>,
}

/// How far the trying of designs is.
#[derive(Clone, Copy, Debug)]
pub struct Progress<'a> {
    /// The designs tried so far, ranked.
    pub found: &'a [Alternate],
    /// The design that comes next.
    pub next: &'a str,
    /// How many are done.
    pub done: usize,
    /// How many there are.
    pub of: usize,
}

/// Who looks on while designs are tried.
pub struct Watch<'a> {
    /// Sizes a site for as long as one design may take.
    pub size: &'a dyn Fn(&Site) -> Sizing,
    /// Takes what is known before each design; whether to go on.
    pub goes_on: &'a dyn Fn(&Progress<'_>) -> bool,
}

impl Watch<'_> {
    /// Nobody looks on: every design is sized until its cables are proven.
    pub const NOBODY: Watch<'static> = Watch {
        size: &|site| size::size(site, &size::Watch::NOBODY),
        goes_on: &|_| true,
    };
}

/// The design as it stands, the same in its cheapest cables, and its alternates: those that pass
/// first, cheapest first, then by margin.
///
/// Every design but the first has the cheapest cables with which it passes, where its runs have
/// choices; what an alternate of the file says of a cable stands.
pub fn alternates(project: &Project, solver: &mut Solver, watch: &Watch<'_>) -> Vec<Alternate> {
    let study = Study::of(project.site(), solver);
    let drawn = outcome(project.site(), &study, Vec::new(), Cables::AsDrawn);
    let mut all = vec![Alternate {
        name: "as drawn".to_owned(),
        why: "the site as it stands".to_owned(),
        caution: None,
        edits: Vec::new(),
        outcome: Ok(drawn),
    }];
    let proposals = proposals(project.site(), &study);
    let of = all.len() + proposals.len();
    for (i, proposal) in proposals.into_iter().enumerate() {
        let progress = Progress {
            found: &all,
            next: &proposal.name,
            done: i + 1,
            of,
        };
        if !(watch.goes_on)(&progress) {
            return all;
        }
        let tried = tried(project, proposal, solver, watch.size);
        if tried.edits.is_empty() {
            // That is no other design, but known of the one that stands.
            tell_of_drawn(&mut all, tried.outcome);
        } else {
            all.push(tried);
        }
        mark_front(&mut all);
        all.sort_by(by_rank);
    }
    all.extend(in_one_cable(project, solver, watch));
    mark_front(&mut all);
    all.sort_by(by_rank);
    all
}

/// The site in the thinnest cable with which all runs that may choose pass alike.
fn in_one_cable(project: &Project, solver: &mut Solver, watch: &Watch<'_>) -> Option<Alternate> {
    let mut all = throughout(project.site()).into_iter();
    all.find_map(|proposal| {
        let tried = tried(project, proposal, solver, watch.size);
        let passes = tried.outcome.as_ref().is_ok_and(Outcome::passes);
        (passes && !tried.edits.is_empty()).then_some(tried)
    })
}

/// Notes of the design that stands what sizing it came to.
fn tell_of_drawn(all: &mut [Alternate], sized: Result<Outcome, String>) {
    let drawn = all.iter_mut().find(|a| a.edits.is_empty());
    let drawn = drawn.and_then(|a| a.outcome.as_mut().ok());
    if let (Some(drawn), Ok(sized)) = (drawn, sized) {
        drawn.cables = sized.cables;
    }
}

fn tried(
    project: &Project,
    proposal: Proposal,
    solver: &mut Solver,
    size: &dyn Fn(&Site) -> Sizing,
) -> Alternate {
    let mut edits = proposal.edits;
    let mut other = project.clone();
    let applied = other.apply_all(&edits, proposal.name.clone());
    let outcome = match applied {
        Ok(()) => {
            let held = own_cables(other.site(), &edits);
            let (cables, more) = size_in_place(&mut other, &held, size);
            edits.extend(more);
            // What was read is of what lies in the ground, and not of another design.
            let mut site = other.site().clone();
            site.readings.clear();
            let study = Study::of(&site, solver);
            Ok(outcome(&site, &study, proposal.extra, cables))
        }
        Err(errors) => Err(errors
            .first()
            .map_or_else(String::new, |error| error.message.clone())),
    };
    Alternate {
        name: proposal.name,
        why: proposal.why,
        caution: proposal.caution,
        edits,
        outcome,
    }
}
