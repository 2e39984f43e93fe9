//! Other designs of the same site: each a real edited site, solved, judged and priced, so that
//! cost and margin can be weighed against each other.

mod propose;

use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Results;
use crate::site::{Edit, Project, Site};
use crate::solve::Solver;
use crate::study::Study;
use crate::takeoff::TakeOff;
use crate::units::{Measure, Ratio};
use propose::{Proposal, proposals};

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

/// What comes of a design.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The verdict; `None` is a pass.
    pub verdict: Option<Severity>,
    /// Findings that stop or fail.
    pub grave: usize,
    /// Questions that are open.
    pub asks: usize,
    /// Least volts over lowest, as a share of lowest, over all devices.
    pub margin: Option<Ratio>,
    /// Money for what is priced.
    pub cost: f64,
    /// What has no price.
    pub unpriced: Vec<String>,
    /// Whether no other passing design costs less and leaves more margin.
    pub on_front: bool,
}

impl Outcome {
    /// Nothing stops or fails.
    pub fn passes(&self) -> bool {
        self.grave == 0
    }
}

/// The design as it stands and its alternates: those that pass first, cheapest first, then by
/// margin.
pub fn alternates(project: &Project, solver: &mut Solver) -> Vec<Alternate> {
    let study = Study::of(project.site(), solver);
    let mut all = vec![Alternate {
        name: "as drawn".to_owned(),
        why: "the site as it stands".to_owned(),
        caution: None,
        edits: Vec::new(),
        outcome: Ok(outcome(project.site(), &study, Vec::new())),
    }];
    for proposal in proposals(project.site(), &study) {
        all.push(tried(project, proposal, solver));
    }
    mark_front(&mut all);
    all.sort_by(|a, b| {
        rank(a)
            .partial_cmp(&rank(b))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    all
}

fn tried(project: &Project, proposal: Proposal, solver: &mut Solver) -> Alternate {
    let mut other = project.clone();
    let applied = other.apply_all(&proposal.edits, proposal.name.clone());
    let outcome = match applied {
        Ok(()) => {
            let study = Study::of(other.site(), solver);
            Ok(outcome(other.site(), &study, proposal.extra))
        }
        Err(errors) => Err(errors
            .first()
            .map_or_else(String::new, |error| error.message.clone())),
    };
    Alternate {
        name: proposal.name,
        why: proposal.why,
        caution: proposal.caution,
        edits: proposal.edits,
        outcome,
    }
}

fn outcome(site: &Site, study: &Study, extra: Vec<String>) -> Outcome {
    let total = TakeOff::of(site).total;
    let mut unpriced = extra;
    unpriced.extend(total.unpriced.iter().cloned());
    Outcome {
        verdict: study.verdict,
        grave: study.count(Severity::Stop) + study.count(Severity::Fail),
        asks: study.count(Severity::Ask),
        margin: margin(site, &study.results),
        cost: total.money(),
        unpriced,
        on_front: false,
    }
}

/// Least volts over lowest, as a share of lowest; nothing where some case has no operating point.
fn margin(site: &Site, results: &Results) -> Option<Ratio> {
    let mut least: Option<f64> = None;
    for row in results.rows.iter().filter(|r| r.corner == Corner::Low) {
        row.solution()?;
        for (i, device) in site.devices.iter().enumerate() {
            let Some(lowest) = device.lowest.map(Measure::base).filter(|v| *v > 0.0) else {
                continue;
            };
            if results.live[row.case].devices[i]
                && let Some(working) = results.device(row, i)
            {
                let share = working.volts.base() / lowest - 1.0;
                least = Some(least.map_or(share, |l| l.min(share)));
            }
        }
    }
    least.map(Ratio::from_base)
}

/// Whether it fails, its cost, less its margin.
fn rank(alternate: &Alternate) -> (usize, f64, f64) {
    match &alternate.outcome {
        Ok(o) => (
            o.grave,
            o.cost,
            -o.margin.map_or(f64::NEG_INFINITY, Measure::base),
        ),
        Err(_) => (usize::MAX, f64::INFINITY, 0.0),
    }
}

/// Marks the passing designs that no other beats in cost and margin at once.
fn mark_front(all: &mut [Alternate]) {
    let points: Vec<Option<(f64, f64)>> = all
        .iter()
        .map(|a| a.outcome.as_ref().ok().filter(|o| o.passes()))
        .map(|o| o.map(|o| (o.cost, o.margin.map_or(f64::NEG_INFINITY, Measure::base))))
        .collect();
    for (i, alternate) in all.iter_mut().enumerate() {
        let (Some((cost, margin)), Ok(outcome)) = (points[i], &mut alternate.outcome) else {
            continue;
        };
        outcome.on_front = !points
            .iter()
            .flatten()
            .any(|(c, m)| *c <= cost && *m >= margin && (*c < cost || *m > margin));
    }
}
