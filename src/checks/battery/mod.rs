//! Batteries and panels: how long, how it ends, what charging does, what the sun brings.

mod charge;
mod end;
mod fuse;
mod hours;
mod sun;

pub(crate) use charge::{CHARGE, CHARGER, RECHARGE};
pub(crate) use end::{END, POINT};
pub(crate) use fuse::FUSE;
pub(crate) use hours::{DEEP, HOURS, RECONNECT, UNKNOWN};
pub(crate) use sun::{DARK, ENERGY, RECOVER, SUNLESS};

use crate::battery::Discharge;
use crate::checks::{Finding, Look};
use crate::site::{Battery, Supply};
use crate::solve::Solver;

/// One battery with its supply and how its discharge goes.
struct One<'a> {
    supply: &'a Supply,
    battery: &'a Battery,
    discharge: &'a Discharge,
}

pub(crate) fn check(
    look: &Look<'_>,
    discharges: &[Discharge],
    solver: &mut Solver,
    found: &mut Vec<Finding>,
) {
    end::check(look, discharges, found);
    for discharge in discharges {
        let supply = &look.site.supplies[discharge.supply];
        let Some(battery) = &supply.battery else {
            continue;
        };
        let one = One {
            supply,
            battery,
            discharge,
        };
        hours::check(&one, found);
        fuse::check(&one, found);
        charge::check(look, &one, solver, found);
        sun::check(&one, found);
    }
    sun::without_battery(look, found);
}
