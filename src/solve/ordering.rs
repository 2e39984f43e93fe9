//! The order in which nodes are eliminated: least degree first, so that a tree stays a tree.
//!
//! The elimination graph is kept explicitly. A node's first neighbours stand in a row of one list;
//! those that come by elimination are chained in front of them. An entry that has gone stale is
//! skipped when its owner is itself eliminated, so a rail with ten thousand neighbours costs
//! nothing until its turn comes. What a node is joined to when it goes is its column of the factor.

use super::{accumulate, index};

const NONE: u32 = u32::MAX;
/// How far a new edge is looked for among those that came by elimination. An edge that is asked
/// for again and again stands in front; one that is missed counts twice in a degree, no more.
const LOOK_BACK: usize = 8;

/// An elimination order, and what each node is joined to when its turn comes.
pub(super) struct Order {
    /// Place of each node.
    pub(super) place: Vec<u32>,
    /// By place: where its neighbours start in `around`; one more for the end.
    pub(super) start: Vec<u32>,
    /// The places of the neighbours, ascending.
    pub(super) around: Vec<u32>,
}

impl Order {
    /// Returns what the node of a place is joined to when its turn comes.
    pub(super) fn column(&self, place: u32) -> &[u32] {
        let place = place as usize;
        &self.around[self.start[place] as usize..self.start[place + 1] as usize]
    }
}

/// Orders the nodes of a graph.
///
/// `edges` may repeat and may join a node to itself. Ties are broken by the order of the queue,
/// which depends on the input alone.
pub(super) fn minimum_degree(nodes: usize, edges: &[(u32, u32)]) -> Order {
    let mut graph = Graph::new(nodes, edges);
    let mut queue = Queue::new(&graph.degree);
    let mut start = Vec::with_capacity(nodes + 1);
    let mut all = Vec::with_capacity(edges.len() * 2);
    start.push(0);
    for place in 0..nodes {
        let Some(node) = queue.pop() else { break };
        graph.place[node as usize] = index(place);
        let first = all.len();
        graph.live_neighbours(node, &mut all);
        let around = &all[first..];
        graph.join(around);
        for &near in around {
            graph.degree[near as usize] -= 1;
            queue.place(near, graph.degree[near as usize]);
        }
        start.push(index(all.len()));
    }
    for near in &mut all {
        *near = graph.place[*near as usize];
    }
    for column in start.windows(2) {
        all[column[0] as usize..column[1] as usize].sort_unstable();
    }
    Order {
        place: graph.place,
        start,
        around: all,
    }
}

/// The graph of what is not yet eliminated.
struct Graph {
    /// Place of each node that is eliminated.
    place: Vec<u32>,
    degree: Vec<u32>,
    /// Neighbours from the beginning: where they start, and they.
    start: Vec<u32>,
    first: Vec<u32>,
    /// Chains of those that came later: (neighbour, next entry).
    head: Vec<u32>,
    later: Vec<(u32, u32)>,
    /// Who was last seen with whom, to see nobody twice.
    seen: Vec<u32>,
}

impl Graph {
    fn new(nodes: usize, edges: &[(u32, u32)]) -> Self {
        let mut start = vec![0_u32; nodes + 1];
        let proper = || edges.iter().filter(|(a, b)| a != b);
        for &(a, b) in proper() {
            start[a as usize] += 1;
            start[b as usize] += 1;
        }
        accumulate(&mut start);
        let mut next = start.clone();
        let mut first = vec![0; start[nodes] as usize];
        for &(a, b) in proper() {
            for (owner, other) in [(a, b), (b, a)] {
                let at = &mut next[owner as usize];
                first[*at as usize] = other;
                *at += 1;
            }
        }
        let mut graph = Self {
            place: vec![NONE; nodes],
            degree: vec![0; nodes],
            start,
            first,
            head: vec![NONE; nodes],
            later: Vec::with_capacity(nodes),
            seen: vec![NONE; nodes],
        };
        for node in 0..nodes {
            let mut count = 0;
            for at in graph.start[node]..graph.start[node + 1] {
                let near = graph.first[at as usize] as usize;
                count += u32::from(graph.seen[near] != index(node));
                graph.seen[near] = index(node);
            }
            graph.degree[node] = count;
        }
        graph.seen.fill(NONE);
        graph
    }

    /// Adds the neighbours of a node that are not eliminated, each once.
    fn live_neighbours(&mut self, node: u32, into: &mut Vec<u32>) {
        let at = node as usize;
        self.seen[at] = node;
        let mut add = |near: u32| {
            let known = std::mem::replace(&mut self.seen[near as usize], node);
            if known != node && self.place[near as usize] == NONE {
                into.push(near);
            }
        };
        for &near in &self.first[self.start[at] as usize..self.start[at + 1] as usize] {
            add(near);
        }
        let mut entry = self.head[at];
        while entry != NONE {
            let (near, next) = self.later[entry as usize];
            add(near);
            entry = next;
        }
    }

    /// Makes the neighbours of an eliminated node neighbours of each other.
    fn join(&mut self, around: &[u32]) {
        for (k, &a) in around.iter().enumerate() {
            for &b in &around[k + 1..] {
                if !self.is_joined(a, b) {
                    for (owner, other) in [(a, b), (b, a)] {
                        self.later.push((other, self.head[owner as usize]));
                        self.head[owner as usize] = index(self.later.len() - 1);
                        self.degree[owner as usize] += 1;
                    }
                }
            }
        }
    }

    /// Whether two nodes are joined, as far as that is quickly seen.
    fn is_joined(&self, a: u32, b: u32) -> bool {
        let length = |n: u32| self.start[n as usize + 1] - self.start[n as usize];
        let (a, b) = if length(a) <= length(b) {
            (a, b)
        } else {
            (b, a)
        };
        let mut entry = self.head[a as usize];
        for _ in 0..LOOK_BACK {
            if entry == NONE {
                break;
            }
            let (near, next) = self.later[entry as usize];
            if near == b {
                return true;
            }
            entry = next;
        }
        let (from, to) = (self.start[a as usize], self.start[a as usize + 1]);
        let to = to.min(from + index(LOOK_BACK));
        self.first[from as usize..to as usize].contains(&b)
    }
}

/// Nodes in buckets by degree, each bucket a doubly linked list.
struct Queue {
    first: Vec<u32>,
    /// By node: the next of its bucket, the one before, and the bucket.
    links: Vec<Links>,
    least: usize,
}

#[derive(Clone, Copy)]
struct Links {
    next: u32,
    before: u32,
    bucket: u32,
}

impl Queue {
    fn new(degree: &[u32]) -> Self {
        let nodes = degree.len();
        let none = Links {
            next: NONE,
            before: NONE,
            bucket: NONE,
        };
        let mut queue = Self {
            first: vec![NONE; nodes + 1],
            links: vec![none; nodes],
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

    /// Puts a node into the bucket of its degree, wherever it was.
    fn place(&mut self, node: u32, degree: u32) {
        self.remove(node);
        // A degree that counts some neighbours twice may be over the number of nodes.
        let bucket = (degree as usize).min(self.first.len() - 1);
        let head = self.first[bucket];
        if head != NONE {
            self.links[head as usize].before = node;
        }
        self.links[node as usize] = Links {
            next: head,
            before: NONE,
            bucket: index(bucket),
        };
        self.first[bucket] = node;
        self.least = self.least.min(bucket);
    }

    fn remove(&mut self, node: u32) {
        let Links {
            next,
            before,
            bucket,
        } = self.links[node as usize];
        if bucket == NONE {
            return;
        }
        if before == NONE {
            self.first[bucket as usize] = next;
        } else {
            self.links[before as usize].next = next;
        }
        if next != NONE {
            self.links[next as usize].before = before;
        }
        self.links[node as usize].bucket = NONE;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_node_has_its_own_place() {
        let edges = [(0, 1), (1, 2), (2, 0), (3, 3), (2, 4), (4, 2)];
        let mut places = minimum_degree(5, &edges).place;
        places.sort_unstable();
        assert_eq!(places, [0, 1, 2, 3, 4]);
    }

    #[test]
    fn hub_of_a_star_goes_last_or_next_to_last() {
        let edges: Vec<_> = (1..100).map(|leaf| (0, leaf)).collect();
        assert!(minimum_degree(100, &edges).place[0] >= 98);
    }

    #[test]
    fn a_tree_gets_no_fill() {
        let edges: Vec<_> = (1..1000).map(|node| ((node - 1) / 3, node)).collect();
        assert_eq!(minimum_degree(1000, &edges).around.len(), 999);
    }

    #[test]
    fn two_rails_with_many_rungs_get_one_edge() {
        let rungs =
            (0..1000).flat_map(|k| [(0, 2 + 2 * k), (2 + 2 * k, 3 + 2 * k), (3 + 2 * k, 1)]);
        let order = minimum_degree(2002, &rungs.collect::<Vec<_>>());
        assert!(order.around.len() <= 4001, "{}", order.around.len());
    }
}
