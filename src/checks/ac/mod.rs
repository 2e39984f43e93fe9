//! What alternating current brings: rectified draws, transformers, and supplies that must not meet.

mod meeting;
mod reactance;
mod rectified;
mod transformer;

pub(crate) use meeting::{FREQUENCIES, MIXED, UNKNOWN};
pub(crate) use reactance::REACTANCE;
pub(crate) use rectified::{HIGH, LOW, PULSES, WINDOW};
pub(crate) use transformer::VA;

use crate::checks::{Finding, Look};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    if look.results.live.iter().all(|live| live.hertz.is_none()) {
        return;
    }
    rectified::check(look, found);
    transformer::check(look, found);
    meeting::check(look, found);
    reactance::check(look, found);
}
