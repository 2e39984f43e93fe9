//! What a circuit's shape settles before any number: merged nodes, elimination order, slots.

use super::index;
use super::ldl::Symbolic;
use super::ordering::minimum_degree;
use crate::circuit::{Circuit, Source};

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
    groups: usize,
    /// Groups at the ends of every element, in the order of [`ends`]; with `groups` the key.
    ends: Vec<(u32, u32)>,
    /// Row of each group.
    pub(super) row: Vec<u32>,
    /// Rows at the ends of every element.
    pub(super) rows: Vec<(u32, u32)>,
    /// Matrix entry of every element; `u32::MAX` if both ends are one row.
    pub(super) slots: Vec<u32>,
    pub(super) symbolic: Symbolic,
}

impl Plan {
    /// Orders and analyses the network of these elements.
    pub(super) fn new(groups: usize, ends: Vec<(u32, u32)>) -> Self {
        let row = minimum_degree(groups, &ends);
        let rows: Vec<_> = ends
            .iter()
            .map(|&(a, b)| (row[a as usize], row[b as usize]))
            .collect();
        let (symbolic, slots) = Symbolic::new(groups, &rows);
        Self {
            groups,
            ends,
            row,
            rows,
            slots,
            symbolic,
        }
    }

    /// Returns whether the plan was made for this shape.
    pub(super) fn fits(&self, groups: usize, ends: &[(u32, u32)]) -> bool {
        self.groups == groups && self.ends == ends
    }
}

/// Returns the groups at the ends of every element: branches, sources, loads, feeds.
///
/// Open conductors, dead sources and loads that are off have theirs too, so that all cases of a
/// site share one plan.
pub(super) fn ends(circuit: &Circuit, merge: &Merge) -> Vec<(u32, u32)> {
    let group = |node: u32| merge.group[node as usize];
    nodes(circuit).map(|(a, b)| (group(a), group(b))).collect()
}

/// Returns the nodes at the ends of every element: branches, sources, loads, feeds.
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
