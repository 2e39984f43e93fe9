//! The values of a circuit, put where the plan has room for them; and which of them changed.

use super::Network;
use crate::circuit::Circuit;
use crate::solve::element::{Flow, conductance, source_conductance};
use crate::solve::index;
use crate::solve::plan::{Merge, nodes};

impl Network {
    /// Takes the values of a circuit of the same shape; false if it has another.
    pub(in crate::solve) fn refill(&mut self, circuit: &Circuit, scale: &[f64]) -> bool {
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
    pub(super) fn fill(&mut self, circuit: &Circuit, scale: &[f64]) {
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
}
