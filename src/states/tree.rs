//! The shape of a cluster that is one tree of lines.

use std::collections::{HashMap, HashSet};

use crate::circuit::{Circuit, NodeId};

/// A tree of lines.
#[derive(Clone, Debug)]
pub(super) struct Tree {
    source: usize,
    /// Knots in depth-first order: the one above each; knot 0 stands behind all it has in series
    /// with the source.
    pub(super) above: Vec<usize>,
    /// One past the last knot behind each.
    pub(super) end: Vec<usize>,
    /// Branches in series that lead to each knot.
    lines: Vec<Vec<usize>>,
    /// Loads at each knot.
    pub(super) loads: Vec<Vec<usize>>,
    /// Knot of each load, where it is reached.
    pub(super) knot: Vec<Option<usize>>,
}

/// One side of the network: a tree of conductors from a terminal of the source.
struct Side {
    /// Nodes from the terminal outwards, each with the node before it and the branch between.
    way: Vec<(NodeId, Option<(NodeId, usize)>)>,
}

impl Side {
    /// Follows the closed branches from a terminal; `None` where they go round in a ring.
    fn of(circuit: &Circuit, at: &[Vec<usize>], start: NodeId, seen: &mut [bool]) -> Option<Self> {
        let mut way = vec![(start, None)];
        if std::mem::replace(&mut seen[start as usize], true) {
            return None;
        }
        let mut next = 0;
        while let Some(&(node, by)) = way.get(next) {
            next += 1;
            for branch in &at[node as usize] {
                if by.is_some_and(|(_, b)| b == *branch) {
                    continue;
                }
                let ends = &circuit.branches[*branch];
                let other = if ends.from == node {
                    ends.to
                } else {
                    ends.from
                };
                if std::mem::replace(&mut seen[other as usize], true) {
                    return None;
                }
                way.push((other, Some((node, *branch))));
            }
        }
        Some(Self { way })
    }

    /// The loads behind every branch, as one number for each set of loads; 0 for none.
    fn sets(&self, loads: &HashMap<NodeId, u64>) -> HashMap<usize, u64> {
        let mut behind = loads.clone();
        let mut sets = HashMap::new();
        for (node, by) in self.way.iter().rev() {
            let own = behind.get(node).copied().unwrap_or(0);
            if let Some((before, branch)) = by {
                sets.insert(*branch, own);
                *behind.entry(*before).or_insert(0) ^= own;
            }
        }
        sets
    }
}

/// A number for a load, such that sums without carry of different sets differ but by rare chance
/// (splitmix64).
fn number(load: usize) -> u64 {
    let mut z = (load as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A tree under construction.
#[derive(Default)]
struct Growing {
    above: Vec<usize>,
    lines: Vec<Vec<usize>>,
    /// Knot by set of loads.
    of_set: HashMap<u64, usize>,
}

impl Growing {
    fn add(&mut self, above: usize, set: u64) -> usize {
        let knot = self.above.len();
        self.above.push(above);
        self.lines.push(Vec::new());
        self.of_set.insert(set, knot);
        knot
    }
}

impl Tree {
    /// The tree that a circuit is; `None` where it is none. `live`: the loads that are reached.
    pub(super) fn of(circuit: &Circuit, live: &[bool]) -> Option<Self> {
        let mut sources = (0..circuit.sources.len()).filter(|s| circuit.sources[*s].live);
        let (source, None) = (sources.next()?, sources.next()) else {
            return None;
        };
        if circuit.feeds.iter().any(|f| circuit.sources[f.source].live) {
            return None;
        }
        let mut at: Vec<Vec<usize>> = vec![Vec::new(); circuit.nodes];
        for (b, branch) in circuit.branches.iter().enumerate() {
            if branch.resistance_ohm.is_finite() {
                at[branch.from as usize].push(b);
                at[branch.to as usize].push(b);
            }
        }
        let mut seen = vec![false; circuit.nodes];
        let ends = &circuit.sources[source];
        let plus = Side::of(circuit, &at, ends.plus, &mut seen)?;
        let minus = Side::of(circuit, &at, ends.minus, &mut seen)?;
        let reached: Vec<usize> = (0..live.len()).filter(|l| live[*l]).collect();
        let by_node = |end: &dyn Fn(usize) -> NodeId| {
            let mut loads: HashMap<NodeId, u64> = HashMap::new();
            for l in &reached {
                *loads.entry(end(*l)).or_insert(0) ^= number(*l);
            }
            loads
        };
        let outgoing = plus.sets(&by_node(&|l| circuit.loads[l].plus));
        let returning = minus.sets(&by_node(&|l| circuit.loads[l].minus));
        let mut growing = Growing::default();
        growing.add(0, reached.iter().fold(0, |set, l| set ^ number(*l)));
        // What has the same loads behind it is in series.
        let mut knot_of: HashMap<NodeId, usize> = HashMap::new();
        for (node, by) in &plus.way {
            let knot = match by {
                None => 0,
                Some((before, branch)) => {
                    let (above, set) = (*knot_of.get(before)?, outgoing[branch]);
                    let knot = match growing.of_set.get(&set) {
                        Some(known) => *known,
                        None if set == 0 => above,
                        None => growing.add(above, set),
                    };
                    if set != 0 {
                        growing.lines[knot].push(*branch);
                    }
                    knot
                }
            };
            knot_of.insert(*node, knot);
        }
        let mut knot: Vec<Option<usize>> = vec![None; live.len()];
        let backs: HashSet<NodeId> = minus.way.iter().map(|(node, _)| *node).collect();
        for l in &reached {
            knot[*l] = Some(*knot_of.get(&circuit.loads[*l].plus)?);
            if !backs.contains(&circuit.loads[*l].minus) {
                return None;
            }
        }
        for branch in minus.way.iter().filter_map(|(_, by)| Some(by.as_ref()?.1)) {
            let set = returning[&branch];
            if set == 0 {
                continue;
            }
            let known = growing.of_set.get(&set).copied();
            let alone = || reached.iter().find(|l| number(**l) == set).copied();
            let place = match known {
                Some(place) => place,
                None => {
                    let load = alone()?;
                    let own = growing.add(knot[load]?, set);
                    knot[load] = Some(own);
                    own
                }
            };
            growing.lines[place].push(branch);
        }
        Some(Self::ordered(source, &growing, &knot))
    }

    /// Numbers the knots depth first.
    fn ordered(source: usize, growing: &Growing, knot: &[Option<usize>]) -> Self {
        let count = growing.above.len();
        let mut behind = vec![Vec::new(); count];
        for k in 1..count {
            behind[growing.above[k]].push(k);
        }
        // In the order of the branches, whatever order they were found in.
        for list in &mut behind {
            list.sort_by_key(|k| growing.lines[*k].first().copied());
        }
        let mut place = vec![0; count];
        let (mut above, mut lines) = (Vec::with_capacity(count), Vec::with_capacity(count));
        let mut open = vec![(0, 0)];
        while let Some((k, over)) = open.pop() {
            place[k] = above.len();
            above.push(over);
            lines.push(growing.lines[k].clone());
            open.extend(behind[k].iter().rev().map(|b| (*b, place[k])));
        }
        let mut end: Vec<usize> = (1..=count).collect();
        for k in (1..count).rev() {
            end[above[k]] = end[above[k]].max(end[k]);
        }
        let mut loads = vec![Vec::new(); count];
        let knot: Vec<Option<usize>> = knot.iter().map(|k| k.map(|k| place[k])).collect();
        for (l, k) in knot.iter().enumerate() {
            if let Some(k) = k {
                loads[*k].push(l);
            }
        }
        Self {
            source,
            above,
            end,
            lines,
            loads,
            knot,
        }
    }

    /// The only live source.
    pub(super) fn source(&self) -> usize {
        self.source
    }

    /// The branches in series that lead to each knot, by knot.
    pub(super) fn lines(&self) -> &[Vec<usize>] {
        &self.lines
    }

    /// The loads behind a knot.
    pub(super) fn behind(&self, knot: usize) -> impl Iterator<Item = usize> {
        self.loads[knot..self.end[knot]].iter().flatten().copied()
    }
}
