//! Which supplies and devices live in a case: what conductors join to what.

use std::collections::{HashMap, HashSet};

use crate::circuit::wire::{Pair, Terminals};
use crate::circuit::{Circuit, Hertz, NodeId};
use crate::joined::Joined;

/// Open conductors, live supplies, reached devices and junctions of one case.
#[derive(Clone, Debug, PartialEq)]
pub struct Live {
    /// By branch: open in this case.
    pub open: Vec<bool>,
    /// By supply: gives volts.
    pub supplies: Vec<bool>,
    /// By device: a live supply reaches both its terminals.
    pub devices: Vec<bool>,
    /// By junction: likewise.
    pub junctions: Vec<bool>,
    /// By node: the conductor it belongs to; nodes of one number are joined by conductors.
    pub conductor: Vec<NodeId>,
    /// By node: the island it belongs to, joined by conductors and live supplies.
    pub island: Vec<NodeId>,
    /// Which current alternates, where the site has an ac supply.
    pub hertz: Option<Hertz>,
}

impl Live {
    /// Follows the conductors that are not open.
    ///
    /// A device lives where a live supply has its positive joined to the device's positive and
    /// its negative to the device's negative; live supplies in series count as one. A fed supply
    /// lives while its device does.
    pub(crate) fn find(circuit: &Circuit, terminals: &Terminals, open: Vec<bool>) -> Self {
        let mut joined = Joined::apart(circuit.nodes);
        for (branch, open) in circuit.branches.iter().zip(&open) {
            if !open {
                joined.join(branch.from, branch.to);
            }
        }
        let conductor: Vec<NodeId> = joined.roots();
        let at = |pair: Pair| pair.map(|n| conductor[n as usize]);
        let feeding: HashMap<usize, Pair> = circuit
            .feeds
            .iter()
            .map(|f| (f.source, [f.plus, f.minus]))
            .collect();
        let mut supplies: Vec<bool> = (0..circuit.sources.len())
            .map(|i| !feeding.contains_key(&i))
            .collect();
        let mut reach = Reach::default();
        for i in (0..supplies.len()).filter(|i| supplies[*i]) {
            reach.add(at(terminals.supplies[i]));
        }
        let mut grew = !circuit.feeds.is_empty();
        while grew {
            grew = false;
            for feed in &circuit.feeds {
                let i = feed.source;
                if !supplies[i] && reach.holds(at([feed.plus, feed.minus])) {
                    (supplies[i], grew) = (true, true);
                    reach.add(at(terminals.supplies[i]));
                }
            }
        }
        for (i, pair) in terminals.supplies.iter().enumerate() {
            if supplies[i] {
                joined.join(pair[0], pair[1]);
            }
        }
        Self {
            devices: terminals
                .devices
                .iter()
                .map(|p| reach.holds(at(*p)))
                .collect(),
            junctions: terminals
                .junctions
                .iter()
                .map(|p| reach.holds(at(*p)))
                .collect(),
            island: joined.roots(),
            open,
            supplies,
            conductor,
            hertz: None,
        }
    }
}

/// The pairs of conductors between which live supplies stand.
#[derive(Default)]
struct Reach {
    direct: HashSet<Pair>,
    /// From the conductor of a negative to those of the positives above it.
    up: HashMap<NodeId, Vec<NodeId>>,
}

impl Reach {
    fn add(&mut self, [plus, minus]: Pair) {
        if self.direct.insert([plus, minus]) {
            self.up.entry(minus).or_default().push(plus);
        }
    }

    fn holds(&self, pair: Pair) -> bool {
        self.direct.contains(&pair) || self.in_series(pair)
    }

    /// Supplies one above the other lead from the negative to the positive.
    fn in_series(&self, [plus, minus]: Pair) -> bool {
        let mut seen = HashSet::from([minus]);
        let mut next = vec![minus];
        while let Some(at) = next.pop() {
            for above in self.up.get(&at).into_iter().flatten() {
                if *above == plus {
                    return plus != minus;
                }
                if seen.insert(*above) {
                    next.push(*above);
                }
            }
        }
        false
    }
}
