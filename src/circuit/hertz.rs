//! Which current alternates: the frequency of the supplies that can drive current through a
//! conductor or a draw.
//!
//! A current runs in rings. Conductors, supplies and draws that lie in a common ring form a block
//! (a biconnected component of the network); a block's currents come from its own supplies and no
//! others, even where it touches another block in one node, as two systems with one earth do.

use crate::circuit::live::Live;
use crate::circuit::wire::Terminals;
use crate::circuit::{Circuit, NodeId};
use crate::site::{Site, Supply, SupplyKind};
use crate::units::Measure;

/// Frequency of an ac supply that states none.
const SILENT_HZ: f64 = 60.0;

/// The frequencies in one case; 0 is dc, `None` is what no live supply can drive current through.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hertz {
    /// By branch, in Hz.
    pub branches: Vec<Option<f64>>,
    /// Of each supply itself, in Hz.
    pub supplies: Vec<f64>,
    /// By device, in Hz.
    pub devices: Vec<Option<f64>>,
    /// By junction, in Hz.
    pub junctions: Vec<Option<f64>>,
    /// Supplies of different frequency that drive current through the same conductors, block by
    /// block. The highest frequency stands for all of them.
    pub mixed: Vec<Vec<usize>>,
}

/// Frequency of a supply in Hz; 0 is dc.
pub(crate) fn frequency(supply: &Supply) -> f64 {
    match supply.kind {
        SupplyKind::Dc => 0.0,
        SupplyKind::Ac => supply.frequency.map_or(SILENT_HZ, Measure::base),
    }
}

impl Hertz {
    /// Follows the rings of a case; nothing on a site without ac.
    pub(crate) fn of(
        site: &Site,
        circuit: &Circuit,
        terminals: &Terminals,
        live: &Live,
    ) -> Option<Self> {
        if site.supplies.iter().all(|s| s.kind == SupplyKind::Dc) {
            return None;
        }
        let branches = circuit.branches.iter().zip(&live.open);
        let mut edges: Vec<(NodeId, NodeId)> = branches
            .map(|(b, open)| if *open { (b.to, b.to) } else { (b.from, b.to) })
            .collect();
        let first_device = edges.len();
        edges.extend(terminals.devices.iter().map(|[p, m]| (*p, *m)));
        let first_junction = edges.len();
        edges.extend(terminals.junctions.iter().map(|[p, m]| (*p, *m)));
        let first_supply = edges.len();
        let supplies = terminals.supplies.iter().zip(&live.supplies);
        edges.extend(supplies.map(|([p, m], live)| if *live { (*p, *m) } else { (*m, *m) }));
        let block = blocks(circuit.nodes, &edges);
        let mut of_block: Vec<Vec<usize>> = vec![Vec::new(); edges.len()];
        for (i, block) in block[first_supply..].iter().enumerate() {
            if let Some(block) = block {
                of_block[*block].push(i);
            }
        }
        let hertz = |supply: &usize| frequency(&site.supplies[*supply]);
        let at = |edges: std::ops::Range<usize>| -> Vec<Option<f64>> {
            let highest = |block: &Option<usize>| {
                let supplies = &of_block[(*block)?];
                supplies.iter().map(hertz).max_by(f64::total_cmp)
            };
            block[edges].iter().map(highest).collect()
        };
        Some(Self {
            branches: at(0..first_device),
            supplies: site.supplies.iter().map(frequency).collect(),
            devices: at(first_device..first_junction),
            junctions: at(first_junction..first_supply),
            mixed: of_block
                .iter()
                .filter(|supplies| {
                    let first = supplies.first().map(hertz);
                    supplies.iter().any(|s| Some(hertz(s)) != first)
                })
                .cloned()
                .collect(),
        })
    }
}

const NONE: usize = usize::MAX;

/// The block of each edge; none for one from a node to itself.
///
/// # Source
/// J. Hopcroft and R. Tarjan, Efficient algorithms for graph manipulation, Communications of the
/// ACM 16 (1973), with the recursion spelled out so that a long chain cannot overflow the stack.
fn blocks(nodes: usize, edges: &[(NodeId, NodeId)]) -> Vec<Option<usize>> {
    let mut around: Vec<Vec<(usize, usize)>> = vec![Vec::new(); nodes];
    for (e, &(a, b)) in edges.iter().enumerate().filter(|(_, (a, b))| a != b) {
        around[a as usize].push((e, b as usize));
        around[b as usize].push((e, a as usize));
    }
    let mut block = vec![None; edges.len()];
    let mut next_block = 0;
    // Order of discovery, and the earliest node that a subtree reaches by one edge back.
    let (mut seen, mut low) = (vec![NONE; nodes], vec![NONE; nodes]);
    let mut clock = 0;
    let mut open_edges = Vec::new();
    for root in 0..nodes {
        if seen[root] != NONE {
            continue;
        }
        (seen[root], low[root], clock) = (clock, clock, clock + 1);
        // Node, the edge that led to it, and how many of its edges are done.
        let mut way = vec![(root, NONE, 0)];
        while let Some(&mut (node, by, ref mut done)) = way.last_mut() {
            if let Some(&(e, to)) = around[node].get(*done) {
                *done += 1;
                if e == by {
                    continue;
                }
                if seen[to] == NONE {
                    open_edges.push(e);
                    (seen[to], low[to], clock) = (clock, clock, clock + 1);
                    way.push((to, e, 0));
                } else if seen[to] < seen[node] {
                    open_edges.push(e);
                    low[node] = low[node].min(seen[to]);
                }
                continue;
            }
            way.pop();
            let Some(&(parent, ..)) = way.last() else {
                break;
            };
            low[parent] = low[parent].min(low[node]);
            if low[node] >= seen[parent] {
                while let Some(e) = open_edges.pop() {
                    block[e] = Some(next_block);
                    if e == by {
                        break;
                    }
                }
                next_block += 1;
            }
        }
    }
    block
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_rings_that_touch_in_a_node_are_two_blocks() {
        let edges = [
            (0, 1),
            (1, 2),
            (2, 0),
            (2, 3),
            (3, 4),
            (4, 2),
            (4, 5),
            (6, 6),
        ];
        let block = blocks(7, &edges);
        assert_eq!(block[0], block[1]);
        assert_eq!(block[1], block[2]);
        assert_eq!(block[3], block[4]);
        assert_eq!(block[4], block[5]);
        assert_ne!(block[0], block[3]);
        assert_ne!(block[6], block[5]);
        assert_eq!(block[7], None);
    }

    #[test]
    fn two_edges_side_by_side_are_a_ring() {
        let block = blocks(3, &[(0, 1), (0, 1), (1, 2)]);
        assert_eq!(block[0], block[1]);
        assert_ne!(block[1], block[2]);
    }
}
