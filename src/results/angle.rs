//! Volts and amps on ac: phasors where the circuit has angles, plain numbers where it has none.

use num_complex::Complex64;

use crate::circuit::{BranchId, NodeId, Pair};
use crate::results::{Results, Row, Working};
use crate::site::Thing;
use crate::solve::Solution;
use crate::units::{ApparentPower, ElectricCurrent, ElectricPotential, Measure, Power};

/// Volts between two nodes of a solution.
pub(super) fn across(solution: &Solution, [plus, minus]: Pair) -> Complex64 {
    let at = |node: NodeId| match &solution.phasors {
        Some(phasors) => phasors.node_v[node as usize],
        None => solution.node_v[node as usize].into(),
    };
    at(plus) - at(minus)
}

/// Amps through a branch.
pub(super) fn through(solution: &Solution, branch: BranchId) -> Complex64 {
    match &solution.phasors {
        Some(phasors) => phasors.branch_a[branch],
        None => solution.branch_a[branch].into(),
    }
}

/// Amps out of a supply.
pub(super) fn out_of(solution: &Solution, supply: usize) -> Complex64 {
    match &solution.phasors {
        Some(phasors) => phasors.source_a[supply],
        None => solution.source_a[supply].into(),
    }
}

/// Amps into a device: its own draw and what its feeds take.
pub(super) fn into(
    solution: &Solution,
    device: usize,
    feeds: impl Iterator<Item = usize>,
) -> Complex64 {
    match &solution.phasors {
        Some(phasors) => {
            phasors.load_a[device] + feeds.map(|f| phasors.feed_a[f]).sum::<Complex64>()
        }
        None => {
            let fed: f64 = feeds.map(|f| solution.feed_a[f]).sum();
            (solution.load_a[device] + fed).into()
        }
    }
}

/// A number for a person: the rms magnitude on ac, the value with its sign on dc.
fn shown(value: Complex64, ac: bool) -> f64 {
    if ac { value.norm() } else { value.re + 0.0 }
}

pub(super) fn volts(value: Complex64, ac: bool) -> ElectricPotential {
    ElectricPotential::from_base(shown(value, ac))
}

pub(super) fn amps(value: Complex64, ac: bool) -> ElectricCurrent {
    ElectricCurrent::from_base(shown(value, ac))
}

/// Real power of volts and amps.
pub(super) fn watts(volts: Complex64, amps: Complex64) -> f64 {
    (volts * amps.conj()).re + 0.0
}

pub(super) fn working(volts_v: Complex64, amps_a: Complex64, ac: bool) -> Working {
    Working {
        volts: volts(volts_v, ac),
        amps: amps(amps_a, ac),
        watts: Power::from_base(watts(volts_v, amps_a)),
        va: ac.then(|| ApparentPower::from_base(volts_v.norm() * amps_a.norm())),
    }
}

impl Working {
    /// Amps with the sign of the power: negative where a supply takes current in.
    pub fn signed_amps(&self) -> f64 {
        if self.va.is_some() {
            self.amps.base().copysign(self.watts.base())
        } else {
            self.amps.base()
        }
    }
}

impl Results {
    /// Whether a thing is on ac in a row; where nothing reaches it, as its nearest supply is.
    pub fn on_ac(&self, row: &Row, thing: Thing) -> bool {
        let Some(hertz) = &self.live[row.case].hertz else {
            return false;
        };
        let found = match thing {
            Thing::Supply(i) => Some(hertz.supplies[i]),
            Thing::Device(i) => hertz.devices[i],
            Thing::Junction(i) => hertz.junctions[i],
            Thing::Run(i) => self.hertz_of_run(row, i),
            Thing::Earth(i) => self.template.earths[i].and_then(|b| hertz.branches[b]),
            Thing::Fuse(_) => None,
        };
        let nearest = || Some(hertz.supplies[self.ways.of_thing(thing)?]);
        found.or_else(nearest).is_some_and(|hz| hz > 0.0)
    }

    /// Volts of one node over another, with their angle where the row has angles.
    pub fn fall(&self, row: &Row, pair: Pair) -> Option<Complex64> {
        Some(across(row.solution()?, pair))
    }

    /// Amps out of a supply, with their angle where the row has angles.
    pub fn given(&self, row: &Row, supply: usize) -> Option<Complex64> {
        Some(out_of(row.solution()?, supply))
    }

    /// Frequency of the supplies that drive current through a run, in Hz.
    pub fn hertz_of_run(&self, row: &Row, i: usize) -> Option<f64> {
        let hertz = self.live[row.case].hertz.as_ref()?;
        let own = self.template.runs[i];
        let legs = [own.plus, own.minus, own.common, own.shield];
        legs.into_iter().flatten().find_map(|b| hertz.branches[b])
    }

    /// Whether current in a branch alternates.
    pub(super) fn branch_on_ac(&self, row: &Row, branch: BranchId) -> bool {
        let hertz = self.live[row.case].hertz.as_ref();
        hertz
            .and_then(|h| h.branches[branch])
            .is_some_and(|hz| hz > 0.0)
    }
}
