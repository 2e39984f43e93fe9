//! What comes of a design, and how designs rank.

use std::cmp::Ordering;

use super::Alternate;
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Results;
use crate::site::Site;
use crate::study::Study;
use crate::takeoff::TakeOff;
use crate::units::{Measure, Ratio};

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
    /// How its cables came about.
    pub cables: Cables,
    /// Whether no other passing design is known to beat it in cost and margin at once.
    pub on_front: bool,
}

/// How the cables of a design came about.
#[derive(Clone, Debug, PartialEq)]
pub enum Cables {
    /// As the file has them: no run has choices, or the design is the one that stands.
    AsDrawn,
    /// The cheapest that pass, proven: runs and cables that differ from the file's.
    Cheapest(Vec<(String, String)>),
    /// Likewise the best found, without the proof.
    BestFound(Vec<(String, String)>),
    /// No choice of cables passes, and why; the design has those of the file.
    NonePass(String),
}

impl Cables {
    /// How they came about, and which they are.
    pub fn in_short(&self) -> String {
        let (how, cables) = match self {
            Self::AsDrawn => return "as drawn".to_owned(),
            Self::NonePass(_) => return "as drawn: no choice passes".to_owned(),
            Self::Cheapest(cables) => ("the cheapest that pass", cables),
            Self::BestFound(cables) => ("the best found, not proven the cheapest", cables),
        };
        let each: Vec<String> = cables.iter().map(|(r, c)| format!("{r} {c}")).collect();
        match each.as_slice() {
            [] => format!("{how}: as drawn"),
            each => format!("{how}: {}", each.join(", ")),
        }
    }

    /// The same with the reason why none passes.
    pub fn in_full(&self) -> String {
        match self {
            Self::NonePass(why) => format!("{}: {why}", self.in_short()),
            _ => self.in_short(),
        }
    }
}

impl Outcome {
    /// Nothing stops or fails.
    pub fn passes(&self) -> bool {
        self.grave == 0
    }

    /// The margin for comparing: without one it is the worst.
    fn spare(&self) -> f64 {
        self.margin.map_or(f64::NEG_INFINITY, Measure::base)
    }

    /// Whether it is known to be no worse than another in cost and margin, and better in one.
    ///
    /// What has no price counts nothing: a design with something unpriced that the other does
    /// without is not known to cost less.
    fn beats(&self, other: &Self) -> bool {
        let (cost, margin) = (self.cost, self.spare());
        self.unpriced.iter().all(|u| other.unpriced.contains(u))
            && cost <= other.cost
            && margin >= other.spare()
            && (cost < other.cost || margin > other.spare())
    }
}

/// Judges and prices a site; `extra` is what it needs that no line of the take-off counts.
pub(super) fn outcome(site: &Site, study: &Study, extra: Vec<String>, cables: Cables) -> Outcome {
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
        cables,
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

/// What passes first, then by cost, then by margin.
pub(super) fn by_rank(a: &Alternate, b: &Alternate) -> Ordering {
    let rank = |alternate: &Alternate| match &alternate.outcome {
        Ok(o) => (o.grave, o.cost, -o.spare()),
        Err(_) => (usize::MAX, f64::INFINITY, 0.0),
    };
    let (a, b) = (rank(a), rank(b));
    (a.0.cmp(&b.0))
        .then(a.1.total_cmp(&b.1))
        .then(a.2.total_cmp(&b.2))
}

/// Marks the passing designs that no other is known to beat.
pub(super) fn mark_front(all: &mut [Alternate]) {
    let passing: Vec<Outcome> = all
        .iter()
        .filter_map(|a| a.outcome.clone().ok())
        .filter(Outcome::passes)
        .collect();
    for outcome in all.iter_mut().filter_map(|a| a.outcome.as_mut().ok()) {
        outcome.on_front = outcome.passes() && !passing.iter().any(|p| p.beats(outcome));
    }
}
