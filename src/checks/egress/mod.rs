//! Doors and gates that people may have to leave by: what lets them out, and what must not hold
//! them. What counts in the end is the local code and whoever enforces it.

mod controls;
mod exit;
mod fire;

pub(crate) use controls::{NEAR, ROUTE};
pub(crate) use exit::{BUTTON, HELD, LOCKED, RELEASE};
pub(crate) use fire::FIRE;

use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look};

pub(crate) const UNKNOWN: Check = Check {
    code: "exit-unknown",
    question: "what must be answered before anybody is locked in?",
    formula: "what is not answered counts as a way out that nothing opens",
    source: "NFPA 101 7.2.1.6.2 and IBC 2015 1010.1.9.8 (secondary copies seen); your local code decides",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let mut asks = Asks::of(UNKNOWN);
    exit::check(look, &mut asks, found);
    controls::check(look, &mut asks, found);
    found.extend(asks.into_findings());
}
