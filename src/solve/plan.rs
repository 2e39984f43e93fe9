//! What a circuit's shape settles before any number: merged nodes, elimination order, slots.

use std::ops::Range;
use std::sync::Arc;

use super::ldl::Symbolic;
use super::ordering::minimum_degree;
use super::{accumulate, index};
use crate::circuit::{Circuit, Source};
use crate::joined::Joined;

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
        if !circuit.sources.iter().any(Source::is_ideal) {
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
        if !source.is_ideal() {
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

/// Rows and elements that nothing joins to the rest of the circuit.
#[derive(Clone, Debug)]
pub(super) struct Block {
    pub(super) rows: Range<usize>,
    /// Which of the wires.
    pub(super) wires: Range<usize>,
    /// Which of the draws.
    pub(super) draws: Range<usize>,
}

/// The elimination order and the matrix pattern of one shape of circuit.
///
/// Rows stand block by block, and so do wires (branches, then sources, in the circuit) and draws
/// (loads, then feeds). One row more than there are stands for what has none: a group that nothing
/// touches, and both ends of an element within a group.
#[derive(Debug)]
pub(super) struct Plan {
    /// Groups at the ends of every element, in the order of [`nodes`]; with their number the key.
    ends: Vec<(u32, u32)>,
    /// Row of each group.
    pub(super) row: Vec<u32>,
    pub(super) blocks: Vec<Block>,
    pub(super) wires: Places,
    pub(super) draws: Places,
    pub(super) symbolic: Symbolic,
}

/// Where elements of one kind stand.
#[derive(Debug)]
pub(super) struct Places {
    /// Which element stands here.
    pub(super) element: Vec<u32>,
    /// Where an element stands.
    pub(super) at: Vec<u32>,
    /// Rows at the ends.
    pub(super) rows: Vec<(u32, u32)>,
    /// Matrix entry; one more than there are if it has none.
    pub(super) slots: Vec<u32>,
}

impl Plan {
    /// Orders and analyses the network of these elements, of which the first are wires.
    fn new(groups: usize, ends: Vec<(u32, u32)>, wires: usize, whole: bool) -> Self {
        let blocks = Blocks::new(groups, &ends, whole);
        let (row, symbolic) = blocks.order(&ends);
        let row: Vec<u32> = blocks
            .number
            .iter()
            .map(|n| row.get(*n as usize).map_or(index(row.len()), |row| *row))
            .collect();
        let places = |ends: &[(u32, u32)]| blocks.places(ends, &row, &symbolic);
        let (wire_starts, wire_places) = places(&ends[..wires]);
        let (draw_starts, draw_places) = places(&ends[wires..]);
        let range = |starts: &[u32], k: usize| starts[k] as usize..starts[k + 1] as usize;
        let block = |k: usize| Block {
            rows: range(&blocks.start, k),
            wires: range(&wire_starts, k),
            draws: range(&draw_starts, k),
        };
        Self {
            blocks: (0..blocks.start.len() - 1).map(block).collect(),
            row,
            wires: wire_places,
            draws: draw_places,
            symbolic,
            ends,
        }
    }
}

/// Which groups belong to which block.
struct Blocks {
    /// Number of each group among those that some element touches; `u32::MAX` for others.
    number: Vec<u32>,
    /// Block of each of them.
    block: Vec<u32>,
    /// First row of each block; one more for the end.
    start: Vec<u32>,
}

impl Blocks {
    /// Finds what is joined; if `whole`, all of it counts as joined.
    fn new(groups: usize, ends: &[(u32, u32)], whole: bool) -> Self {
        let mut joined = Joined::apart(groups);
        let mut number = vec![u32::MAX; groups];
        let mut touched = Vec::with_capacity(groups);
        for &(a, b) in ends {
            joined.join(a, b);
            for group in [a, b] {
                if number[group as usize] == u32::MAX {
                    number[group as usize] = index(touched.len());
                    touched.push(group);
                }
            }
        }
        let mut known = vec![u32::MAX; groups];
        let mut start: Vec<u32> = Vec::new();
        let mut block = Vec::with_capacity(touched.len());
        for group in touched {
            let root = if whole { 0 } else { joined.root(group) };
            let own = &mut known[root as usize];
            if *own == u32::MAX {
                *own = index(start.len());
                start.push(0);
            }
            start[*own as usize] += 1;
            block.push(*own);
        }
        start.push(0);
        accumulate(&mut start);
        Self {
            number,
            block,
            start,
        }
    }

    /// Orders every block; returns the row of each touched group, and the columns of the factor.
    fn order(&self, ends: &[(u32, u32)]) -> (Vec<u32>, Symbolic) {
        let number = |group: u32| self.number[group as usize];
        let edges: Vec<(u32, u32)> = ends.iter().map(|(a, b)| (number(*a), number(*b))).collect();
        let order = minimum_degree(self.block.len(), &edges);
        // Blocks do not know of each other: their columns may be put apart.
        let mut at_place = vec![0; order.place.len()];
        for (node, place) in order.place.iter().enumerate() {
            at_place[*place as usize] = index(node);
        }
        let mut next = self.start.clone();
        let mut row = vec![0; at_place.len()];
        let mut place_of_row = vec![0; at_place.len()];
        for (place, node) in at_place.iter().enumerate() {
            let next = &mut next[self.block[*node as usize] as usize];
            row[*node as usize] = *next;
            place_of_row[*next as usize] = index(place);
            *next += 1;
        }
        let mut start = Vec::with_capacity(row.len() + 1);
        let mut around = Vec::with_capacity(order.around.len());
        start.push(0);
        for place in place_of_row {
            let rows = order.column(place).iter();
            around.extend(rows.map(|near| row[at_place[*near as usize] as usize]));
            start.push(index(around.len()));
        }
        (row, Symbolic::new(start, around))
    }

    /// Sorts elements by block; returns where each block starts, and where they stand.
    fn places(&self, ends: &[(u32, u32)], row: &[u32], symbolic: &Symbolic) -> (Vec<u32>, Places) {
        let block = |end: &(u32, u32)| self.block[self.number[end.0 as usize] as usize] as usize;
        let mut start = vec![0; self.start.len()];
        for end in ends {
            start[block(end)] += 1;
        }
        accumulate(&mut start);
        let mut next = start.clone();
        let mut places = Places {
            element: vec![0; ends.len()],
            at: Vec::with_capacity(ends.len()),
            rows: Vec::with_capacity(ends.len()),
            slots: Vec::with_capacity(ends.len()),
        };
        for (k, end) in ends.iter().enumerate() {
            let next = &mut next[block(end)];
            places.element[*next as usize] = index(k);
            places.at.push(*next);
            *next += 1;
        }
        let nowhere = index(symbolic.rows());
        for k in &places.element {
            let (a, b) = ends[*k as usize];
            let (rows, slot) = if a == b {
                ((nowhere, nowhere), index(symbolic.entries()))
            } else {
                let (a, b) = (row[a as usize], row[b as usize]);
                ((a, b), symbolic.slot(a, b))
            };
            places.rows.push(rows);
            places.slots.push(slot);
        }
        (start, places)
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
    ///
    /// `nodes` are the ends of its elements.
    pub(super) fn of(
        &mut self,
        circuit: &Circuit,
        merge: &Merge,
        nodes: &[(u32, u32)],
    ) -> Arc<Plan> {
        let wires = circuit.branches.len() + circuit.sources.len();
        // Feeds carry power from block to block.
        let whole = !circuit.feeds.is_empty();
        let group = |node: u32| merge.group[node as usize];
        let ends = || nodes.iter().map(|(a, b)| (group(*a), group(*b)));
        let fits = |plan: &Arc<Plan>| {
            plan.row.len() == merge.groups && ends().eq(plan.ends.iter().copied())
        };
        let plan = match self.plans.iter().position(fits) {
            Some(at) => self.plans.remove(at),
            None => Arc::new(Plan::new(merge.groups, ends().collect(), wires, whole)),
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
