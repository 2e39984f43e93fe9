//! Readings of a meter: what disagrees with the site, what contradicts itself, what follows for
//! the runs and supplies that were read, and what is left out.

mod clash;
mod fault;
mod insulation;
mod low;
mod missing;
mod off;
mod ohms;
mod source;

pub(crate) use clash::{CLASH, SUM};
pub(crate) use fault::FAULT;
pub(crate) use insulation::INSULATION;
pub(crate) use low::LOW;
pub(crate) use missing::MISSING;
pub(crate) use off::OFF;
pub(crate) use ohms::OHMS;
pub(crate) use source::SOURCE;

use crate::checks::{Finding, Look};
use crate::circuit::Corner;
use crate::readings::Readings;

pub(crate) fn check(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    off::check(look, readings, found);
    clash::check(look, readings, found);
    ohms::check(look, readings, found);
    fault::check(look, readings, found);
    insulation::check(look, readings, found);
    low::check(look, readings, found);
    source::check(look, readings, found);
    missing::check(readings, found);
}

/// Says in which case readings of a moment were taken: as written, and no corner.
fn in_moment(
    look: &Look<'_>,
    readings: &Readings,
    moment: Option<usize>,
    finding: Finding,
) -> Finding {
    let case = moment.and_then(|m| readings.moments[m].case);
    match case.and_then(|case| look.results.row(case, Corner::Nominal)) {
        Some(row) => finding.at(row),
        None => finding,
    }
}
