//! One circuit with its numbers, laid on a plan: elements between rows, references, feeds.

use std::sync::Arc;

use super::element::{Demand, Element, Flow, flow, resistor, source_flow};
use super::index;
use super::plan::{Merge, Plan, nodes};
use crate::circuit::Circuit;

/// Volts that count as none, as a part of the largest source voltage: rounding must not pass for
/// a served load.
const NO_VOLTS: f64 = 1e-9;

/// A feed as the iteration sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Link {
    pub(super) source: usize,
    /// Watts drawn for each watt out of the source; 0 if it never draws.
    pub(super) gain: f64,
}

/// One step of finding the currents of the ideal sources of a group, from the leaves in.
#[derive(Clone, Copy, Debug)]
struct Peel {
    source: usize,
    leaf: u32,
    inner: u32,
    leaf_is_plus: bool,
}

/// A circuit ready for iteration.
#[derive(Debug)]
pub(super) struct Network {
    pub(super) plan: Arc<Plan>,
    pub(super) merge: Merge,
    pub(super) elements: Vec<Element>,
    /// Whether a row's potential is given.
    pub(super) fixed: Vec<bool>,
    /// Potentials of the fixed rows; 0 elsewhere.
    pub(super) start: Vec<f64>,
    pub(super) links: Vec<Link>,
    /// Whether some feed's power comes back to it through the network.
    pub(super) coupled: bool,
    /// Volts against which small is small.
    pub(super) scale_v: f64,
    /// Amperes that rounding of the potentials makes in the stoutest wire.
    pub(super) noise_a: f64,
    /// Whether a load that draws, or a feeding device, lies between two separate networks.
    torn_load: bool,
    torn_feed: bool,
    peels: Vec<Peel>,
    first_source: usize,
    first_load: usize,
    first_feed: usize,
}

impl Network {
    /// Lays the circuit on the plan; `scale` has a factor for each load, 1 where it is short.
    pub(super) fn new(circuit: &Circuit, merge: Merge, plan: Arc<Plan>, scale: &[f64]) -> Self {
        let first_source = circuit.branches.len();
        let first_load = first_source + circuit.sources.len();
        let first_feed = first_load + circuit.loads.len();
        let elements = elements(circuit, &merge, &plan, scale);
        let rows = merge.groups;
        let volts = circuit.sources.iter().filter(|source| source.live);
        let largest = volts.fold(0.0_f64, |most, source| most.max(source.volts_v.abs()));
        let mut network = Self {
            peels: peels(circuit, &merge),
            plan,
            merge,
            elements,
            fixed: vec![false; rows],
            start: vec![0.0; rows],
            links: links(circuit),
            coupled: false,
            scale_v: if largest > 0.0 { largest } else { 1.0 },
            noise_a: 0.0,
            torn_load: false,
            torn_feed: false,
            first_source,
            first_load,
            first_feed,
        };
        network.noise_a = 32.0 * f64::EPSILON * network.scale_v * network.largest_siemens();
        let island = network.ground(circuit);
        network.mark_torn(&island);
        network.coupled = network.is_coupled(&island);
        network
    }

    /// Returns the volts of an element.
    pub(super) fn volts(&self, element: usize, x: &[f64]) -> f64 {
        self.elements[element].volts(x)
    }

    /// Returns the index of the first source among the elements.
    pub(super) fn source(&self, source: usize) -> usize {
        self.first_source + source
    }

    /// Returns the element of a load.
    pub(super) fn load(&self, load: usize) -> usize {
        self.first_load + load
    }

    /// Returns the element of a feed's device.
    pub(super) fn feed(&self, feed: usize) -> usize {
        self.first_feed + feed
    }

    /// Returns the elements of the loads.
    pub(super) fn loads(&self) -> &[Element] {
        &self.elements[self.first_load..self.first_feed]
    }

    /// Returns whether everything that draws, and every feeding device, has volts.
    pub(super) fn is_served(&self, x: &[f64], demand: Demand) -> bool {
        let enough = NO_VOLTS * self.scale_v;
        let fed = |element: &Element| {
            let needs = match element.flow {
                Flow::Open => false,
                Flow::Linear { siemens, .. } => siemens > 0.0,
                Flow::Current(drawn) | Flow::Power(drawn) => drawn != 0.0,
                Flow::Feed(_) => true,
            };
            !needs || element.volts(x) > enough
        };
        let torn = self.torn_feed || (self.torn_load && demand.loads > 0.0);
        !torn && self.elements[self.first_load..].iter().all(fed)
    }

    /// Returns whether a load that draws lies between two networks that nothing joins.
    pub(super) fn is_torn(&self) -> bool {
        self.torn_load
    }

    /// Finds the source currents out of plus, given the current of every other element.
    ///
    /// Leaves in `left` what remains at each node when all currents out of it are added.
    pub(super) fn source_currents(
        &self,
        current: impl Fn(&Element) -> f64,
        left: &mut Vec<f64>,
        amps: &mut Vec<f64>,
    ) {
        left.clear();
        left.resize(self.merge.group.len(), 0.0);
        amps.clear();
        amps.resize(self.first_load - self.first_source, 0.0);
        for (k, element) in self.elements.iter().enumerate() {
            let through = current(element);
            left[element.nodes.0 as usize] += through;
            left[element.nodes.1 as usize] -= through;
            if (self.first_source..self.first_load).contains(&k) {
                amps[k - self.first_source] = -through;
            }
        }
        for peel in &self.peels {
            let out = std::mem::take(&mut left[peel.leaf as usize]);
            left[peel.inner as usize] += out;
            amps[peel.source] = if peel.leaf_is_plus { out } else { -out };
        }
    }

    fn largest_siemens(&self) -> f64 {
        self.elements
            .iter()
            .fold(0.0, |most, element| match element.flow {
                Flow::Linear { siemens, .. } => siemens.max(most),
                _ => most,
            })
    }

    /// Fixes the potential of one row in each island that conducts; returns each row's island.
    ///
    /// The minus of an island's first live source is its zero, or else its first row.
    fn ground(&mut self, circuit: &Circuit) -> Vec<u32> {
        let mut islands = Islands {
            parent: (0..index(self.fixed.len())).collect(),
        };
        for element in &self.elements {
            if matches!(element.flow, Flow::Linear { siemens, .. } if siemens > 0.0) {
                islands.join(element.rows);
            }
        }
        let island: Vec<u32> = (0..index(self.fixed.len()))
            .map(|row| islands.find(row))
            .collect();
        let mut has_zero = vec![false; island.len()];
        for source in circuit.sources.iter().filter(|source| source.live) {
            let minus = source.minus as usize;
            let row = self.plan.row[self.merge.group[minus] as usize] as usize;
            let zero = &mut has_zero[island[row] as usize];
            if !std::mem::replace(zero, true) {
                self.fixed[row] = true;
                self.start[row] = -self.merge.offset[minus];
            }
        }
        for row in 0..island.len() {
            let zero = &mut has_zero[island[row] as usize];
            self.fixed[row] |= !std::mem::replace(zero, true);
        }
        island
    }

    fn mark_torn(&mut self, island: &[u32]) {
        for element in &mut self.elements[self.first_load..] {
            if island[element.rows.0 as usize] == island[element.rows.1 as usize] {
                continue;
            }
            match element.flow {
                Flow::Current(drawn) | Flow::Power(drawn) if drawn != 0.0 => self.torn_load = true,
                Flow::Feed(feed) => {
                    self.torn_feed = true;
                    self.links[feed].gain = 0.0;
                    element.flow = Flow::Open;
                }
                _ => {}
            }
        }
    }

    /// Follows the feeds from island to island; coupled if that never ends.
    fn is_coupled(&self, island: &[u32]) -> bool {
        let mut depth = vec![0_usize; island.len()];
        let at = |element: usize| island[self.elements[element].rows.0 as usize] as usize;
        for _ in 0..=self.links.len().min(100) {
            let mut changed = false;
            for (k, link) in self
                .links
                .iter()
                .enumerate()
                .filter(|(_, link)| link.gain > 0.0)
            {
                let (from, to) = (at(self.source(link.source)), at(self.feed(k)));
                if depth[to] <= depth[from] {
                    depth[to] = depth[from] + 1;
                    changed = true;
                }
            }
            if !changed {
                return false;
            }
        }
        true
    }
}

fn elements(circuit: &Circuit, merge: &Merge, plan: &Plan, scale: &[f64]) -> Vec<Element> {
    let branches = circuit
        .branches
        .iter()
        .map(|branch| resistor(branch.resistance_ohm));
    let sources = circuit
        .sources
        .iter()
        .zip(&merge.holds)
        .map(|(source, holds)| {
            if *holds {
                Flow::Open
            } else {
                source_flow(source)
            }
        });
    let factors = scale.iter().copied().chain(std::iter::repeat(1.0));
    let loads = circuit
        .loads
        .iter()
        .zip(factors)
        .map(|(load, factor)| flow(load.law, factor));
    let feeds = circuit.feeds.iter().enumerate().map(|(k, feed)| {
        if circuit.sources[feed.source].live {
            Flow::Feed(k)
        } else {
            Flow::Open
        }
    });
    let flows = branches.chain(sources).chain(loads).chain(feeds);
    let offset = |node: u32| merge.offset[node as usize];
    let places = nodes(circuit).zip(&plan.rows);
    let mut elements = Vec::with_capacity(plan.rows.len());
    for (flow, (nodes, rows)) in flows.zip(places) {
        let shift_v = offset(nodes.0) - offset(nodes.1);
        elements.push(Element {
            rows: *rows,
            nodes,
            shift_v,
            flow,
        });
    }
    elements
}

fn links(circuit: &Circuit) -> Vec<Link> {
    let gain = |feed: &crate::circuit::Feed| {
        if circuit.sources[feed.source].live {
            feed.efficiency.recip()
        } else {
            0.0
        }
    };
    circuit
        .feeds
        .iter()
        .map(|feed| Link {
            source: feed.source,
            gain: gain(feed),
        })
        .collect()
}

struct Islands {
    parent: Vec<u32>,
}

impl Islands {
    fn find(&mut self, mut row: u32) -> u32 {
        while self.parent[row as usize] != row {
            let above = self.parent[self.parent[row as usize] as usize];
            self.parent[row as usize] = above;
            row = above;
        }
        row
    }

    fn join(&mut self, (a, b): (u32, u32)) {
        let (a, b) = (self.find(a), self.find(b));
        self.parent[a.max(b) as usize] = a.min(b);
    }
}

/// Orders the sources that hold groups together so that each, in turn, is its node's last.
fn peels(circuit: &Circuit, merge: &Merge) -> Vec<Peel> {
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); circuit.nodes];
    for (k, source) in circuit
        .sources
        .iter()
        .enumerate()
        .filter(|(k, _)| merge.holds[*k])
    {
        at[source.plus as usize].push(k);
        at[source.minus as usize].push(k);
    }
    let mut left: Vec<usize> = at.iter().map(Vec::len).collect();
    let mut done = vec![false; circuit.sources.len()];
    let mut leaves: Vec<u32> = (0..index(circuit.nodes))
        .filter(|node| left[*node as usize] == 1)
        .collect();
    let mut peels = Vec::new();
    while let Some(leaf) = leaves.pop() {
        let Some(&k) = at[leaf as usize].iter().find(|k| !done[**k]) else {
            continue;
        };
        let source = &circuit.sources[k];
        let leaf_is_plus = source.plus == leaf;
        let inner = if leaf_is_plus {
            source.minus
        } else {
            source.plus
        };
        done[k] = true;
        left[inner as usize] -= 1;
        if left[inner as usize] == 1 {
            leaves.push(inner);
        }
        peels.push(Peel {
            source: k,
            leaf,
            inner,
            leaf_is_plus,
        });
    }
    peels
}
