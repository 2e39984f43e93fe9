//! What a row's wiring alone settles: the way that each device's current goes.
//!
//! Conductors and live supplies are edges. An edge that no loop passes is a bridge: its current
//! is the sum of the currents of those devices whose way passes it, whatever the ohms. Nodes that
//! loops hold together are a mesh; there the current divides by the ohms.

use crate::circuit::{Circuit, NodeId};

/// One step on a device's way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Step {
    /// Through a bridge: edge, and whether along its own direction.
    Bridge(usize, bool),
    /// Across a mesh: which one, in at and out at (nodes of that mesh).
    Mesh(usize, usize, usize),
}

/// Nodes that loops hold together.
#[derive(Clone, Debug, Default)]
pub(crate) struct Mesh {
    /// Its nodes.
    pub(crate) nodes: Vec<NodeId>,
    /// Its conductors: branch and ends, as indices into `nodes`.
    pub(crate) branches: Vec<(usize, usize, usize)>,
    /// A supply stands in a loop: what it gives depends on the ohms.
    pub(crate) has_source: bool,
}

/// The way of every device in one row.
#[derive(Clone, Debug, Default)]
pub(crate) struct Shape {
    /// By device: from its negative through the network to its positive; `None` where nothing
    /// joins them.
    pub(crate) ways: Vec<Option<Vec<Step>>>,
    /// The meshes.
    pub(crate) meshes: Vec<Mesh>,
    /// Number of branches: edges from here on are supplies.
    pub(crate) branches: usize,
}

struct Edge {
    ends: [usize; 2],
    id: usize,
}

/// A spanning forest, with what loops it closes.
struct Forest {
    parent: Vec<Option<(usize, usize)>>,
    depth: Vec<usize>,
    /// The edge to the parent is a bridge.
    bridge: Vec<bool>,
    /// By node: number of the part that loops hold together.
    part: Vec<usize>,
}

impl Shape {
    /// Follows the ways of devices between pairs of nodes; `opened` takes each mesh as the tree
    /// that is left when its loops are cut open.
    pub(crate) fn of(circuit: &Circuit, devices: &[[NodeId; 2]], opened: bool) -> Self {
        let edges = edges(circuit);
        let forest = Forest::of(circuit.nodes, &edges);
        let mut shape = Self {
            branches: circuit.branches.len(),
            ..Self::default()
        };
        let mesh_of = if opened {
            vec![None; forest.part.len()]
        } else {
            shape.find_meshes(&forest, &edges)
        };
        let place = |shape: &Self, mesh: usize, node: usize| {
            let nodes = &shape.meshes[mesh].nodes;
            nodes.iter().position(|n| *n as usize == node).unwrap_or(0)
        };
        let mut ways = Vec::with_capacity(devices.len());
        for [plus, minus] in devices {
            let steps = forest.way(*minus as usize, *plus as usize, &edges);
            let way = steps.map(|steps| {
                let mut way: Vec<Step> = Vec::new();
                for (edge, forward, from, to) in steps {
                    let inside = mesh_of[forest.part[from]];
                    match inside.filter(|_| forest.part[from] == forest.part[to]) {
                        None => way.push(Step::Bridge(edges[edge].id, forward)),
                        Some(mesh) => {
                            let out = place(&shape, mesh, to);
                            match way.last_mut() {
                                Some(Step::Mesh(last, _, at)) if *last == mesh => *at = out,
                                _ => way.push(Step::Mesh(mesh, place(&shape, mesh, from), out)),
                            }
                        }
                    }
                }
                way
            });
            ways.push(way);
        }
        shape.ways = ways;
        shape
    }

    /// Whether every supply only ever gives: none stands in a loop, and no way leads back through
    /// one.
    pub(crate) fn gives_only(&self) -> bool {
        let back =
            |step: &Step| matches!(step, Step::Bridge(edge, false) if *edge >= self.branches);
        let in_loop = self.meshes.iter().any(|mesh| mesh.has_source);
        !in_loop && !self.ways.iter().flatten().flatten().any(back)
    }

    /// Gathers the parts of more than one node; returns the mesh of each part.
    fn find_meshes(&mut self, forest: &Forest, edges: &[Edge]) -> Vec<Option<usize>> {
        let mut mesh_of = vec![None; forest.part.len()];
        let mut place = vec![usize::MAX; forest.part.len()];
        for edge in edges {
            let [a, b] = edge.ends;
            let part = forest.part[a];
            if part != forest.part[b] || a == b {
                continue;
            }
            let mesh = *mesh_of[part].get_or_insert_with(|| {
                self.meshes.push(Mesh::default());
                self.meshes.len() - 1
            });
            let mesh = &mut self.meshes[mesh];
            for node in [a, b] {
                if place[node] == usize::MAX {
                    place[node] = mesh.nodes.len();
                    mesh.nodes
                        .push(NodeId::try_from(node).unwrap_or(NodeId::MAX));
                }
            }
            if edge.id < self.branches {
                mesh.branches.push((edge.id, place[a], place[b]));
            } else {
                mesh.has_source = true;
            }
        }
        mesh_of
    }
}

fn edges(circuit: &Circuit) -> Vec<Edge> {
    let branches = circuit.branches.iter().enumerate();
    let wires = branches
        .filter(|(_, b)| b.resistance_ohm.is_finite())
        .map(|(id, b)| (b.from, b.to, id));
    let first = circuit.branches.len();
    let sources = circuit.sources.iter().enumerate();
    let live = sources
        .filter(|(_, s)| s.live)
        .map(|(i, s)| (s.minus, s.plus, first + i));
    wires
        .chain(live)
        .map(|(a, b, id)| Edge {
            ends: [a as usize, b as usize],
            id,
        })
        .collect()
}

impl Forest {
    /// Depth-first search without recursion; a tree edge is a bridge where nothing below it leads
    /// further up (Tarjan, 1974).
    fn of(nodes: usize, edges: &[Edge]) -> Self {
        let mut around: Vec<Vec<usize>> = vec![Vec::new(); nodes];
        for (i, edge) in edges.iter().enumerate() {
            let [a, b] = edge.ends;
            if a != b {
                around[a].push(i);
                around[b].push(i);
            }
        }
        let mut forest = Self {
            parent: vec![None; nodes],
            depth: vec![0; nodes],
            bridge: vec![false; nodes],
            part: vec![usize::MAX; nodes],
        };
        let mut seen = vec![usize::MAX; nodes];
        let mut low = vec![usize::MAX; nodes];
        let mut order = Vec::with_capacity(nodes);
        for root in 0..nodes {
            if seen[root] != usize::MAX {
                continue;
            }
            seen[root] = order.len();
            low[root] = order.len();
            order.push(root);
            let mut stack = vec![(root, 0)];
            while let Some((node, at)) = stack.last_mut() {
                let node = *node;
                let Some(&edge) = around[node].get(*at) else {
                    stack.pop();
                    if let Some((above, _)) = forest.parent[node] {
                        low[above] = low[above].min(low[node]);
                        forest.bridge[node] = low[node] > seen[above];
                    }
                    continue;
                };
                *at += 1;
                let [a, b] = edges[edge].ends;
                let next = if a == node { b } else { a };
                if forest.parent[node].is_some_and(|(_, up)| up == edge) {
                    continue;
                }
                if seen[next] == usize::MAX {
                    seen[next] = order.len();
                    low[next] = order.len();
                    order.push(next);
                    forest.parent[next] = Some((node, edge));
                    forest.depth[next] = forest.depth[node] + 1;
                    stack.push((next, 0));
                } else {
                    low[node] = low[node].min(seen[next]);
                }
            }
        }
        for node in order {
            forest.part[node] = match forest.parent[node] {
                Some((above, _)) if !forest.bridge[node] => forest.part[above],
                _ => node,
            };
        }
        forest
    }

    /// The edges from one node to another: edge, whether along it, from and to.
    fn way(
        &self,
        from: usize,
        to: usize,
        edges: &[Edge],
    ) -> Option<Vec<(usize, bool, usize, usize)>> {
        let (mut a, mut b) = (from, to);
        let (mut up, mut down) = (Vec::new(), Vec::new());
        while a != b {
            if self.depth[a] >= self.depth[b] {
                let (above, edge) = self.parent[a]?;
                up.push((edge, edges[edge].ends[0] == a, a, above));
                a = above;
            } else {
                let (above, edge) = self.parent[b]?;
                down.push((edge, edges[edge].ends[1] == b, above, b));
                b = above;
            }
        }
        down.reverse();
        up.extend(down);
        Some(up)
    }
}
