//! What supplies, fuses and terminals do at their limits: limiters and diodes, shorts, inrush,
//! devices that give up.

mod cutoff;
mod fuse;
mod inrush;
mod limit;
mod path;
mod source;
mod terminal;

pub(crate) use cutoff::{BOOT, LOOP, OFF};
pub(crate) use fuse::{CONDUCTOR, HEAT, LOAD, SHORT};
pub(crate) use inrush::{NEVER, PULSE, SLOW};
pub(crate) use limit::{AC, HICCUP, LIMITING, STANDBY, UNKNOWN};
pub(crate) use source::{Shorts, TOGETHER, UNFUSED};
pub use terminal::gauge_misfit;
pub(crate) use terminal::{GAUGE, WIRES};

use crate::checks::{Finding, Look};
use crate::solve::Solver;
use path::Paths;

pub(crate) fn check(look: &Look<'_>, solver: &mut Solver, found: &mut Vec<Finding>) {
    limit::check(look, found);
    cutoff::check(look, solver, found);
    terminal::check(look, found);
    source::check(look, found);
    if !look.site.fuses.is_empty() {
        let hot = Paths::of(look, crate::circuit::Corner::Low);
        fuse::check(look, &hot, found);
    }
    if (look.site.devices.iter()).any(|device| device.dc.reservoir.is_some()) {
        let cold = Paths::of(look, crate::circuit::Corner::Heavy);
        inrush::check(look, &cold, found);
    }
}
