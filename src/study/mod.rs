//! The one door: from a site to its results, findings, assumptions and verdict.

mod accepted;
mod assumed;
mod fix;

pub use assumed::Assumption;
pub use fix::{Fix, fixes};

use crate::checks::{self, Finding};
use crate::diagnostic::Severity;
use crate::results::Results;
use crate::site::Site;
use crate::solve::Solver;

/// Everything that is known about a site.
#[derive(Clone, Debug)]
pub struct Study {
    /// Solved cases and corners.
    pub results: Results,
    /// Findings, gravest first.
    pub findings: Vec<Judged>,
    /// Silent inputs that matter, and what they were taken for.
    pub assumptions: Vec<Assumption>,
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
        let results = Results::of(site, solver);
        let found = checks::findings(site, &results, solver);
        let findings: Vec<Judged> = found
            .into_iter()
            .map(|finding| Judged {
                accepted: accepted::holds(site, &results, &finding),
                finding,
            })
            .collect();
        let verdict = findings
            .iter()
            .filter(|j| j.counts())
            .map(|j| j.finding.severity)
            .min()
            .filter(|severity| *severity != Severity::Note);
        Self {
            assumptions: assumed::assumptions(site),
            results,
            findings,
            verdict,
        }
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

impl Judged {
    /// Whether the finding counts for the verdict.
    pub fn counts(&self) -> bool {
        self.accepted.is_none()
    }
}
