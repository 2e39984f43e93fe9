//! Ohms of the conductors of a run.

use crate::site::{Run, Site};
use crate::tables;
use crate::units::{LinearResistance, Measure, ThermodynamicTemperature};

/// Least resistance of a leg.
pub(super) const LEAST_OHM: f64 = 1e-6;

/// Resistance per length of one conductor of a cable at a temperature.
pub fn per_length(site: &Site, run: &Run, at: ThermodynamicTemperature) -> LinearResistance {
    let Some(cable) = run.cable(site) else {
        return LinearResistance::from_base(0.0);
    };
    cable.resistance.map_or_else(
        || tables::ohms(cable.size, cable.material, cable.stranding, at),
        |stated| tables::at_temperature(stated, cable.material, cable.resistance_at, at),
    )
}

/// Ohms of the branches of a run at a temperature: plus or bond, minus, common, shield, in the
/// order of [`RunBranches`](crate::circuit::RunBranches).
pub fn run_ohms(site: &Site, run: &Run, at: ThermodynamicTemperature) -> [f64; 4] {
    let ohms = Legs::of(site, run, at, &mut vec![None; site.cables.len() + 1]);
    // A bond is one conductor, whatever `parallel` says.
    let plus = if run.carries.bond {
        ohms.single
    } else {
        ohms.plus
    };
    [plus, ohms.minus, ohms.single, ohms.shield].map(|ohm| ohm.max(LEAST_OHM))
}

/// Ohms of the conductors of one run.
pub(super) struct Legs {
    pub(super) plus: f64,
    pub(super) minus: f64,
    pub(super) single: f64,
    pub(super) shield: f64,
}

/// Resistance per length by cable, at the temperature last asked for: most runs share both.
pub(super) type Known = [Option<(ThermodynamicTemperature, f64)>];

impl Legs {
    pub(super) fn of(
        site: &Site,
        run: &Run,
        at: ThermodynamicTemperature,
        known: &mut Known,
    ) -> Self {
        let length = run.length.base();
        let shield = run
            .shield_resistance
            .map_or(f64::INFINITY, |r| r.base() * length);
        let surge = run.surge.base();
        if let Some(stated) = run.resistance {
            let ohms = stated.base() + surge;
            return Self {
                plus: ohms,
                minus: ohms,
                single: ohms,
                shield,
            };
        }
        let known = &mut known[run.cable.map_or(0, |c| c.0 + 1)];
        let per_metre = match *known {
            Some((temperature, per_metre)) if temperature == at => per_metre,
            _ => per_length(site, run, at).base(),
        };
        *known = Some((at, per_metre));
        let one = per_metre * length;
        let splice = run.splice.unwrap_or(site.design.splice).base();
        let splices = f64::from(run.splices) * splice + surge;
        Self {
            plus: one / f64::from(run.parallel.max(1)) + splices,
            minus: one / f64::from(run.minus_parallel.max(1)) + splices,
            single: one + splices,
            shield,
        }
    }
}
