//! Parts of a site that do not feel one another: each is searched by itself, so that the work
//! adds up where the combinations multiply.

use std::collections::HashMap;

use crate::circuit::{Circuit, Corner, Law, Live, NodeId, Terminals};
use crate::units::{Draw, Measure};

/// The corners that are searched.
pub(super) const CORNERS: [Corner; 3] = [Corner::Low, Corner::High, Corner::Heavy];

/// Things that feel one another, with a circuit of their own.
#[derive(Clone, Debug)]
pub(super) struct Cluster {
    /// Devices that draw here, in order of the circuit's loads.
    pub(super) devices: Vec<usize>,
    /// Supplies, in order of the circuit's sources.
    pub(super) sources: Vec<usize>,
    /// Branches of the whole, in order of the circuit's branches.
    pub(super) branches: Vec<usize>,
    /// Relays that switch over here.
    pub(super) switches: Vec<Switch>,
    /// Exclusive lists, by index into `devices` and choice.
    pub(super) exclusive: Vec<Vec<(usize, usize)>>,
    /// One for each of [`CORNERS`], with all contacts closed and nothing drawn.
    pub(super) circuits: [Circuit; 3],
    pub(super) terminals: Terminals,
}

/// A relay that switches over.
#[derive(Clone, Debug)]
pub(super) struct Switch {
    /// Index into the relays of the choices.
    pub(super) relay: usize,
    /// Branches of its contacts, and whether they are closed while it is pulled.
    pub(super) contacts: Vec<(usize, bool)>,
}

/// A cluster with its relays set.
#[derive(Clone, Debug)]
pub(super) struct Wired {
    /// One for each of [`CORNERS`], with nothing drawn.
    pub(super) circuits: [Circuit; 3],
    /// By device of the cluster: a live supply reaches it.
    pub(super) live: Vec<bool>,
}

/// Whether anything is drawn.
pub(super) fn draws(draw: Draw) -> bool {
    match draw {
        Draw::Off => false,
        Draw::Current(amps) => amps.base() > 0.0,
        Draw::Power(watts) => watts.base() > 0.0,
        Draw::Apparent(va) => va.base() > 0.0,
        Draw::Resistance(_) => true,
    }
}

/// Node numbers of a part of a network.
#[derive(Default)]
pub(super) struct Renumbered {
    number: HashMap<NodeId, NodeId>,
}

impl Renumbered {
    pub(super) fn node(&mut self, node: NodeId) -> NodeId {
        let next = small(self.number.len());
        *self.number.entry(node).or_insert(next)
    }

    /// The branches, sources, loads and feeds of a circuit that are listed.
    pub(super) fn circuit(&mut self, whole: &Circuit, lists: &[Vec<usize>; 4]) -> Circuit {
        let [branches, sources, loads, feeds] = lists;
        let mut circuit = Circuit {
            nodes: 0,
            branches: branches.iter().map(|b| whole.branches[*b]).collect(),
            sources: sources.iter().map(|s| whole.sources[*s]).collect(),
            loads: loads.iter().map(|l| whole.loads[*l]).collect(),
            feeds: feeds.iter().map(|f| whole.feeds[*f]).collect(),
            // Sites with angles, diodes or limiters are not taken apart.
            restraints: Vec::new(),
            ac: None,
        };
        for branch in &mut circuit.branches {
            (branch.from, branch.to) = (self.node(branch.from), self.node(branch.to));
        }
        for source in &mut circuit.sources {
            (source.plus, source.minus) = (self.node(source.plus), self.node(source.minus));
        }
        for load in &mut circuit.loads {
            (load.plus, load.minus) = (self.node(load.plus), self.node(load.minus));
            load.law = Law::Off;
        }
        for feed in &mut circuit.feeds {
            (feed.plus, feed.minus) = (self.node(feed.plus), self.node(feed.minus));
            // The source of a live feed lies in the same cluster.
            feed.source = sources
                .iter()
                .position(|s| *s == feed.source)
                .unwrap_or_default();
        }
        circuit.nodes = self.number.len();
        circuit
    }
}

pub(super) fn small(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

impl Cluster {
    /// How many ways its relays can be set.
    pub(super) fn ways(&self) -> Option<usize> {
        1_usize.checked_shl(small(self.switches.len()))
    }

    /// Whether a switch is pulled in one of those ways.
    pub(super) fn is_pulled(way: usize, switch: usize) -> bool {
        way >> switch & 1 == 1
    }

    /// The cluster with its relays set in one of those ways.
    pub(super) fn wired(&self, way: usize) -> Wired {
        let mut open = vec![false; self.branches.len()];
        for (s, switch) in self.switches.iter().enumerate() {
            for (branch, closed_pulled) in &switch.contacts {
                open[*branch] = Self::is_pulled(way, s) != *closed_pulled;
            }
        }
        let live = Live::find(&self.circuits[0], &self.terminals, open);
        let mut circuits = self.circuits.clone();
        for circuit in &mut circuits {
            for (branch, open) in circuit.branches.iter_mut().zip(&live.open) {
                if *open {
                    branch.resistance_ohm = f64::INFINITY;
                }
            }
            for (source, live) in circuit.sources.iter_mut().zip(&live.supplies) {
                source.live = *live;
            }
        }
        Wired {
            circuits,
            live: live.devices,
        }
    }
}
