//! One circuit with its numbers, laid on a plan: wires and draws between rows, references, feeds.

mod fill;
mod islands;
mod peel;

use std::sync::Arc;

use super::element::{Demand, Draw, Flow, Wire, between};
use super::plan::{Merge, Plan, Plans, nodes};
use crate::circuit::Circuit;

use peel::{Peel, peels};

/// Volts that count as none, as a part of the largest source voltage: rounding must not pass for
/// a served load.
const NO_VOLTS: f64 = 1e-9;

/// A feed as the iteration sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Link {
    pub(super) source: usize,
    /// Watts drawn for each watt out of the source; 0 if it never draws.
    pub(super) gain: f64,
}

/// A circuit ready for iteration.
#[derive(Debug)]
pub(super) struct Network {
    pub(super) plan: Arc<Plan>,
    pub(super) merge: Merge,
    /// Nodes at the ends of every element, as the circuit has them.
    nodes: Vec<(u32, u32)>,
    /// Branches and sources, in the order of the plan.
    pub(super) wires: Vec<Wire>,
    /// Loads and feeding devices, in the order of the plan.
    pub(super) draws: Vec<Draw>,
    /// By source: whether it lives, and volts of its plus over its minus if both rows were at 0.
    live: Vec<bool>,
    shift_v: Vec<f64>,
    /// What the wires and resistances put on the diagonal and below it.
    pub(super) diagonal: Vec<f64>,
    pub(super) lower: Vec<f64>,
    /// By block: whether a value has changed since the circuit before.
    pub(super) changed: Vec<bool>,
    /// By row: the island of rows that conduct to one another.
    island: Vec<u32>,
    /// Whether a row's potential is given; the rows of which it is, ascending; by block, where
    /// its own start among them, with one more for the end.
    pub(super) is_fixed: Vec<bool>,
    pub(super) fixed: Vec<u32>,
    fixed_start: Vec<usize>,
    /// Potentials of the fixed rows; 0 elsewhere.
    pub(super) start: Vec<f64>,
    pub(super) links: Vec<Link>,
    /// Whether some feed's power comes back to it through the network.
    pub(super) coupled: bool,
    /// Volts against which small is small.
    pub(super) scale_v: f64,
    /// Amperes that rounding of the potentials makes in the stoutest wire.
    pub(super) noise_a: f64,
    /// Whether a load that draws, or a feeding device, lies between two separate networks.
    torn_load: bool,
    torn_feed: bool,
    peels: Vec<Peel>,
    branches: usize,
    loads: usize,
}

impl Network {
    /// Lays a circuit out; `scale` has a factor for each load, 1 where it is short.
    pub(super) fn new(circuit: &Circuit, plans: &mut Plans, scale: &[f64]) -> Self {
        let merge = Merge::new(circuit);
        let nodes: Vec<(u32, u32)> = nodes(circuit).collect();
        let plan = plans.of(circuit, &merge, &nodes);
        let rows = plan.symbolic.rows();
        let wire = |rows: &(u32, u32)| Wire {
            rows: *rows,
            siemens: 0.0,
            emf_v: 0.0,
            held_a: 0.0,
        };
        let draw = |rows: &(u32, u32)| Draw {
            rows: *rows,
            slot: 0,
            shift_v: 0.0,
            flow: Flow::Open,
        };
        let mut network = Self {
            wires: plan.wires.rows.iter().map(wire).collect(),
            draws: plan.draws.rows.iter().map(draw).collect(),
            live: Vec::new(),
            shift_v: vec![0.0; circuit.sources.len()],
            diagonal: vec![0.0; rows + 1],
            lower: vec![0.0; plan.symbolic.entries() + 1],
            changed: vec![true; plan.blocks.len()],
            island: Vec::new(),
            is_fixed: vec![false; rows + 1],
            fixed: Vec::new(),
            fixed_start: Vec::new(),
            start: vec![0.0; rows + 1],
            links: Vec::new(),
            coupled: false,
            scale_v: 1.0,
            noise_a: 0.0,
            torn_load: false,
            torn_feed: false,
            peels: peels(circuit, &merge),
            plan,
            merge,
            nodes,
            branches: circuit.branches.len(),
            loads: circuit.loads.len(),
        };
        network.fill(circuit, scale);
        network
    }

    /// Returns the number of rows.
    pub(super) fn rows(&self) -> usize {
        self.plan.symbolic.rows()
    }

    /// Returns the rows of a block whose potential is given.
    pub(super) fn fixed_in(&self, block: usize) -> &[u32] {
        &self.fixed[self.fixed_start[block]..self.fixed_start[block + 1]]
    }

    /// Returns the wire of a branch.
    pub(super) fn branch(&self, branch: usize) -> &Wire {
        &self.wires[self.plan.wires.at[branch] as usize]
    }

    /// Returns the wire of a source.
    pub(super) fn source(&self, source: usize) -> &Wire {
        self.branch(self.branches + source)
    }

    /// Returns the volts of a source's plus over its minus.
    pub(super) fn source_volts(&self, source: usize, x: &[f64]) -> f64 {
        between(self.source(source).rows, x) + self.shift_v[source]
    }

    /// Returns where the draw of a load stands.
    pub(super) fn load_at(&self, load: usize) -> usize {
        self.plan.draws.at[load] as usize
    }

    /// Returns the draw of a load.
    pub(super) fn load(&self, load: usize) -> &Draw {
        &self.draws[self.load_at(load)]
    }

    /// Returns the draw of a feed's device.
    pub(super) fn feed(&self, feed: usize) -> &Draw {
        self.load(self.loads + feed)
    }

    /// Returns the row of a node, and the node's volts over it.
    pub(super) fn row(&self, node: usize) -> (usize, f64) {
        let group = self.merge.group[node] as usize;
        (self.plan.row[group] as usize, self.merge.offset[node])
    }

    /// Returns whether everything that draws, and every feeding device, has volts.
    pub(super) fn is_served(&self, x: &[f64], demand: Demand) -> bool {
        let enough = NO_VOLTS * self.scale_v;
        let fed = |draw: &Draw| {
            let needs = match draw.flow {
                Flow::Open => false,
                Flow::Linear(_) | Flow::Feed(_) => true,
                Flow::Current(drawn) | Flow::Power(drawn) => drawn != 0.0,
            };
            !needs || draw.volts(x) > enough
        };
        let torn = self.torn_feed || (self.torn_load && demand.loads > 0.0);
        !torn && self.draws.iter().all(fed)
    }

    /// Returns whether a load that draws lies between two networks that nothing joins.
    pub(super) fn is_torn(&self) -> bool {
        self.torn_load
    }

    /// Returns whether a feeding device lies between two networks that nothing joins.
    pub(super) fn has_torn_feed(&self) -> bool {
        self.torn_feed
    }

    /// Returns whether some feed's power, beyond rounding, goes into its device.
    pub(super) fn gives_back(&self, watts: &[f64]) -> bool {
        let rounding = self.noise_a * self.scale_v;
        watts.iter().any(|watts| *watts < -rounding)
    }

    /// Finds the source currents out of plus, given the current of every wire and draw.
    ///
    /// Leaves in `left` what remains at each node when all currents out of it are added.
    pub(super) fn source_currents(
        &self,
        wire: impl Fn(&Wire) -> f64,
        draw: impl Fn(&Draw) -> f64,
        left: &mut Vec<f64>,
        amps: &mut Vec<f64>,
    ) {
        left.clear();
        left.resize(self.merge.group.len(), 0.0);
        amps.clear();
        amps.resize(self.shift_v.len(), 0.0);
        let wires = self.wires.iter().zip(&self.plan.wires.element);
        for (through, k) in wires.map(|(w, k)| (wire(w), *k as usize)) {
            let (from, to) = self.nodes[k];
            left[from as usize] += through;
            left[to as usize] -= through;
            if k >= self.branches {
                amps[k - self.branches] = -through;
            }
        }
        let nodes = &self.nodes[self.wires.len()..];
        let draws = self.draws.iter().zip(&self.plan.draws.element);
        for (through, k) in draws.map(|(d, k)| (draw(d), *k as usize)) {
            let (from, to) = nodes[k];
            left[from as usize] += through;
            left[to as usize] -= through;
        }
        self.peel(left, amps);
    }

    /// Moves what is left at nodes that ideal sources hold together into the sources' currents.
    pub(super) fn peel(&self, left: &mut [f64], amps: &mut [f64]) {
        for peel in &self.peels {
            let out = std::mem::take(&mut left[peel.leaf as usize]);
            left[peel.inner as usize] += out;
            amps[peel.source] = if peel.leaf_is_plus { out } else { -out };
        }
    }
}
