//! Ground paths: where the current at zero volts really goes, and what leads to earth.

mod bonding;
mod conduit;
mod earth;
mod graph;
mod hidden;
mod loops;
mod paths;
mod shared;
mod surge;

pub(crate) use bonding::{BOND, RODS};
pub(crate) use conduit::CONDUIT;
pub(crate) use earth::{METAL, RETURN};
pub(crate) use hidden::{CUT, HIDDEN};
pub(crate) use loops::{LOOP, SIGNAL};
pub(crate) use paths::paths;
pub(crate) use shared::SHARED;
pub(crate) use surge::seat as surge_seat;
pub(crate) use surge::{EARTHED, MISSING, WORKING, is_outside};

use loops::Names;

use crate::checks::{Finding, Look};
use crate::solve::Solver;

pub(crate) fn check(look: &Look<'_>, solver: &mut Solver, found: &mut Vec<Finding>) {
    let loops = loops::find(look);
    // Names are for loops, of which most sites have none.
    let names = if loops.is_empty() {
        Names::default()
    } else {
        Names::of(look)
    };
    loops::check(look, (&loops, &names), found);
    hidden::check(look, (&loops, &names), solver, found);
    shared::check(look, found);
    earth::check(look, found);
    bonding::check(look, found);
    conduit::check(look, found);
    surge::check(look, found);
}
