//! The open runs as trees, and what a design must at least lose in them.
//!
//! Every device hangs on the last open run on the way to its positive; that run hangs on the one
//! before it. In each row, run and choice get the volts that they lose at least, given the
//! amperes that flow there at least, and each device the volts that it needs beyond that. A
//! passing design keeps all of these; so the cheapest that keeps them costs no more than any
//! passing design. Legs that not every device below a run passes, and meshes, count for each
//! device by what they lose at the very least.

use crate::circuit::NodeId;
use crate::size::bounds::{Bounds, Wiring};
use crate::size::carried::Carried;
use crate::size::drawn::Drawn;
use crate::size::row::Row;
use crate::size::shape::Step;
use crate::size::trial::{Bench, TOLERANCE};
use crate::solve::Solution;

/// The open runs as trees: indices are those of open runs.
#[derive(Debug, Default)]
pub(crate) struct Forest {
    /// The run above; `None` at a supply.
    pub(crate) above: Vec<Option<usize>>,
    /// The runs below, in order of first use.
    pub(crate) below: Vec<Vec<usize>>,
    /// On the way to some device.
    pub(crate) used: Vec<bool>,
    /// Runs at a supply: each is the root of a tree that nothing ties to the others.
    pub(crate) roots: Vec<usize>,
    /// By device: the run that it hangs on.
    pub(crate) hangs: Vec<Option<usize>>,
}

/// What a row asks of a tree: volts are lost from the supply on.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Asked {
    /// By run, by choice (all of the run's, left or not): volts lost at least.
    pub(crate) lost_v: Vec<Vec<f64>>,
    /// By run: volts that the devices hanging on it need, less the supply's: at most 0 is spare.
    pub(crate) need_v: Vec<f64>,
    /// What the trees draw, where that follows the volts.
    pub(crate) drawn: Option<Drawn>,
}

impl Forest {
    pub(crate) fn of(bench: &Bench, wiring: &[Wiring]) -> Self {
        let count = bench.options.open.len();
        let mut forest = Self {
            above: vec![None; count],
            below: vec![Vec::new(); count],
            used: vec![false; count],
            roots: Vec::new(),
            hangs: vec![None; bench.devices.len()],
        };
        let owner = owners(bench);
        for (row, wires) in bench.rows.iter().zip(wiring) {
            for d in 0..bench.devices.len() {
                if forest.hangs[d].is_some() || row.lowest[d].is_none() || wires.loose[d] {
                    continue;
                }
                let Some(way) = &wires.shape.ways[d] else {
                    continue;
                };
                let mut last = None;
                for e in plus_side(way, wires.shape.branches, &owner) {
                    if !std::mem::replace(&mut forest.used[e], true) {
                        forest.above[e] = last;
                        match last {
                            Some(above) => forest.below[above].push(e),
                            None => forest.roots.push(e),
                        }
                    }
                    last = Some(e);
                }
                forest.hangs[d] = last;
            }
        }
        forest
    }

    /// A root and everything below it, above before below.
    pub(crate) fn tree(&self, root: usize) -> Vec<usize> {
        let mut runs = vec![root];
        let mut at = 0;
        while at < runs.len() {
            runs.extend(&self.below[runs[at]]);
            at += 1;
        }
        runs
    }

    /// Whether nothing hangs on the runs of a tree but on its root.
    pub(crate) fn is_star(&self, tree: &[usize]) -> bool {
        tree[1..].iter().all(|e| self.below[*e].is_empty())
    }

    pub(crate) fn line_of(&self, device: usize) -> impl Iterator<Item = usize> {
        std::iter::successors(self.hangs[device], |e| self.above[*e])
    }

    /// What a row asks of the trees where certain amperes flow and steps lose certain volts;
    /// `extra_v` is asked of each device beyond its lowest.
    pub(crate) fn asked(
        &self,
        row: &Row,
        carried: &Carried,
        flow: &impl Flow,
        extra_v: impl Fn(usize) -> f64,
    ) -> Asked {
        let lost = |e: usize, k: usize| {
            let legs = carried.legs[e].iter();
            let lost = legs.map(|leg| row.ohms[e][k][leg.slot] * flow.along(leg.edge, leg.forward));
            lost.sum::<f64>().max(FAR_BELOW)
        };
        let lost_v = row
            .ohms
            .iter()
            .enumerate()
            .map(|(e, choices)| (0..choices.len()).map(|k| lost(e, k)).collect());
        let mut asked = Asked {
            lost_v: lost_v.collect(),
            need_v: vec![f64::NEG_INFINITY; row.ohms.len()],
            drawn: None,
        };
        for (d, lowest, rest) in &carried.devices {
            let lost: f64 = rest.iter().map(|step| flow.lost(*step)).sum();
            let need = lowest + extra_v(*d) - TOLERANCE + lost;
            if let Some(e) = self.hangs[*d] {
                asked.need_v[e] = asked.need_v[e].max(need);
            }
        }
        asked
    }
}

/// Volts that stand for no need at all.
pub(crate) const FAR_BELOW: f64 = -1e9;

/// Amperes and volts of a row, at least or as they are.
pub(crate) trait Flow {
    /// Amperes of an edge, along its direction or against it.
    fn along(&self, edge: usize, forward: bool) -> f64;
    /// Volts lost on a step of a way.
    fn lost(&self, step: Step) -> f64;
}

/// What flows and is lost at least, within the intervals of a row.
pub(crate) struct AtLeast<'a> {
    pub(crate) row: &'a Row,
    pub(crate) wiring: &'a Wiring,
    pub(crate) bounds: &'a Bounds,
}

impl Flow for AtLeast<'_> {
    fn along(&self, edge: usize, forward: bool) -> f64 {
        let (low, high) = self.bounds.edge_a[edge];
        if forward { low } else { -high }
    }

    fn lost(&self, step: Step) -> f64 {
        self.bounds.lost(self.row, self.wiring, step).0
    }
}

/// What flows and is lost in a solution.
pub(crate) struct AsSolved<'a> {
    pub(crate) row: &'a Row,
    pub(crate) wiring: &'a Wiring,
    pub(crate) solution: &'a Solution,
}

impl Flow for AsSolved<'_> {
    fn along(&self, edge: usize, forward: bool) -> f64 {
        let first = self.wiring.shape.branches;
        let amps = match edge.checked_sub(first) {
            None => self.solution.branch_a[edge],
            Some(source) => self.solution.source_a[source],
        };
        // Where a loop turns a current round, the way gains nothing that could be counted on.
        let along = if forward { amps } else { -amps };
        along.max(0.0)
    }

    fn lost(&self, step: Step) -> f64 {
        let between = |a: NodeId, b: NodeId| {
            self.solution.node_v[a as usize] - self.solution.node_v[b as usize]
        };
        match step {
            Step::Mesh(mesh, into, out) => {
                let nodes = &self.wiring.shape.meshes[mesh].nodes;
                between(nodes[into], nodes[out])
            }
            Step::Bridge(edge, forward) => {
                let first = self.wiring.shape.branches;
                let (from, to) = match edge.checked_sub(first) {
                    None => {
                        let branch = &self.row.circuit.branches[edge];
                        (branch.from, branch.to)
                    }
                    Some(source) => {
                        let source = &self.row.circuit.sources[source];
                        (source.minus, source.plus)
                    }
                };
                if forward {
                    between(from, to)
                } else {
                    between(to, from)
                }
            }
        }
    }
}

/// By branch: the open run and slot that it belongs to.
pub(crate) fn owners(bench: &Bench) -> Vec<Option<(usize, usize)>> {
    let count = bench.rows.first().map_or(0, |r| r.circuit.branches.len());
    let mut owner = vec![None; count];
    for (e, branches) in bench.branches.iter().enumerate() {
        for (slot, branch) in branches.iter().enumerate() {
            if let Some(branch) = branch {
                owner[*branch] = Some((e, slot));
            }
        }
    }
    owner
}

/// The legs of open runs that a way passes: run, slot, edge, direction.
pub(crate) fn legs_of(
    way: &[Step],
    branches: usize,
    owner: &[Option<(usize, usize)>],
) -> impl Iterator<Item = (usize, usize, usize, bool)> {
    way.iter().filter_map(move |step| match *step {
        Step::Bridge(edge, forward) if edge < branches => {
            let (e, slot) = owner[edge]?;
            Some((e, slot, edge, forward))
        }
        _ => None,
    })
}

/// The open runs on a way behind its last supply, from there to the device.
fn plus_side(
    way: &[Step],
    branches: usize,
    owner: &[Option<(usize, usize)>],
) -> impl Iterator<Item = usize> {
    let supply = |step: &Step| matches!(step, Step::Bridge(edge, _) if *edge >= branches);
    let behind = way.iter().rposition(supply).map_or(way.len(), |at| at + 1);
    legs_of(&way[behind..], branches, owner).map(|(e, ..)| e)
}
