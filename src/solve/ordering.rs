//! The order in which nodes are eliminated: least degree first, so that a tree stays a tree.
//!
//! The elimination graph is kept explicitly. Neighbour lists are chains in one pool, only ever
//! appended to; an entry that has gone stale is skipped when its owner is itself eliminated. So a
//! rail with ten thousand neighbours costs nothing until its turn comes.

use super::index;

const NONE: u32 = u32::MAX;

/// Returns the place of each node in the elimination order.
///
/// `edges` may repeat and may join a node to itself. Ties are broken by the order of the queue,
/// which depends on the input alone.
pub(super) fn minimum_degree(nodes: usize, edges: &[(u32, u32)]) -> Vec<u32> {
    let mut graph = Graph::new(nodes, edges);
    let mut queue = Queue::new(&graph.degree);
    let mut position = vec![NONE; nodes];
    let mut around = Vec::new();
    for place in 0..nodes {
        let Some(node) = queue.pop() else { break };
        position[node as usize] = index(place);
        graph.live_neighbours(node, &position, &mut around);
        for &near in &around {
            graph.degree[near as usize] -= 1;
        }
        graph.join(&around);
        for &near in &around {
            queue.place(near, graph.degree[near as usize]);
        }
    }
    position
}

/// The graph of what is not yet eliminated.
struct Graph {
    degree: Vec<u32>,
    head: Vec<u32>,
    /// (neighbour, next entry).
    pool: Vec<(u32, u32)>,
    edges: EdgeSet,
}

impl Graph {
    fn new(nodes: usize, edges: &[(u32, u32)]) -> Self {
        let mut graph = Self {
            degree: vec![0; nodes],
            head: vec![NONE; nodes],
            pool: Vec::with_capacity(edges.len() * 3),
            edges: EdgeSet::with_capacity(edges.len() * 2),
        };
        for &(a, b) in edges {
            graph.add(a, b);
        }
        graph
    }

    fn add(&mut self, a: u32, b: u32) {
        if a == b || !self.edges.insert(a, b) {
            return;
        }
        for (owner, other) in [(a, b), (b, a)] {
            let entry = index(self.pool.len());
            self.pool.push((other, self.head[owner as usize]));
            self.head[owner as usize] = entry;
            self.degree[owner as usize] += 1;
        }
    }

    fn live_neighbours(&self, node: u32, position: &[u32], into: &mut Vec<u32>) {
        into.clear();
        let mut entry = self.head[node as usize];
        while entry != NONE {
            let (near, next) = self.pool[entry as usize];
            if position[near as usize] == NONE {
                into.push(near);
            }
            entry = next;
        }
    }

    /// Makes the neighbours of an eliminated node neighbours of each other.
    fn join(&mut self, around: &[u32]) {
        for (k, &a) in around.iter().enumerate() {
            for &b in &around[k + 1..] {
                self.add(a, b);
            }
        }
    }
}

/// Edges seen so far, in an open-addressed table: two rails with long lists are asked about once
/// for every device between them, so scanning either list would be quadratic.
struct EdgeSet {
    table: Vec<u64>,
    used: usize,
}

impl EdgeSet {
    const EMPTY: u64 = u64::MAX;

    fn with_capacity(edges: usize) -> Self {
        let size = (edges * 2).next_power_of_two().max(16);
        Self {
            table: vec![Self::EMPTY; size],
            used: 0,
        }
    }

    /// Adds the edge; false if it was there.
    fn insert(&mut self, a: u32, b: u32) -> bool {
        if self.used * 2 >= self.table.len() {
            self.grow();
        }
        let key = (u64::from(a.min(b)) << 32) | u64::from(a.max(b));
        let slot = self.slot(key);
        let fresh = self.table[slot] == Self::EMPTY;
        self.table[slot] = key;
        self.used += usize::from(fresh);
        fresh
    }

    fn slot(&self, key: u64) -> usize {
        let mask = self.table.len() - 1;
        // Multiplying by an odd constant near 2^64 / golden ratio spreads consecutive keys.
        let mixed = (key ^ (key >> 29)).wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 32;
        let mut slot = usize::try_from(mixed).unwrap_or(0) & mask;
        while self.table[slot] != Self::EMPTY && self.table[slot] != key {
            slot = (slot + 1) & mask;
        }
        slot
    }

    fn grow(&mut self) {
        let doubled = vec![Self::EMPTY; self.table.len() * 2];
        for key in std::mem::replace(&mut self.table, doubled) {
            if key != Self::EMPTY {
                let slot = self.slot(key);
                self.table[slot] = key;
            }
        }
    }
}

/// Nodes in buckets by degree, each bucket a doubly linked list.
struct Queue {
    first: Vec<u32>,
    next: Vec<u32>,
    before: Vec<u32>,
    bucket: Vec<u32>,
    least: usize,
}

impl Queue {
    fn new(degree: &[u32]) -> Self {
        let nodes = degree.len();
        let mut queue = Self {
            first: vec![NONE; nodes + 1],
            next: vec![NONE; nodes],
            before: vec![NONE; nodes],
            bucket: vec![NONE; nodes],
            least: 0,
        };
        for node in (0..nodes).rev() {
            queue.place(index(node), degree[node]);
        }
        queue
    }

    fn pop(&mut self) -> Option<u32> {
        while *self.first.get(self.least)? == NONE {
            self.least += 1;
        }
        let node = self.first[self.least];
        self.remove(node);
        Some(node)
    }

    fn place(&mut self, node: u32, degree: u32) {
        self.remove(node);
        let head = self.first[degree as usize];
        self.next[node as usize] = head;
        if head != NONE {
            self.before[head as usize] = node;
        }
        self.first[degree as usize] = node;
        self.bucket[node as usize] = degree;
        self.least = self.least.min(degree as usize);
    }

    fn remove(&mut self, node: u32) {
        let at = node as usize;
        if self.bucket[at] == NONE {
            return;
        }
        let (before, next) = (self.before[at], self.next[at]);
        if before == NONE {
            self.first[self.bucket[at] as usize] = next;
        } else {
            self.next[before as usize] = next;
        }
        if next != NONE {
            self.before[next as usize] = before;
        }
        (self.before[at], self.next[at], self.bucket[at]) = (NONE, NONE, NONE);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_node_has_its_own_place() {
        let edges = [(0, 1), (1, 2), (2, 0), (3, 3), (2, 4), (4, 2)];
        let mut places = minimum_degree(5, &edges);
        places.sort_unstable();
        assert_eq!(places, [0, 1, 2, 3, 4]);
    }

    #[test]
    fn hub_of_a_star_goes_last_or_next_to_last() {
        let edges: Vec<_> = (1..100).map(|leaf| (0, leaf)).collect();
        assert!(minimum_degree(100, &edges)[0] >= 98);
    }
}
