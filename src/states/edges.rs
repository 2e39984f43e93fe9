//! The whole network taken apart: which of its edges feel one another.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use crate::circuit::{Circuit, Live, NodeId, Pair, Template, Terminals};
use crate::joined::Joined;
use crate::site::{Part, Throw};
use crate::states::blocks::{Edge, blocks};
use crate::states::choices::Choices;
use crate::states::cluster::{Cluster, Renumbered, Switch, draws, small};

/// What an edge of the network is.
#[derive(Clone, Copy, Debug)]
enum Kind {
    Branch(usize),
    Source(usize),
    Device(usize),
    Feed(usize),
}

/// The whole network with all contacts closed.
pub(super) struct Whole<'a> {
    pub(super) template: &'a Template,
    pub(super) choices: &'a Choices,
    /// One for each of [`CORNERS`].
    pub(super) circuits: &'a [Circuit; 3],
    pub(super) live: &'a Live,
}

/// The edges of the whole network, and which of them feel one another.
struct Edges {
    kinds: Vec<Kind>,
    ends: Vec<Edge>,
    /// Block of each edge.
    block: Vec<usize>,
    /// Which blocks make one cluster.
    joined: Joined,
    /// Nodes that ideal sources hold together.
    groups: Joined,
    /// By source: it is ideal and lives.
    ideal: Vec<bool>,
}

/// What makes one cluster.
#[derive(Default)]
struct Members {
    edges: Vec<usize>,
    /// Relays that switch over, and exclusive lists, by index.
    relays: Vec<usize>,
    lists: Vec<usize>,
}

impl Edges {
    /// Makes one cluster of some blocks.
    fn join(&mut self, blocks: impl IntoIterator<Item = usize>) {
        let mut blocks = blocks.into_iter();
        if let Some(first) = blocks.next() {
            blocks.for_each(|other| self.joined.join(small(first), small(other)));
        }
    }

    /// The cluster of an edge, by the number of one of its blocks.
    fn home(&mut self, edge: usize) -> usize {
        self.joined.root(small(self.block[edge])) as usize
    }
}

impl Whole<'_> {
    /// Takes the network apart.
    pub(super) fn clusters(&self) -> Vec<Cluster> {
        let (mut edges, ring) = self.edges();
        if ring {
            let all = edges.block.clone();
            edges.join(all);
        }
        let mut at_branch = HashMap::new();
        let mut at_device = HashMap::new();
        for (e, kind) in edges.kinds.iter().enumerate() {
            match kind {
                Kind::Branch(b) => drop(at_branch.insert(*b, e)),
                Kind::Device(d) => drop(at_device.insert(*d, e)),
                Kind::Source(_) | Kind::Feed(_) => {}
            }
        }
        let block = |edges: &Edges, e: Option<&usize>| e.map(|e| edges.block[*e]);
        for list in &self.choices.exclusive {
            let own = list
                .iter()
                .filter_map(|(d, _)| block(&edges, at_device.get(d)));
            let own: Vec<usize> = own.collect();
            edges.join(own);
        }
        let contacts = self.contacts();
        for list in &contacts {
            let own = list
                .iter()
                .filter_map(|(b, _)| block(&edges, at_branch.get(b)));
            let own: Vec<usize> = own.collect();
            edges.join(own);
        }
        self.join_feeds(&mut edges);
        let mut members: BTreeMap<usize, Members> = BTreeMap::new();
        for e in 0..edges.kinds.len() {
            members.entry(edges.home(e)).or_default().edges.push(e);
        }
        for (relay, list) in contacts.iter().enumerate() {
            if let Some(e) = list.iter().find_map(|(b, _)| at_branch.get(b)) {
                members
                    .entry(edges.home(*e))
                    .or_default()
                    .relays
                    .push(relay);
            }
        }
        for (l, list) in self.choices.exclusive.iter().enumerate() {
            if let Some(e) = list.iter().find_map(|(d, _)| at_device.get(d)) {
                members.entry(edges.home(*e)).or_default().lists.push(l);
            }
        }
        let mut held: HashMap<NodeId, Vec<usize>> = HashMap::new();
        for (s, source) in self.circuits[0].sources.iter().enumerate() {
            if edges.ideal[s] {
                held.entry(edges.groups.root(source.plus))
                    .or_default()
                    .push(s);
            }
        }
        // An edge on no ring carries nothing, unless it stands on the terminals of one source.
        let stands = |e: &usize| edges.ends[*e].0 == edges.ends[*e].1;
        members.retain(|_, m| m.edges.len() > 1 || m.edges.iter().any(stands));
        let mut own = |m: &Members| self.cluster(m, &mut edges, &contacts, &held);
        members.values().map(&mut own).collect()
    }

    /// The edges and their blocks, and whether ideal sources close a ring.
    fn edges(&self) -> (Edges, bool) {
        let circuit = &self.circuits[0];
        let mut groups = Joined::apart(circuit.nodes);
        let mut ring = false;
        let mut ideal = Vec::new();
        for source in &circuit.sources {
            let holds = source.live && source.resistance_ohm <= 0.0;
            ring |= holds && groups.root(source.plus) == groups.root(source.minus);
            if holds {
                groups.join(source.plus, source.minus);
            }
            ideal.push(holds);
        }
        let (mut kinds, mut ends) = (Vec::new(), Vec::new());
        let mut add = |kind, a: NodeId, b: NodeId| {
            kinds.push(kind);
            ends.push((groups.root(a), groups.root(b)));
        };
        for (b, branch) in circuit.branches.iter().enumerate() {
            if !self.live.open[b] {
                add(Kind::Branch(b), branch.from, branch.to);
            }
        }
        for (s, source) in circuit.sources.iter().enumerate() {
            if source.live && !ideal[s] {
                add(Kind::Source(s), source.plus, source.minus);
            }
        }
        for (d, load) in circuit.loads.iter().enumerate() {
            let drawn = self.choices.devices[d].iter().any(|c| draws(c.draw));
            if self.live.devices[d] && drawn {
                add(Kind::Device(d), load.plus, load.minus);
            }
        }
        for (f, feed) in circuit.feeds.iter().enumerate() {
            if self.live.supplies[feed.source] {
                add(Kind::Feed(f), feed.plus, feed.minus);
            }
        }
        let block = blocks(circuit.nodes, &ends);
        let number = block.iter().max().map_or(0, |b| b + 1);
        let edges = Edges {
            kinds,
            ends,
            block,
            joined: Joined::apart(number),
            groups,
            ideal,
        };
        (edges, ring)
    }

    /// A feed's device feels all that its supply gives to.
    fn join_feeds(&self, edges: &mut Edges) {
        let circuit = &self.circuits[0];
        let mut lists: Vec<Vec<usize>> = vec![Vec::new(); circuit.feeds.len()];
        let mut of_source = HashMap::new();
        let mut of_node: HashMap<NodeId, Vec<usize>> = HashMap::new();
        for (f, feed) in circuit.feeds.iter().enumerate() {
            of_source.insert(feed.source, f);
            if edges.ideal[feed.source] {
                let root = edges.groups.root(circuit.sources[feed.source].plus);
                of_node.entry(root).or_default().push(f);
            }
        }
        for ((kind, (a, b)), block) in edges.kinds.iter().zip(&edges.ends).zip(&edges.block) {
            match kind {
                Kind::Feed(f) => lists[*f].push(*block),
                Kind::Source(s) => of_source
                    .get(s)
                    .into_iter()
                    .for_each(|f| lists[*f].push(*block)),
                Kind::Branch(_) | Kind::Device(_) => {}
            }
            for f in [a, b]
                .into_iter()
                .filter_map(|node| of_node.get(node))
                .flatten()
            {
                lists[*f].push(*block);
            }
        }
        lists.into_iter().for_each(|own| edges.join(own));
    }

    /// By relay that switches over: its contacts' branches, and whether pulled closes them.
    fn contacts(&self) -> Vec<Vec<(usize, bool)>> {
        let mut by_relay: HashMap<(usize, usize), Vec<(usize, bool)>> = HashMap::new();
        for (part, branch) in &self.template.parts {
            if let Part::Contact(d, r, throw) = part {
                let closed = *throw != Throw::Closed;
                by_relay
                    .entry((*d, *r))
                    .or_default()
                    .push((*branch, closed));
            }
        }
        let relays = self.choices.relays.iter();
        relays
            .map(|r| by_relay.remove(r).unwrap_or_default())
            .collect()
    }

    fn cluster(
        &self,
        members: &Members,
        edges: &mut Edges,
        contacts: &[Vec<(usize, bool)>],
        held: &HashMap<NodeId, Vec<usize>>,
    ) -> Cluster {
        let whole = &self.circuits[0];
        let mut lists: [Vec<usize>; 4] = Default::default();
        let mut touched = BTreeSet::new();
        let mut touch =
            |a: NodeId, b: NodeId| touched.extend([edges.groups.root(a), edges.groups.root(b)]);
        let [branches, sources, devices, feeds] = &mut lists;
        for kind in members.edges.iter().map(|e| edges.kinds[*e]) {
            match kind {
                Kind::Branch(b) => {
                    branches.push(b);
                    touch(whole.branches[b].from, whole.branches[b].to);
                }
                Kind::Source(s) => {
                    sources.push(s);
                    touch(whole.sources[s].plus, whole.sources[s].minus);
                }
                Kind::Device(d) => {
                    devices.push(d);
                    touch(whole.loads[d].plus, whole.loads[d].minus);
                }
                Kind::Feed(f) => {
                    feeds.push(f);
                    touch(whole.feeds[f].plus, whole.feeds[f].minus);
                    // Even where nothing hangs on it.
                    let source = &whole.sources[whole.feeds[f].source];
                    touch(source.plus, source.minus);
                }
            }
        }
        sources.extend(touched.iter().filter_map(|node| held.get(node)).flatten());
        sources.sort_unstable();
        let mut part = Renumbered::default();
        let circuits = [0, 1, 2].map(|corner| part.circuit(&self.circuits[corner], &lists));
        let [branches, sources, devices, _] = lists;
        let place = |list: &[usize], one: usize| list.iter().position(|x| *x == one);
        let exclusive = members.lists.iter().map(|l| {
            let list = self.choices.exclusive[*l].iter();
            list.filter_map(|(d, c)| Some((place(&devices, *d)?, *c)))
                .collect()
        });
        let switches = members.relays.iter().map(|relay| {
            let own = contacts[*relay].iter();
            Switch {
                relay: *relay,
                contacts: own
                    .filter_map(|(b, c)| Some((place(&branches, *b)?, *c)))
                    .collect(),
            }
        });
        let mut pair = |plus, minus| [part.node(plus), part.node(minus)];
        let pairs = sources
            .iter()
            .map(|s| pair(whole.sources[*s].plus, whole.sources[*s].minus));
        let supplies: Vec<Pair> = pairs.collect();
        let pairs = devices
            .iter()
            .map(|d| pair(whole.loads[*d].plus, whole.loads[*d].minus));
        Cluster {
            terminals: Terminals {
                devices: pairs.collect(),
                supplies,
                ..Terminals::default()
            },
            exclusive: exclusive.filter(|list: &Vec<_>| list.len() > 1).collect(),
            switches: switches.collect(),
            devices,
            sources,
            branches,
            circuits,
        }
    }
}
