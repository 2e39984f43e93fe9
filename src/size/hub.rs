//! Hubs: places from which home runs go out, each with a choice and one device at its end.
//!
//! All that the home runs of a hub share is its volts. Once these are known, each stands alone,
//! whatever its device draws; `homes` has what follows from that.

use std::collections::BTreeMap;

use crate::circuit::Law;
use crate::size::bounds::Wiring;
use crate::size::forest::owners;
use crate::size::row::Row;
use crate::size::shape::Step;
use crate::size::trial::{Bench, TOLERANCE};

/// A hub: supply terminals, or what hangs on a supply by one way.
#[derive(Debug, PartialEq)]
pub(crate) struct Hub {
    /// The open run on the way to it.
    pub(crate) feed: Option<usize>,
    /// The open runs that go out from it.
    pub(crate) homes: Vec<usize>,
    /// By row in which something asks for volts.
    pub(crate) rows: Vec<HubRow>,
}

/// A hub in one row.
#[derive(Debug, PartialEq)]
pub(crate) struct HubRow {
    /// Volts of the supply without load.
    pub(crate) open_v: f64,
    /// Ohms of supply and wires up to the hub, without the feed.
    pub(crate) ohm: f64,
    /// Ohms of the feed, by choice; empty without one.
    pub(crate) feed_ohm: Vec<f64>,
    /// What hangs on the hub by wires without a choice.
    pub(crate) fixed: Vec<Spoke>,
    /// By home run: what hangs on it; `None` where nothing does in this row.
    pub(crate) homes: Vec<Option<Spoke>>,
}

/// A device on its own way from the hub.
#[derive(Debug, PartialEq)]
pub(crate) struct Spoke {
    pub(crate) law: Law,
    /// Least volts at the device; nothing where it is not judged.
    pub(crate) lowest_v: f64,
    /// Ohms of its way, by choice; one figure where there is none.
    pub(crate) ohm: Vec<f64>,
}

/// What the devices of a hub have in common: sources, then edges with ohms that several pass.
type Trunk = (Vec<usize>, Vec<usize>);

/// What an open run is to the hubs.
#[derive(Clone, Copy, PartialEq)]
enum Part {
    /// On the way to this hub.
    Feed(usize),
    /// From this hub to this device.
    Home(usize, usize),
    /// On the way to something else.
    Other,
}

impl Hub {
    /// The hubs of a site at which some draw follows the volts; what has another shape is left.
    pub(crate) fn all(bench: &Bench, wiring: &[Wiring]) -> Vec<Self> {
        let fits = |(row, wires): (&Row, &Wiring)| {
            !row.is_beyond_bounds(&wires.shape) && wires.shape.meshes.is_empty()
        };
        if !bench.rows.iter().any(Row::follows) || !bench.rows.iter().zip(wiring).all(fits) {
            return Vec::new();
        }
        let shared = shared(bench, wiring);
        let Some(trunks) = trunks(bench, wiring, &shared) else {
            return Vec::new();
        };
        let owner = owners(bench);
        let mut groups: BTreeMap<&Trunk, Vec<usize>> = BTreeMap::new();
        for (d, trunk) in trunks.iter().enumerate() {
            if let Some(trunk) = trunk {
                groups.entry(trunk).or_default().push(d);
            }
        }
        // Hubs that share ohms know of one another: those are left.
        let mut times = vec![0_u32; shared.len()];
        for edge in groups.keys().flat_map(|trunk| &trunk.1) {
            times[*edge] += 1;
        }
        let alone = |trunk: &Trunk| trunk.1.iter().all(|edge| times[*edge] == 1);
        let mut parts: Vec<Vec<Part>> = vec![Vec::new(); bench.options.open.len()];
        for (hub, (trunk, devices)) in groups.iter().enumerate() {
            let alone = alone(trunk);
            let ways = |d: usize| wiring.iter().filter_map(move |w| w.shape.ways[d].as_ref());
            for d in devices {
                for edge in ways(*d).flatten().filter_map(bridge) {
                    let Some((e, _)) = owner.get(edge).copied().flatten() else {
                        continue;
                    };
                    let part = if !alone {
                        Part::Other
                    } else if shared[edge] {
                        Part::Feed(hub)
                    } else {
                        Part::Home(hub, *d)
                    };
                    if !parts[e].contains(&part) {
                        parts[e].push(part);
                    }
                }
            }
        }
        let hubs = groups.iter().enumerate();
        let hubs = hubs.filter(|(_, (trunk, _))| alone(trunk));
        hubs.filter_map(|(hub, (trunk, devices))| {
            Self::of(bench, wiring, (hub, trunk, devices), &parts)
        })
        .collect()
    }

    fn of(
        bench: &Bench,
        wiring: &[Wiring],
        (hub, trunk, devices): (usize, &Trunk, &[usize]),
        parts: &[Vec<Part>],
    ) -> Option<Self> {
        let mut feeds = Vec::new();
        let mut homes: Vec<(usize, usize)> = Vec::new();
        for (e, parts) in parts.iter().enumerate() {
            let own = |p: &Part| matches!(p, Part::Feed(h) | Part::Home(h, _) if *h == hub);
            match parts[..] {
                [Part::Feed(h)] if h == hub => feeds.push(e),
                [Part::Home(h, d)] if h == hub => homes.push((e, d)),
                _ if parts.iter().any(own) => return None,
                _ => {}
            }
        }
        let one_each = homes.iter().enumerate().all(|(i, (_, d))| {
            let before = &homes[..i];
            before.iter().all(|(_, other)| other != d)
        });
        if feeds.len() > 1 || homes.is_empty() || !one_each {
            return None;
        }
        let mut built = Self {
            feed: feeds.first().copied(),
            homes: homes.iter().map(|(e, _)| *e).collect(),
            rows: Vec::new(),
        };
        let mut needed = false;
        for (row, wires) in bench.rows.iter().zip(wiring) {
            if devices.iter().all(|d| row.lowest[*d].is_none()) {
                continue;
            }
            let layout = Layout {
                bench,
                row,
                wires,
                trunk,
            };
            let row = layout.row(devices, &built, &homes)?;
            let mut all = row.fixed.iter().chain(row.homes.iter().flatten());
            needed |= all.any(|spoke| follows(spoke.law));
            built.rows.push(row);
        }
        needed.then_some(built)
    }
}

/// One row while its hubs are read off.
struct Layout<'a> {
    bench: &'a Bench,
    row: &'a Row,
    wires: &'a Wiring,
    trunk: &'a Trunk,
}

impl Layout<'_> {
    fn row(&self, devices: &[usize], hub: &Hub, homes: &[(usize, usize)]) -> Option<HubRow> {
        let (ohm, feed_ohm) = self.ohms(self.trunk.1.iter().copied(), hub.feed);
        let mut built = HubRow {
            open_v: self.trunk.0.iter().map(|s| self.row.open_v(*s)).sum(),
            ohm,
            feed_ohm,
            fixed: Vec::new(),
            homes: homes.iter().map(|_| None).collect(),
        };
        for d in devices {
            let Some(way) = &self.wires.shape.ways[*d] else {
                continue;
            };
            if (self.wires.feeds.iter()).any(|(f, s)| f == d && self.row.circuit.sources[*s].live) {
                return None;
            }
            let place = homes.iter().position(|(_, device)| device == d);
            let outside = |edge: &usize| !self.trunk.1.contains(edge);
            let own = way.iter().filter_map(bridge).filter(outside);
            let (fixed_ohm, by_choice) = self.ohms(own, place.map(|h| homes[h].0));
            let law = self.row.circuit.loads[*d].law;
            if matches!(law, Law::Current(x) | Law::Power(x) | Law::Resistance(x) if x < 0.0) {
                return None;
            }
            let lowest = self.row.lowest[*d];
            let mut spoke = Spoke {
                law,
                lowest_v: lowest.map_or(0.0, |v| (v - TOLERANCE).max(0.0)),
                ohm: by_choice.iter().map(|ohm| fixed_ohm + ohm).collect(),
            };
            match place {
                Some(h) => built.homes[h] = Some(spoke),
                None => {
                    spoke.ohm = vec![fixed_ohm];
                    built.fixed.push(spoke);
                }
            }
        }
        Some(built)
    }

    /// Ohms of edges that no choice changes, and of a run's choices.
    fn ohms(&self, edges: impl Iterator<Item = usize>, run: Option<usize>) -> (f64, Vec<f64>) {
        let choices = run.map_or(0, |e| self.row.ohms[e].len());
        let (mut fixed, mut chosen) = (0.0, vec![0.0; choices]);
        for edge in edges {
            let slot = run.and_then(|e| {
                let own = &self.bench.branches[e];
                own.iter().position(|branch| *branch == Some(edge))
            });
            match (slot, run) {
                (Some(slot), Some(e)) => {
                    for (sum, ohms) in chosen.iter_mut().zip(&self.row.ohms[e]) {
                        *sum += ohms[slot];
                    }
                }
                _ => fixed += ohm_of(self.row, self.wires, edge),
            }
        }
        (fixed, chosen)
    }
}

/// Whether amperes follow volts.
fn follows(law: Law) -> bool {
    matches!(law, Law::Power(_) | Law::Resistance(_))
}

fn ohm_of(row: &Row, wires: &Wiring, edge: usize) -> f64 {
    match edge.checked_sub(wires.shape.branches) {
        None => row.circuit.branches[edge].resistance_ohm,
        Some(source) => row.circuit.sources[source].resistance_ohm,
    }
}

fn bridge(step: &Step) -> Option<usize> {
    match *step {
        Step::Bridge(edge, _) => Some(edge),
        Step::Mesh(..) => None,
    }
}

/// By edge: whether several devices pass it, each perhaps in another row.
fn shared(bench: &Bench, wiring: &[Wiring]) -> Vec<bool> {
    let edges =
        (bench.rows.first()).map_or(0, |r| r.circuit.branches.len() + r.circuit.sources.len());
    let mut first = vec![usize::MAX; edges];
    let mut shared = vec![false; edges];
    for wires in wiring {
        for (d, way) in wires.shape.ways.iter().enumerate() {
            for edge in way.iter().flatten().filter_map(bridge) {
                if first[edge] == usize::MAX {
                    first[edge] = d;
                }
                shared[edge] |= first[edge] != d;
            }
        }
    }
    shared
}

/// By device: what it shares with others, the same in every row in which it has a way; `None`
/// altogether where some current goes another way in another row or against another.
fn trunks(bench: &Bench, wiring: &[Wiring], shared: &[bool]) -> Option<Vec<Option<Trunk>>> {
    let owner = owners(bench);
    let mut trunks: Vec<Option<Trunk>> = vec![None; bench.devices.len()];
    let mut along: Vec<Option<bool>> = vec![None; shared.len()];
    for (row, wires) in bench.rows.iter().zip(wiring) {
        for (d, way) in wires.shape.ways.iter().enumerate() {
            let Some(way) = way else { continue };
            let mut trunk: Trunk = (Vec::new(), Vec::new());
            for step in way {
                let Step::Bridge(edge, forward) = *step else {
                    return None;
                };
                if let Some(source) = edge.checked_sub(wires.shape.branches) {
                    if !forward {
                        return None;
                    }
                    trunk.0.push(source);
                }
                if !shared[edge] {
                    continue;
                }
                if *along[edge].get_or_insert(forward) != forward {
                    return None;
                }
                let chosen = owner.get(edge).copied().flatten().is_some();
                if chosen || ohm_of(row, wires, edge) > 0.0 {
                    trunk.1.push(edge);
                }
            }
            trunk.1.sort_unstable();
            if trunks[d].get_or_insert_with(|| trunk.clone()) != &trunk {
                return None;
            }
        }
    }
    Some(trunks)
}
