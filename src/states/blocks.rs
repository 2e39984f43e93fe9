//! Blocks of a network: edges that lie on a common ring. What happens in one block is not felt in
//! another, because the two share one node at most.

/// An edge between two nodes.
pub(super) type Edge = (u32, u32);

/// The block of each edge, numbered from 0; an edge on no ring is a block of its own.
///
/// # Source
/// Hopcroft and Tarjan, Communications of the ACM 16 (1973), Algorithm 447, from memory.
pub(super) fn blocks(nodes: usize, edges: &[Edge]) -> Vec<usize> {
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); nodes];
    for (e, (a, b)) in edges.iter().enumerate() {
        at[*a as usize].push(e);
        if a != b {
            at[*b as usize].push(e);
        }
    }
    let mut walk = Walk {
        edges,
        at: &at,
        entered: vec![0; nodes],
        lowest: vec![0; nodes],
        clock: 0,
        open: Vec::new(),
        block: vec![usize::MAX; edges.len()],
        blocks: 0,
    };
    for node in 0..nodes {
        if walk.entered[node] == 0 {
            walk.from(node);
        }
    }
    walk.block
}

/// A walk through the network, depth first.
struct Walk<'a> {
    edges: &'a [Edge],
    at: &'a [Vec<usize>],
    /// When a node was entered, from 1; 0: not yet.
    entered: Vec<usize>,
    /// The earliest node that is reached from what lies behind a node.
    lowest: Vec<usize>,
    clock: usize,
    /// Edges passed whose block is not complete.
    open: Vec<usize>,
    block: Vec<usize>,
    blocks: usize,
}

/// A node on the way, the edge that led there, and how many of its edges were looked at.
struct Step {
    node: usize,
    by: usize,
    seen: usize,
}

impl Walk<'_> {
    fn from(&mut self, start: usize) {
        self.enter(start);
        let mut way = vec![Step {
            node: start,
            by: usize::MAX,
            seen: 0,
        }];
        while let Some(step) = way.last_mut() {
            let (node, by) = (step.node, step.by);
            let Some(&edge) = self.at[node].get(step.seen) else {
                way.pop();
                if let Some(before) = way.last() {
                    self.leave(before.node, node, by);
                }
                continue;
            };
            step.seen += 1;
            if edge == by || self.block[edge] != usize::MAX {
                continue;
            }
            let (a, b) = self.edges[edge];
            let other = if a as usize == node { b } else { a } as usize;
            if other == node {
                self.block[edge] = self.blocks;
                self.blocks += 1;
            } else if self.entered[other] == 0 {
                self.open.push(edge);
                self.enter(other);
                way.push(Step {
                    node: other,
                    by: edge,
                    seen: 0,
                });
            } else if self.entered[other] < self.entered[node] {
                self.open.push(edge);
                self.lowest[node] = self.lowest[node].min(self.entered[other]);
            }
        }
    }

    fn enter(&mut self, node: usize) {
        self.clock += 1;
        self.entered[node] = self.clock;
        self.lowest[node] = self.clock;
    }

    /// Goes back over `by` from `node` to `before`; closes a block where nothing behind it leads
    /// further back than `before`.
    fn leave(&mut self, before: usize, node: usize, by: usize) {
        self.lowest[before] = self.lowest[before].min(self.lowest[node]);
        if self.lowest[node] < self.entered[before] {
            return;
        }
        while let Some(edge) = self.open.pop() {
            self.block[edge] = self.blocks;
            if edge == by {
                break;
            }
        }
        self.blocks += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Edges are in one block where taking out any one node leaves them joined: here by brute
    /// force, as the classes of edges that some ring passes both of.
    fn on_a_ring(nodes: usize, edges: &[Edge], first: usize, second: usize) -> bool {
        fn reach(
            edges: &[Edge],
            at: u32,
            goal: u32,
            second: usize,
            seen: &mut Vec<bool>,
            passed: bool,
        ) -> bool {
            if at == goal {
                return passed;
            }
            seen[at as usize] = true;
            let mut found = false;
            for (e, (a, b)) in edges.iter().enumerate() {
                let next = if *a == at {
                    *b
                } else if *b == at {
                    *a
                } else {
                    continue;
                };
                if !seen[next as usize] {
                    found |= reach(edges, next, goal, second, seen, passed || e == second);
                }
            }
            seen[at as usize] = false;
            found
        }
        let (a, b) = edges[first];
        let rest: Vec<Edge> = edges
            .iter()
            .enumerate()
            .map(|(e, x)| if e == first { (u32::MAX, u32::MAX) } else { *x })
            .collect();
        reach(&rest, a, b, second, &mut vec![false; nodes], false)
    }

    #[test]
    fn two_edges_are_in_one_block_where_a_ring_passes_both() {
        let mut seed = 5_u64;
        let mut random = |n: u64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 33) % n
        };
        for _ in 0..300 {
            let nodes = 2 + random(6);
            let edges: Vec<Edge> = (0..1 + random(9))
                .map(|_| (random(nodes), random(nodes)))
                .map(|(a, b)| (u32::try_from(a).unwrap(), u32::try_from(b).unwrap()))
                .collect();
            let nodes = usize::try_from(nodes).unwrap();
            let block = blocks(nodes, &edges);
            for i in 0..edges.len() {
                for k in 0..i {
                    let loops = edges[i].0 == edges[i].1 || edges[k].0 == edges[k].1;
                    let same = !loops && on_a_ring(nodes, &edges, i, k);
                    assert_eq!(block[i] == block[k], same, "{edges:?} {i} {k}");
                }
            }
        }
    }
}
