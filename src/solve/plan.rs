//! What a circuit's shape settles before any number: merged nodes, elimination order, slots.

use std::sync::Arc;

use super::index;
use super::ldl::Symbolic;
use super::ordering::{Order, minimum_degree};
use crate::circuit::{Circuit, Source};

/// Shapes of circuit kept: the normal case, and those with a supply dead or a wire taken out.
const PLANS: usize = 8;

/// Nodes that ideal sources hold together, each at a fixed potential from its group's.
#[derive(Debug)]
pub(super) struct Merge {
    /// Group of each node.
    pub(super) group: Vec<u32>,
    /// Volts of each node above its group.
    pub(super) offset: Vec<f64>,
    pub(super) groups: usize,
    /// For each source, whether it is one of those that hold a group together.
    pub(super) holds: Vec<bool>,
}

impl Merge {
    /// Merges the nodes of ideal live sources, except where that would close a loop.
    pub(super) fn new(circuit: &Circuit) -> Self {
        let ideal = |source: &Source| source.live && source.resistance_ohm <= 0.0;
        if !circuit.sources.iter().any(ideal) {
            return Self {
                group: (0..index(circuit.nodes)).collect(),
                offset: vec![0.0; circuit.nodes],
                groups: circuit.nodes,
                holds: vec![false; circuit.sources.len()],
            };
        }
        let mut forest = Forest {
            parent: (0..circuit.nodes).map(index).collect(),
            offset: vec![0.0; circuit.nodes],
        };
        let holds = circuit
            .sources
            .iter()
            .map(|source| forest.join(source))
            .collect();
        let mut number = vec![u32::MAX; circuit.nodes];
        let mut groups = 0;
        let mut group = Vec::with_capacity(circuit.nodes);
        let mut offset = Vec::with_capacity(circuit.nodes);
        for node in 0..circuit.nodes {
            let (root, volts) = forest.find(index(node));
            let known = &mut number[root as usize];
            if *known == u32::MAX {
                *known = groups;
                groups += 1;
            }
            group.push(*known);
            offset.push(volts);
        }
        Self {
            group,
            offset,
            groups: groups as usize,
            holds,
        }
    }
}

struct Forest {
    parent: Vec<u32>,
    /// Volts above the parent.
    offset: Vec<f64>,
}

impl Forest {
    /// Returns the root of a node and the node's volts above it, and shortens the way there.
    fn find(&mut self, node: u32) -> (u32, f64) {
        let (mut root, mut volts) = (node, 0.0);
        while self.parent[root as usize] != root {
            volts += self.offset[root as usize];
            root = self.parent[root as usize];
        }
        let (mut at, mut left) = (node as usize, volts);
        while self.parent[at] != root && at != root as usize {
            let next = self.parent[at] as usize;
            let step = std::mem::replace(&mut self.offset[at], left);
            self.parent[at] = root;
            left -= step;
            at = next;
        }
        (root, volts)
    }

    fn join(&mut self, source: &Source) -> bool {
        if !(source.live && source.resistance_ohm <= 0.0) {
            return false;
        }
        let (plus, plus_v) = self.find(source.plus);
        let (minus, minus_v) = self.find(source.minus);
        if plus == minus {
            return false;
        }
        self.parent[plus as usize] = minus;
        self.offset[plus as usize] = minus_v + source.volts_v - plus_v;
        true
    }
}

/// The elimination order and the matrix pattern of one shape of circuit.
#[derive(Debug)]
pub(super) struct Plan {
    /// Groups at the ends of every element, in the order of [`nodes`]; with their number the key.
    ends: Vec<(u32, u32)>,
    /// Row of each group.
    pub(super) row: Vec<u32>,
    /// Rows at the ends of every element; one row more than there are for both ends of an element
    /// that lies within a group.
    pub(super) rows: Vec<(u32, u32)>,
    /// Matrix entry of every element; one more than there are if it lies within a group.
    pub(super) slots: Vec<u32>,
    pub(super) symbolic: Symbolic,
}

impl Plan {
    /// Orders and analyses the network of these elements.
    fn new(groups: usize, ends: Vec<(u32, u32)>) -> Self {
        let Order {
            place: row,
            start,
            around,
        } = minimum_degree(groups, &ends);
        let symbolic = Symbolic::new(start, around);
        let nowhere = (index(groups), index(groups));
        let no_slot = index(symbolic.entries());
        let mut rows = Vec::with_capacity(ends.len());
        let mut slots = Vec::with_capacity(ends.len());
        for &(a, b) in &ends {
            if a == b {
                rows.push(nowhere);
                slots.push(no_slot);
            } else {
                let (a, b) = (row[a as usize], row[b as usize]);
                rows.push((a, b));
                slots.push(symbolic.slot(a, b));
            }
        }
        Self {
            ends,
            row,
            rows,
            slots,
            symbolic,
        }
    }
}

/// The plans of the last few shapes of circuit.
#[derive(Clone, Debug, Default)]
pub(super) struct Plans {
    /// Most recently used last.
    plans: Vec<Arc<Plan>>,
}

impl Plans {
    /// Returns the plan for a circuit's shape, made anew if it is not among the last.
    pub(super) fn of(&mut self, merge: &Merge, nodes: &[(u32, u32)]) -> Arc<Plan> {
        let group = |node: u32| merge.group[node as usize];
        let ends = || nodes.iter().map(|(a, b)| (group(*a), group(*b)));
        let fits = |plan: &Arc<Plan>| {
            plan.row.len() == merge.groups && ends().eq(plan.ends.iter().copied())
        };
        let plan = match self.plans.iter().position(fits) {
            Some(at) => self.plans.remove(at),
            None => Arc::new(Plan::new(merge.groups, ends().collect())),
        };
        if self.plans.len() == PLANS {
            self.plans.remove(0);
        }
        self.plans.push(Arc::clone(&plan));
        plan
    }
}

/// Returns the nodes at the ends of every element: branches, sources, loads, feeds.
///
/// Open conductors, dead sources and loads that are off have theirs too, so that all cases of a
/// site share one plan.
pub(super) fn nodes(circuit: &Circuit) -> impl Iterator<Item = (u32, u32)> + '_ {
    let branches = circuit
        .branches
        .iter()
        .map(|branch| (branch.from, branch.to));
    let sources = circuit
        .sources
        .iter()
        .map(|source| (source.plus, source.minus));
    let loads = circuit.loads.iter().map(|load| (load.plus, load.minus));
    let feeds = circuit.feeds.iter().map(|feed| (feed.plus, feed.minus));
    branches.chain(sources).chain(loads).chain(feeds)
}
