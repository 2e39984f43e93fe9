//! One circuit with its numbers, laid on a plan: wires and draws between rows, references, feeds.

use std::sync::Arc;

use super::element::{Demand, Draw, Flow, Wire, between, conductance, source_conductance};
use super::index;
use super::plan::{Merge, Plan, Plans, nodes};
use crate::circuit::Circuit;
use crate::joined::Joined;

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

/// One step of finding the currents of the ideal sources of a group, from the leaves in.
#[derive(Clone, Copy, Debug)]
struct Peel {
    source: usize,
    leaf: u32,
    inner: u32,
    leaf_is_plus: bool,
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

    /// Takes the values of a circuit of the same shape; false if it has another.
    pub(super) fn refill(&mut self, circuit: &Circuit, scale: &[f64]) -> bool {
        let sizes = [
            circuit.nodes,
            circuit.branches.len(),
            circuit.sources.len(),
            circuit.loads.len(),
        ];
        let own = [
            self.merge.group.len(),
            self.branches,
            self.shift_v.len(),
            self.loads,
        ];
        if sizes != own || !nodes(circuit).eq(self.nodes.iter().copied()) {
            return false;
        }
        let merge = Merge::new(circuit);
        if merge.group != self.merge.group || merge.holds != self.merge.holds {
            return false;
        }
        let same = merge.offset == self.merge.offset;
        self.changed.fill(!same);
        self.merge = merge;
        self.fill(circuit, scale);
        true
    }

    /// Takes the values of a circuit.
    fn fill(&mut self, circuit: &Circuit, scale: &[f64]) {
        let volts = circuit.sources.iter().filter(|source| source.live);
        let largest = volts.fold(0.0_f64, |most, source| most.max(source.volts_v.abs()));
        self.scale_v = if largest > 0.0 { largest } else { 1.0 };
        let same_live = circuit
            .sources
            .iter()
            .map(|s| s.live)
            .eq(self.live.iter().copied());
        let shifted = self.changed.contains(&true);
        let rewired = self.fill_wires(circuit) | self.fill_draws(circuit, scale);
        if rewired || self.island.is_empty() {
            self.find_islands();
        }
        if rewired || shifted || !same_live {
            self.live = circuit.sources.iter().map(|s| s.live).collect();
            self.ground(circuit);
            self.changed.fill(true);
        }
        self.fill_links(circuit);
        self.mark_torn();
        self.coupled = !self.links.is_empty() && self.is_coupled();
        self.fill_matrix();
    }

    /// Returns whether some wire opened or closed.
    fn fill_wires(&mut self, circuit: &Circuit) -> bool {
        let offset = &self.merge.offset;
        let mut rewired = false;
        let mut most = 0.0_f64;
        for (block, changed) in self.plan.blocks.iter().zip(&mut self.changed) {
            let own = block.wires.clone();
            let elements = &self.plan.wires.element[own.clone()];
            for (wire, element) in self.wires[own].iter_mut().zip(elements) {
                let k = *element as usize;
                let (a, b) = self.nodes[k];
                let shift_v = offset[a as usize] - offset[b as usize];
                let (siemens, emf_v, held_a) = if k < self.branches {
                    let siemens = conductance(circuit.branches[k].resistance_ohm);
                    (siemens, -shift_v, 0.0)
                } else {
                    let k = k - self.branches;
                    let source = &circuit.sources[k];
                    self.shift_v[k] = shift_v;
                    let holds = self.merge.holds[k];
                    let siemens = if holds {
                        0.0
                    } else {
                        source_conductance(source)
                    };
                    match source.held.filter(|_| source.live) {
                        Some(held) => (siemens, -shift_v, held.amps_a),
                        None => (siemens, source.volts_v - shift_v, 0.0),
                    }
                };
                rewired |= (siemens > 0.0) != (wire.siemens > 0.0);
                *changed |= (siemens, emf_v, held_a) != (wire.siemens, wire.emf_v, wire.held_a);
                most = most.max(siemens);
                (wire.siemens, wire.emf_v, wire.held_a) = (siemens, emf_v, held_a);
            }
        }
        self.noise_a = 32.0 * f64::EPSILON * self.scale_v * most;
        rewired
    }

    /// Returns whether some resistance came or went.
    fn fill_draws(&mut self, circuit: &Circuit, scale: &[f64]) -> bool {
        let offset = &self.merge.offset;
        let nodes = &self.nodes[self.wires.len()..];
        let mut rewired = false;
        let mut most = 0.0_f64;
        for (block, changed) in self.plan.blocks.iter().zip(&mut self.changed) {
            let own = block.draws.clone();
            let elements = &self.plan.draws.element[own.clone()];
            for (draw, element) in self.draws[own].iter_mut().zip(elements) {
                let k = *element as usize;
                let flow = if k < self.loads {
                    let factor = scale.get(k).map_or(1.0, |factor| *factor);
                    Flow::of(circuit.loads[k].law, factor)
                } else if circuit.sources[circuit.feeds[k - self.loads].source].live {
                    Flow::Feed(k - self.loads)
                } else {
                    Flow::Open
                };
                rewired |= (flow.siemens() > 0.0) != (draw.flow.siemens() > 0.0);
                *changed |= flow != draw.flow;
                most = most.max(flow.siemens());
                let (a, b) = nodes[k];
                draw.flow = flow;
                draw.shift_v = offset[a as usize] - offset[b as usize];
            }
        }
        self.noise_a = self.noise_a.max(32.0 * f64::EPSILON * self.scale_v * most);
        rewired
    }

    /// Puts on the matrix of every block that changed what does not change as the potentials do.
    fn fill_matrix(&mut self) {
        let no_slot = index(self.lower.len() - 1);
        let is_fixed = &self.is_fixed;
        let free = |(a, b): (u32, u32)| !(is_fixed[a as usize] || is_fixed[b as usize]);
        let (diagonal, lower) = (&mut self.diagonal, &mut self.lower);
        for (block, _) in self.plan.blocks.iter().zip(&self.changed).filter(|b| *b.1) {
            diagonal[block.rows.clone()].fill(0.0);
            lower[self.plan.symbolic.entries_of(&block.rows)].fill(0.0);
            let mut put = |rows: (u32, u32), slot: u32, siemens: f64| {
                diagonal[rows.0 as usize] += siemens;
                diagonal[rows.1 as usize] += siemens;
                let slot = if free(rows) { slot } else { no_slot };
                lower[slot as usize] -= siemens;
                slot
            };
            let own = block.wires.clone();
            for (wire, slot) in self.wires[own.clone()]
                .iter()
                .zip(&self.plan.wires.slots[own])
            {
                put(wire.rows, *slot, wire.siemens);
            }
            let own = block.draws.clone();
            let slots = &self.plan.draws.slots[own.clone()];
            for (draw, slot) in self.draws[own].iter_mut().zip(slots) {
                draw.slot = put(draw.rows, *slot, draw.flow.siemens());
            }
        }
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

    /// Finds which rows conduct to one another.
    fn find_islands(&mut self) {
        let mut joined = Joined::apart(self.rows() + 1);
        for wire in self.wires.iter().filter(|wire| wire.siemens > 0.0) {
            joined.join(wire.rows.0, wire.rows.1);
        }
        for draw in self.draws.iter().filter(|draw| draw.flow.siemens() > 0.0) {
            joined.join(draw.rows.0, draw.rows.1);
        }
        self.island = joined.roots();
    }

    /// Fixes the potential of one row in each island.
    ///
    /// The minus of an island's first live source is its zero, or else its first row.
    fn ground(&mut self, circuit: &Circuit) {
        for row in self.fixed.drain(..) {
            self.is_fixed[row as usize] = false;
            self.start[row as usize] = 0.0;
        }
        let mut has_zero = vec![false; self.island.len()];
        let mut fix = |row: usize, volts: f64| {
            if !std::mem::replace(&mut has_zero[self.island[row] as usize], true) {
                self.is_fixed[row] = true;
                self.start[row] = volts;
                self.fixed.push(index(row));
            }
        };
        for source in circuit.sources.iter().filter(|source| source.live) {
            let minus = source.minus as usize;
            let row = self.plan.row[self.merge.group[minus] as usize] as usize;
            fix(row, -self.merge.offset[minus]);
        }
        for row in 0..self.plan.symbolic.rows() {
            fix(row, 0.0);
        }
        self.fixed.sort_unstable();
        let before = |row: usize| self.fixed.partition_point(|fixed| (*fixed as usize) < row);
        let ends = self.plan.blocks.iter().map(|block| before(block.rows.end));
        self.fixed_start = std::iter::once(0).chain(ends).collect();
    }

    fn fill_links(&mut self, circuit: &Circuit) {
        let link = |feed: &crate::circuit::Feed| Link {
            source: feed.source,
            gain: if circuit.sources[feed.source].live {
                feed.efficiency.recip()
            } else {
                0.0
            },
        };
        self.links.clear();
        self.links.extend(circuit.feeds.iter().map(link));
    }

    fn mark_torn(&mut self) {
        (self.torn_load, self.torn_feed) = (false, false);
        for draw in &mut self.draws {
            if self.island[draw.rows.0 as usize] == self.island[draw.rows.1 as usize] {
                continue;
            }
            match draw.flow {
                Flow::Current(drawn) | Flow::Power(drawn) if drawn != 0.0 => self.torn_load = true,
                Flow::Feed(feed) => {
                    self.torn_feed = true;
                    self.links[feed].gain = 0.0;
                    draw.flow = Flow::Open;
                }
                _ => {}
            }
        }
    }

    /// Follows the feeds from island to island; coupled if that never ends.
    fn is_coupled(&self) -> bool {
        let mut depth = vec![0_usize; self.island.len()];
        let at = |element: usize| {
            let (row, _) = self.row(self.nodes[element].0 as usize);
            self.island[row] as usize
        };
        for _ in 0..=self.links.len().min(100) {
            let mut changed = false;
            for (k, link) in self
                .links
                .iter()
                .enumerate()
                .filter(|(_, link)| link.gain > 0.0)
            {
                let from = at(self.branches + link.source);
                let to = at(self.wires.len() + self.loads + k);
                if depth[to] <= depth[from] {
                    depth[to] = depth[from] + 1;
                    changed = true;
                }
            }
            if !changed {
                return false;
            }
        }
        true
    }
}

/// Orders the sources that hold groups together so that each, in turn, is its node's last.
fn peels(circuit: &Circuit, merge: &Merge) -> Vec<Peel> {
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); circuit.nodes];
    for (k, source) in circuit
        .sources
        .iter()
        .enumerate()
        .filter(|(k, _)| merge.holds[*k])
    {
        at[source.plus as usize].push(k);
        at[source.minus as usize].push(k);
    }
    let mut left: Vec<usize> = at.iter().map(Vec::len).collect();
    let mut done = vec![false; circuit.sources.len()];
    let mut leaves: Vec<u32> = (0..index(circuit.nodes))
        .filter(|node| left[*node as usize] == 1)
        .collect();
    let mut peels = Vec::new();
    while let Some(leaf) = leaves.pop() {
        let Some(&k) = at[leaf as usize].iter().find(|k| !done[**k]) else {
            continue;
        };
        let source = &circuit.sources[k];
        let leaf_is_plus = source.plus == leaf;
        let inner = if leaf_is_plus {
            source.minus
        } else {
            source.plus
        };
        done[k] = true;
        left[inner as usize] -= 1;
        if left[inner as usize] == 1 {
            leaves.push(inner);
        }
        peels.push(Peel {
            source: k,
            leaf,
            inner,
            leaf_is_plus,
        });
    }
    peels
}
