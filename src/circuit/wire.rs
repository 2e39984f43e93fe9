//! Node numbers of a site: which terminals exist and which of them are one node.

use std::collections::HashMap;

use crate::circuit::NodeId;
use crate::joined::Joined;
use crate::site::{DeviceRef, End, Part, Rectifier, Site, Tie, Whole};

/// A positive and a negative node.
pub type Pair = [NodeId; 2];

/// The nodes of every terminal of a site.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Terminals {
    /// Number of nodes.
    pub count: usize,
    /// Plus and minus of each supply.
    pub supplies: Vec<Pair>,
    /// Plus of each output, by supply.
    pub outputs: Vec<Vec<NodeId>>,
    /// Plus and minus of each device.
    pub devices: Vec<Pair>,
    /// Data common of each device.
    pub commons: Vec<NodeId>,
    /// Negative of the dc side of each device: its own negative where it has no rectifier, and
    /// where that is a half wave.
    pub dc_minus: Vec<NodeId>,
    /// Plus and minus of each junction.
    pub junctions: Vec<Pair>,
    /// Node of each earth.
    pub earths: Vec<NodeId>,
    /// Earth terminal of each supply, then of each device.
    pub earth_terminals: Vec<NodeId>,
    /// Remote earth.
    pub remote: NodeId,
    /// In and out of each part, in order of first use.
    pub parts: Vec<(Part, NodeId, NodeId)>,
}

fn two(nodes: &mut Joined) -> Pair {
    [nodes.add(), nodes.add()]
}

fn join_pair(nodes: &mut Joined, a: Pair, b: Pair) {
    nodes.join(a[0], b[0]);
    nodes.join(a[1], b[1]);
}

impl Terminals {
    /// Numbers the nodes of a site.
    ///
    /// What sits `on` another thing shares its nodes; a fed supply shares its device's negative
    /// unless it is isolated; the parts of a leg follow one another from the `from` end.
    pub fn of(site: &Site) -> Self {
        let mut nodes = Joined::default();
        let mut t = Self {
            supplies: site.supplies.iter().map(|_| two(&mut nodes)).collect(),
            devices: site.devices.iter().map(|_| two(&mut nodes)).collect(),
            junctions: site.junctions.iter().map(|_| two(&mut nodes)).collect(),
            earths: site.earths.iter().map(|_| nodes.add()).collect(),
            ..Self::default()
        };
        t.outputs = site
            .supplies
            .iter()
            .map(|s| s.outputs.iter().map(|_| nodes.add()).collect())
            .collect();
        t.dc_minus = (0..site.devices.len())
            .map(|i| match site.devices[i].dc.rectifier {
                Rectifier::None | Rectifier::HalfWave => t.devices[i][1],
                Rectifier::Bridge | Rectifier::Unknown => nodes.add(),
            })
            .collect();
        t.commons = (0..site.devices.len())
            .map(|i| {
                if site.devices[i].tie == Tie::Joined {
                    t.dc_minus[i]
                } else {
                    nodes.add()
                }
            })
            .collect();
        let earthed = site
            .supplies
            .iter()
            .zip(&t.supplies)
            .map(|(s, n)| (s.negative_earthed, n[1]));
        let earthed = earthed.chain(
            site.devices
                .iter()
                .zip(&t.dc_minus)
                .map(|(d, n)| (d.negative_earthed, *n)),
        );
        t.earth_terminals = earthed
            .map(|(tied, minus)| if tied { minus } else { nodes.add() })
            .collect();
        t.remote = nodes.add();
        t.join_places(site, &mut nodes);
        t.join_parts(site, &mut nodes);
        t.compact(&mut nodes);
        t
    }

    fn join_places(&self, site: &Site, nodes: &mut Joined) {
        for (i, supply) in site.supplies.iter().enumerate() {
            if let Some(on) = supply.on {
                join_pair(nodes, self.supplies[i], self.pair(on));
            }
            if let Some(DeviceRef(d)) = supply.fed_by
                && !supply.isolated
            {
                nodes.join(self.supplies[i][1], self.dc_minus[d]);
            }
        }
        for (i, device) in site.devices.iter().enumerate() {
            if let Some(on) = device.on {
                join_pair(nodes, self.devices[i], self.pair(on));
            }
        }
        for (i, junction) in site.junctions.iter().enumerate() {
            if let Some(on) = junction.on {
                join_pair(nodes, self.junctions[i], self.pair(on));
            }
        }
    }

    fn join_parts(&mut self, site: &Site, nodes: &mut Joined) {
        let mut known: HashMap<Part, usize> = HashMap::new();
        for run in site.runs.iter().filter(|r| r.carries.power) {
            let mut at = self.pair(run.from)[0];
            for part in &run.through {
                let index = *known.entry(*part).or_insert_with(|| {
                    self.parts.push((*part, nodes.add(), nodes.add()));
                    self.parts.len() - 1
                });
                nodes.join(at, self.parts[index].1);
                at = self.parts[index].2;
            }
        }
    }

    /// Renumbers the nodes without gaps.
    fn compact(&mut self, nodes: &mut Joined) {
        let mut number = vec![NodeId::MAX; nodes.len()];
        let mut count = 0;
        let mut small = |id: &mut NodeId| {
            let root = nodes.root(*id) as usize;
            if number[root] == NodeId::MAX {
                number[root] = count;
                count += 1;
            }
            *id = number[root];
        };
        let pairs = self
            .supplies
            .iter_mut()
            .chain(&mut self.devices)
            .chain(&mut self.junctions);
        pairs.flatten().for_each(&mut small);
        self.outputs.iter_mut().flatten().for_each(&mut small);
        self.commons
            .iter_mut()
            .chain(&mut self.dc_minus)
            .chain(&mut self.earths)
            .chain(&mut self.earth_terminals)
            .for_each(&mut small);
        small(&mut self.remote);
        for (_, a, b) in &mut self.parts {
            small(a);
            small(b);
        }
        self.count = count as usize;
    }

    /// The two nodes of an end that has two.
    pub fn pair(&self, end: End) -> Pair {
        match end {
            End::Supply(i) => self.supplies[i],
            End::Output(s, o) => [self.outputs[s][o], self.supplies[s][1]],
            End::Device(i) => self.devices[i],
            End::Junction(i) => self.junctions[i],
            End::Earth(i) => [self.earths[i]; 2],
            End::Terminal(whole, plus) => {
                let pair = self.pair(whole.into());
                [pair[usize::from(!plus)]; 2]
            }
        }
    }

    /// The node at which a bond ends.
    pub fn bond(&self, end: End) -> NodeId {
        match end {
            End::Supply(i) => self.earth_terminals[i],
            End::Device(i) => self.earth_terminals[self.supplies.len() + i],
            End::Earth(i) => self.earths[i],
            End::Output(..) | End::Junction(_) | End::Terminal(..) => self.pair(end)[0],
        }
    }

    /// The node at which a data common ends.
    pub fn common(&self, end: End) -> NodeId {
        match end {
            End::Device(i) | End::Terminal(Whole::Device(i), _) => self.commons[i],
            _ => self.pair(end)[1],
        }
    }
}
