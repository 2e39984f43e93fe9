//! A cluster as its loads see it: volts without load, and what every ampere drawn takes away.
//!
//! With nothing drawn the network is linear, so volts and amps anywhere are a constant less a sum
//! over the currents of the ports (loads, and devices that feed supplies). A handful of solves
//! finds all of it; after them a combination is a small dense problem.

use crate::circuit::{Circuit, Feed, Law};
use crate::joined::Joined;
use crate::solve::Solver;
use crate::states::monotone;
use crate::states::probe::Probe;

/// Coupling below this part of the own impedance is rounding.
const ROUNDING: f64 = 1e-10;

/// A number that is a constant plus a sum over the currents of the ports.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    /// With no current drawn.
    pub(super) base: f64,
    /// Change for each ampere drawn at a port.
    pub(super) by: Vec<f64>,
}

impl Row {
    /// The number for these currents.
    pub(super) fn at(&self, amps: &[f64]) -> f64 {
        self.base + self.by.iter().zip(amps).map(|(b, a)| b * a).sum::<f64>()
    }

    /// The same without what is nothing but rounding.
    fn without_rounding(mut self) -> Self {
        let noise = self.by.iter_mut().filter(|b| b.abs() <= ROUNDING);
        noise.for_each(|b| *b = 0.0);
        self
    }

    /// The same times a factor.
    pub(super) fn times(&self, factor: f64) -> Self {
        Self {
            base: self.base * factor,
            by: self.by.iter().map(|b| b * factor).collect(),
        }
    }
}

/// A device that feeds a supply, as a port.
#[derive(Clone, Debug)]
pub(super) struct Fed {
    /// Its port.
    pub(super) port: usize,
    /// Volts and amps at the supply's terminals.
    pub(super) volts: Row,
    pub(super) amps: Row,
    /// Watts drawn for each watt supplied.
    pub(super) gain: f64,
    /// Less volts anywhere behind its supply mean more watts, whatever is drawn.
    pub(super) rises: bool,
}

impl Fed {
    /// Watts that it draws.
    pub(super) fn watts(&self, amps: &[f64]) -> f64 {
        self.gain * self.volts.at(amps) * self.amps.at(amps)
    }
}

/// Ports that feel one another; `order` of [`Ports`] has those first that others wait for.
#[derive(Clone, Debug)]
pub(super) struct Part {
    /// Ports.
    pub(super) ports: Vec<usize>,
    /// More current at any port means less volts at every port, whatever is drawn.
    pub(super) monotone: bool,
}

/// A cluster, with its relays set, in one corner.
#[derive(Clone, Debug)]
pub(super) struct Ports {
    /// Volts of each port with nothing drawn.
    pub(super) open_v: Vec<f64>,
    /// Volts lost at the first port for each ampere at the second, row by row.
    pub(super) z: Vec<f64>,
    /// Device of the cluster by load port; the ports of feeds follow.
    pub(super) devices: Vec<usize>,
    /// By port and choice; empty where a feed is.
    pub(super) laws: Vec<Vec<Law>>,
    pub(super) fed: Vec<Fed>,
    /// Amps by source and by branch of the cluster.
    pub(super) sources: Vec<Row>,
    pub(super) branches: Vec<Row>,
    /// The parts in an order in which each knows the power that it feeds; `None` where power
    /// comes back to its own feed.
    pub(super) order: Option<Vec<Part>>,
}

impl Ports {
    /// Measures a circuit with nothing drawn; `laws` has the choices of every load, empty for
    /// those that no supply reaches. `None` where that does not solve.
    pub(super) fn of(circuit: &Circuit, laws: &[Vec<Law>], solver: &mut Solver) -> Option<Self> {
        let devices: Vec<usize> = (0..laws.len()).filter(|d| !laws[*d].is_empty()).collect();
        let live = |f: &&Feed| circuit.sources[f.source].live;
        let feeds: Vec<Feed> = circuit.feeds.iter().filter(live).copied().collect();
        let loads = devices.iter().map(|d| &circuit.loads[*d]);
        let loads = loads.map(|load| (load.plus, load.minus));
        let ends: Vec<_> = loads
            .chain(feeds.iter().map(|f| (f.plus, f.minus)))
            .collect();
        let probe = Probe::of(circuit, &ends, solver)?;
        let volts: Vec<Row> = ends.iter().map(|e| probe.across(*e)).collect();
        let fed = feeds.iter().enumerate().map(|(f, feed)| {
            let source = circuit.sources[feed.source];
            Fed {
                port: devices.len() + f,
                volts: probe.across((source.plus, source.minus)).without_rounding(),
                amps: probe.row(|s| s.source_a[feed.source]).without_rounding(),
                gain: feed.efficiency.recip(),
                rises: false,
            }
        });
        let own = devices.iter().map(|d| laws[*d].clone());
        let mut ports = Self {
            open_v: volts.iter().map(|r| r.base).collect(),
            z: impedances(&volts),
            fed: fed.collect(),
            sources: (0..circuit.sources.len())
                .map(|i| probe.row(|s| s.source_a[i]))
                .collect(),
            branches: (0..circuit.branches.len())
                .map(|b| probe.row(|s| s.branch_a[b]))
                .collect(),
            laws: own.chain(feeds.iter().map(|_| Vec::new())).collect(),
            devices,
            order: None,
        };
        ports.order = ports.parts();
        let rises = |fed: &Fed| ports.order.iter().flatten().all(|p| ports.takes(p, fed));
        let rises: Vec<bool> = ports.fed.iter().map(rises).collect();
        (ports.fed.iter_mut().zip(rises)).for_each(|(fed, rises)| fed.rises = rises);
        Some(ports)
    }

    /// How many ports there are.
    pub(super) fn len(&self) -> usize {
        self.open_v.len()
    }

    /// Volts of a port, as a row.
    pub(super) fn volts(&self, port: usize) -> Row {
        let n = self.len();
        Row {
            base: self.open_v[port],
            by: self.z[port * n..(port + 1) * n]
                .iter()
                .map(|z| -z)
                .collect(),
        }
    }

    /// Volts of a port at these amps.
    pub(super) fn volts_at(&self, port: usize, amps: &[f64]) -> f64 {
        let n = self.len();
        let lost = self.z[port * n..(port + 1) * n].iter().zip(amps);
        self.open_v[port] - lost.map(|(z, a)| z * a).sum::<f64>()
    }

    /// The same with all currents and powers drawn multiplied.
    pub(super) fn scaled(&self, factor: f64) -> Self {
        let mut scaled = self.clone();
        for law in scaled.laws.iter_mut().flatten() {
            *law = match *law {
                Law::Current(amps) => Law::Current(amps * factor),
                Law::Power(watts) => Law::Power(watts * factor),
                other => other,
            };
        }
        scaled
    }

    /// Whether what draws more anywhere takes volts from all or leaves them alone: every ampere
    /// does so in its part, and a part that draws more from what feeds it takes more power.
    pub(super) fn is_monotone(&self) -> bool {
        let all = |parts: &Vec<Part>| parts.iter().all(|p| p.monotone);
        self.order.as_ref().is_some_and(all) && self.fed.iter().all(|f| f.rises)
    }

    /// The parts, those first that others wait for.
    fn parts(&self) -> Option<Vec<Part>> {
        let n = self.len();
        let mut joined = Joined::apart(n);
        for j in 0..n {
            for k in 0..j {
                if self.z[j * n + k] != 0.0 {
                    joined.join(small(j), small(k));
                }
            }
        }
        let part: Vec<usize> = joined.roots().into_iter().map(|r| r as usize).collect();
        let mut waiting: Vec<usize> = (0..n).filter(|k| part[*k] == *k).collect();
        let mut done = vec![false; n];
        let mut order = Vec::new();
        while !waiting.is_empty() {
            let before = waiting.len();
            waiting.retain(|root| {
                let ready = self.fed.iter().filter(|f| part[f.port] == *root).all(|f| {
                    let on = f.volts.by.iter().zip(&f.amps.by);
                    on.enumerate()
                        .all(|(k, (v, a))| (*v == 0.0 && *a == 0.0) || done[part[k]])
                });
                if ready {
                    order.push(*root);
                    done[*root] = true;
                }
                !ready
            });
            if waiting.len() == before {
                return None;
            }
        }
        let members = |root: usize| (0..n).filter(|k| part[*k] == root).collect();
        Some(
            order
                .into_iter()
                .map(|root| self.part(members(root)))
                .collect(),
        )
    }

    fn part(&self, ports: Vec<usize>) -> Part {
        Part {
            monotone: monotone::takes_from_all(&self.among(&ports), ports.len()),
            ports,
        }
    }

    /// Whether less volts anywhere in a part mean that it takes no less power from a feed.
    fn takes(&self, part: &Part, fed: &Fed) -> bool {
        let amps: Vec<f64> = part.ports.iter().map(|p| fed.amps.by[*p]).collect();
        let firm = part.ports.iter().all(|p| fed.volts.by[*p] == 0.0);
        let nothing = amps.iter().all(|a| *a == 0.0);
        firm && (nothing || monotone::takes_more(&self.among(&part.ports), &amps))
    }

    /// The impedances among some ports.
    fn among(&self, ports: &[usize]) -> Vec<f64> {
        let n = self.len();
        ports
            .iter()
            .flat_map(|j| ports.iter().map(|k| self.z[*j * n + *k]))
            .collect()
    }
}

/// The impedances between ports, row by row: both ways alike (reciprocity), and nothing where
/// there is nothing but rounding.
fn impedances(volts: &[Row]) -> Vec<f64> {
    let n = volts.len();
    let mut z: Vec<f64> = volts.iter().flat_map(|r| r.by.iter().map(|b| -b)).collect();
    for j in 0..n {
        for k in 0..j {
            let both = f64::midpoint(z[j * n + k], z[k * n + j]);
            let own = (z[j * n + j] * z[k * n + k]).max(0.0).sqrt();
            let felt = both.abs() > ROUNDING * own;
            let both = if felt { both } else { 0.0 };
            (z[j * n + k], z[k * n + j]) = (both, both);
        }
    }
    z
}

fn small(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
