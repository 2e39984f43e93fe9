//! Currents that meet: what flows into a thing flows out of it.

use std::collections::{BTreeSet, HashMap};

use crate::circuit::{BranchId, NodeId, Pair};
use crate::readings::bench::Bench;
use crate::readings::error::is_beyond;
use crate::results::Row;
use crate::site::{Leg, Thing};
use crate::units::{ElectricCurrent, Measure};

/// Currents under this are none: rounding of the solved network.
const NONE_A: f64 = 1e-6;

/// The currents that meet at a thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Sum {
    /// The thing.
    pub thing: Thing,
    /// Index of the moment.
    pub moment: usize,
    /// What flows in, as read.
    pub into: Vec<ElectricCurrent>,
    /// What flows out, as read.
    pub out: Vec<ElectricCurrent>,
    /// In less out.
    pub over: ElectricCurrent,
    /// How far off that may be.
    pub u: ElectricCurrent,
}

impl Sum {
    /// Whether what flows in flows out, as far as the meters tell.
    pub fn holds(&self) -> bool {
        !is_beyond(self.over.base(), self.u.base())
    }
}

/// One conductor and the nodes at its ends.
struct Conductor {
    run: usize,
    leg: Leg,
    branch: BranchId,
    ends: [NodeId; 2],
}

/// What stands at each node.
#[derive(Default)]
struct Around {
    /// Nodes of the same box: commons, outputs, and what sits on the same terminals.
    same: HashMap<NodeId, Vec<NodeId>>,
    /// The other terminal of each supply and device.
    across: HashMap<NodeId, Vec<NodeId>>,
}

/// Every thing of which all currents were read in one moment.
pub(super) fn sums(bench: &Bench<'_>) -> Vec<Sum> {
    let around = Around::of(bench);
    let mut sums = Vec::new();
    for moment in 0..bench.moments.len() {
        let (runs, row) = (bench.runs_in(moment), bench.row(moment));
        let (Some(row), true) = (row, runs.len() > 1) else {
            continue;
        };
        if row.has_angles() {
            continue;
        }
        let conductors = conductors(bench, row);
        let mut at: HashMap<NodeId, Vec<usize>> = HashMap::new();
        for (i, conductor) in conductors.iter().enumerate() {
            for node in conductor.ends {
                at.entry(node).or_default().push(i);
            }
        }
        let things: BTreeSet<Thing> = (runs.iter())
            .map(|run| &bench.site.runs[*run])
            .flat_map(|run| [run.from.thing(), run.to.thing()])
            .collect();
        for thing in things {
            let closed = around.places(bench, thing).into_iter();
            let mut closed = closed.filter(|place| around.is_closed(place));
            sums.extend(closed.find_map(|place| {
                let touching = place.iter().filter_map(|node| at.get(node)).flatten();
                let touching: BTreeSet<usize> = touching.copied().collect();
                let touching = touching.into_iter().map(|i| &conductors[i]);
                sum(bench, (moment, row), (thing, &place), touching)
            }));
        }
    }
    sums
}

/// Every conductor that is closed in a row's case.
fn conductors(bench: &Bench<'_>, row: &Row) -> Vec<Conductor> {
    let (template, open) = (&bench.results.template, &bench.results.live[row.case].open);
    let terminals = &template.terminals;
    let mut all = Vec::new();
    for (run, own) in bench.site.runs.iter().enumerate() {
        let b = template.runs[run];
        let node = |end, leg| match leg {
            Leg::Plus if own.carries.bond => terminals.bond(end),
            Leg::Plus => terminals.pair(end)[0],
            Leg::Minus => terminals.pair(end)[1],
            Leg::Common | Leg::Shield => terminals.common(end),
        };
        let branches = [b.plus, b.minus, b.common, b.shield];
        for (leg, branch) in Leg::ALL.into_iter().zip(branches) {
            if let Some(branch) = branch.filter(|branch| !open[*branch]) {
                all.push(Conductor {
                    run,
                    leg,
                    branch,
                    ends: [node(own.from, leg), node(own.to, leg)],
                });
            }
        }
    }
    all
}

impl Around {
    fn of(bench: &Bench<'_>) -> Self {
        let terminals = &bench.results.template.terminals;
        let mut around = Self::default();
        let mut add = |[plus, minus]: Pair, more: &[NodeId]| {
            for (node, other) in [(plus, minus), (minus, plus)] {
                around.across.entry(node).or_default().push(other);
                let same = around.same.entry(node).or_default();
                same.extend([plus, minus].iter().chain(more));
            }
        };
        for (i, pair) in terminals.devices.iter().enumerate() {
            add(*pair, &[terminals.commons[i], terminals.dc_minus[i]]);
        }
        for (i, pair) in terminals.supplies.iter().enumerate() {
            add(*pair, &terminals.outputs[i]);
        }
        around
    }

    /// The nodes of a thing: its positive alone, its negative alone, or all of its box.
    fn places(&self, bench: &Bench<'_>, thing: Thing) -> Vec<BTreeSet<NodeId>> {
        let terminals = &bench.results.template.terminals;
        let pair = match thing {
            Thing::Supply(i) => terminals.supplies[i],
            Thing::Device(i) => terminals.devices[i],
            Thing::Junction(i) => terminals.junctions[i],
            Thing::Earth(_) | Thing::Fuse(_) | Thing::Run(_) => return Vec::new(),
        };
        let mut all = BTreeSet::new();
        let mut waiting = pair.to_vec();
        while let Some(node) = waiting.pop() {
            if all.insert(node) {
                waiting.extend(self.same.get(&node).into_iter().flatten());
            }
        }
        vec![BTreeSet::from([pair[0]]), BTreeSet::from([pair[1]]), all]
    }

    /// Whether nothing but conductors leads out of some nodes: no supply or device has one
    /// terminal inside.
    fn is_closed(&self, place: &BTreeSet<NodeId>) -> bool {
        let mut across = place.iter().filter_map(|node| self.across.get(node));
        across.all(|others| others.iter().all(|other| place.contains(other)))
    }
}

/// The currents into some nodes and out of them; none where one of them was not read.
fn sum<'c>(
    bench: &Bench<'_>,
    (moment, row): (usize, &Row),
    (thing, place): (Thing, &BTreeSet<NodeId>),
    touching: impl Iterator<Item = &'c Conductor>,
) -> Option<Sum> {
    let (mut into, mut out, mut u2) = (Vec::new(), Vec::new(), 0.0);
    for conductor in touching {
        let [from, to] = conductor.ends.map(|node| place.contains(&node));
        if from == to {
            continue;
        }
        let solved = bench.results.branch(row, conductor.branch)?.base();
        let Some(read) = bench.amps_read(moment, conductor.run, conductor.leg) else {
            if solved.abs() < NONE_A {
                continue;
            }
            return None;
        };
        let amps = ElectricCurrent::from_base(read.value.abs());
        if (solved > 0.0) == to {
            into.push(amps);
        } else {
            out.push(amps);
        }
        u2 += read.u().powi(2);
    }
    let total = |side: &[ElectricCurrent]| side.iter().map(|a| a.base()).sum::<f64>();
    (into.len() + out.len() > 1).then(|| Sum {
        thing,
        moment,
        over: ElectricCurrent::from_base(total(&into) - total(&out)),
        u: ElectricCurrent::from_base(u2.sqrt()),
        into,
        out,
    })
}
