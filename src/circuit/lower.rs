//! From a site to circuits: the branches once, their values for each case and corner.

use std::collections::HashMap;

use crate::circuit::corner::Corner;
use crate::circuit::filling::Filling;
use crate::circuit::live::Live;
use crate::circuit::ohms::{LEAST_OHM, Legs};
use crate::circuit::wire::Terminals;
use crate::circuit::{Branch, Circuit, Feed, Hertz, Law, Load, NodeId, Restraint, Source};
use crate::site::{Case, DeviceRef, Leg, Part, Run, ShieldBond, Site, Throw, Tie};
use crate::units::{ElectricalResistance, Measure};

/// Least resistance of a part that a leg passes: so little that it adds no volts worth telling to
/// a leg that is no less than [`LEAST_OHM`] by itself.
const LEAST_PART_OHM: f64 = 1e-7;

/// Index of a branch in the circuit.
pub type BranchId = usize;

/// Which branches belong to one run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RunBranches {
    /// The positive leg, or the conductor of a bond.
    pub plus: Option<BranchId>,
    /// The negative leg.
    pub minus: Option<BranchId>,
    /// The data common.
    pub common: Option<BranchId>,
    /// The shield, where both its ends are bonded.
    pub shield: Option<BranchId>,
}

/// A site's circuit without the values of a case and corner, and whose branch is whose.
#[derive(Clone, Debug, PartialEq)]
pub struct Template {
    /// Nodes of every terminal.
    pub terminals: Terminals,
    /// Branches by run.
    pub runs: Vec<RunBranches>,
    /// Branches by output, by supply.
    pub outputs: Vec<Vec<BranchId>>,
    /// Parts and their branches, in order of first use.
    pub parts: Vec<(Part, BranchId)>,
    /// Branch from each earth into the soil.
    pub earths: Vec<Option<BranchId>>,
    /// The supply of each feed.
    pub fed_supply: Vec<usize>,
    /// The device of each feed.
    pub feeders: Vec<usize>,
    pub(super) base: Circuit,
}

impl Template {
    /// Lays out the circuit of a site.
    pub fn of(site: &Site) -> Self {
        Self::on(Terminals::of(site), site)
    }

    /// The same on terminals that are numbered already.
    pub fn on(terminals: Terminals, site: &Site) -> Self {
        let mut t = Self {
            base: Circuit {
                nodes: terminals.count,
                ..Circuit::default()
            },
            terminals,
            runs: Vec::with_capacity(site.runs.len()),
            outputs: Vec::new(),
            parts: Vec::new(),
            earths: Vec::new(),
            fed_supply: Vec::new(),
            feeders: Vec::new(),
        };
        t.supplies(site);
        for (i, device) in site.devices.iter().enumerate() {
            let [plus, minus] = t.terminals.devices[i];
            t.base.loads.push(Load {
                plus,
                minus,
                law: Law::Off,
            });
            if let Tie::Through(ohms) = device.tie {
                let (common, minus) = (t.terminals.commons[i], t.terminals.dc_minus[i]);
                t.branch(common, minus, ohms.base().max(LEAST_PART_OHM));
            }
        }
        for i in 0..t.terminals.parts.len() {
            let (part, from, to) = t.terminals.parts[i];
            let ohms = part_resistance(site, part)
                .map_or(0.0, Measure::base)
                .max(LEAST_PART_OHM);
            let branch = t.branch(from, to, ohms);
            t.parts.push((part, branch));
        }
        for (i, earth) in site.earths.iter().enumerate() {
            let ends = (t.terminals.earths[i], t.terminals.remote);
            let ohms = earth.resistance.map(|r| r.base().max(LEAST_PART_OHM));
            let branch = ohms.map(|r| t.branch(ends.0, ends.1, r));
            t.earths.push(branch);
        }
        for run in &site.runs {
            let branches = t.run(run);
            t.runs.push(branches);
        }
        t
    }

    fn branch(&mut self, from: NodeId, to: NodeId, resistance_ohm: f64) -> BranchId {
        self.base.branches.push(Branch {
            from,
            to,
            resistance_ohm,
        });
        self.base.branches.len() - 1
    }

    fn supplies(&mut self, site: &Site) {
        for (i, supply) in site.supplies.iter().enumerate() {
            let [plus, minus] = self.terminals.supplies[i];
            let resistance_ohm = supply.resistance.map_or(0.0, Measure::base);
            self.base.sources.push(Source {
                plus,
                minus,
                volts_v: 0.0,
                resistance_ohm,
                live: true,
                held: None,
            });
            self.base.restraints.extend(Restraint::of(i, supply));
            if let Some(DeviceRef(d)) = supply.fed_by {
                let [plus, minus] = self.terminals.devices[d];
                let efficiency = supply.efficiency.map_or(1.0, |e| e.value);
                self.fed_supply.push(i);
                self.feeders.push(d);
                self.base.feeds.push(Feed {
                    source: i,
                    plus,
                    minus,
                    efficiency,
                });
            }
            let mut outputs = Vec::new();
            for (o, output) in supply.outputs.iter().enumerate() {
                let node = self.terminals.outputs[i][o];
                let ohms = output.resistance.map_or(0.0, Measure::base);
                let ohms = ohms.max(LEAST_PART_OHM);
                outputs.push(self.branch(plus, node, ohms));
            }
            self.outputs.push(outputs);
        }
    }

    fn run(&mut self, run: &Run) -> RunBranches {
        let mut branches = RunBranches::default();
        if run.carries.bond {
            let (from, to) = (self.terminals.bond(run.from), self.terminals.bond(run.to));
            branches.plus = Some(self.branch(from, to, f64::INFINITY));
            return branches;
        }
        let (from, to) = (self.terminals.pair(run.from), self.terminals.pair(run.to));
        if run.carries.power {
            let start = self.start_of_wire(run, from[0]);
            branches.plus = Some(self.branch(start, to[0], f64::INFINITY));
            if run.minus_parallel > 0 {
                branches.minus = Some(self.branch(from[1], to[1], f64::INFINITY));
            }
        }
        let commons = (
            self.terminals.common(run.from),
            self.terminals.common(run.to),
        );
        if run.common && !run.carries.power {
            branches.common = Some(self.branch(commons.0, commons.1, f64::INFINITY));
        }
        if run.shield == Some(ShieldBond::Both) && run.shield_resistance.is_some() {
            branches.shield = Some(self.branch(commons.0, commons.1, f64::INFINITY));
        }
        branches
    }

    /// The node behind the last part that a positive leg passes.
    fn start_of_wire(&self, run: &Run, from: NodeId) -> NodeId {
        let last = run.through.last();
        let found = last.and_then(|part| self.terminals.parts.iter().find(|(p, ..)| p == part));
        found.map_or(from, |(_, _, out)| *out)
    }

    /// The two ends of a branch.
    pub fn branch_ends(&self, branch: BranchId) -> (NodeId, NodeId) {
        (
            self.base.branches[branch].from,
            self.base.branches[branch].to,
        )
    }

    /// The branch of a part that some run passes.
    pub fn part(&self, part: Part) -> Option<BranchId> {
        self.parts.iter().find(|(p, _)| *p == part).map(|(_, b)| *b)
    }

    /// The feeds that a device supplies.
    pub fn fed_by(&self, device: usize) -> impl Iterator<Item = usize> {
        let of = move |(feed, feeder): (usize, &usize)| (*feeder == device).then_some(feed);
        self.feeders.iter().enumerate().filter_map(of)
    }

    /// The conductors of a case, and which supplies and devices live in it.
    pub fn live(&self, site: &Site, case: &Case) -> Live {
        let mut open = vec![false; self.base.branches.len()];
        for (i, run) in site.runs.iter().enumerate() {
            if !run.fitted && !case.fitted.contains(&i) {
                let b = &self.runs[i];
                [b.plus, b.minus, b.common, b.shield]
                    .into_iter()
                    .flatten()
                    .for_each(|b| open[b] = true);
            }
        }
        for (run, leg) in &case.broken {
            let b = &self.runs[*run];
            let branch = match leg {
                Leg::Plus => b.plus,
                Leg::Minus => b.minus,
                Leg::Common => b.common,
                Leg::Shield => b.shield,
            };
            if let Some(branch) = branch {
                open[branch] = true;
            }
        }
        let pulled: HashMap<(usize, usize), bool> = case
            .relays
            .iter()
            .map(|(d, r, pulled)| ((*d, *r), *pulled))
            .collect();
        for (part, branch) in &self.parts {
            if let Part::Contact(d, r, throw) = part
                && let Some(pulled) = pulled.get(&(*d, *r))
            {
                open[*branch] = *pulled == (*throw == Throw::Closed);
            }
        }
        let mut live = Live::find(&self.base, &self.terminals, open);
        live.hertz = Hertz::of(site, &self.base, &self.terminals, &live);
        live
    }

    /// The circuit of a case and corner.
    pub fn circuit(&self, site: &Site, case: &Case, corner: Corner, live: &Live) -> Circuit {
        let mut filling = Filling::new(self, site);
        filling.case(case, live);
        filling.corner(corner);
        filling.circuit
    }

    /// Ohms of every branch, were none open.
    pub(super) fn ohms(&self, site: &Site, case: &Case, corner: Corner) -> Vec<f64> {
        let branches = self.base.branches.iter();
        let mut all: Vec<f64> = branches.map(|b| b.resistance_ohm).collect();
        let mut known = vec![None; site.cables.len() + 1];
        for (run, b) in site.runs.iter().zip(&self.runs) {
            let ohms = Legs::of(site, run, corner.temperature(site, run, case), &mut known);
            // A bond is one conductor, whatever `parallel` says.
            let plus = if run.carries.bond {
                ohms.single
            } else {
                ohms.plus
            };
            let values = [
                (b.plus, plus),
                (b.minus, ohms.minus),
                (b.common, ohms.single),
                (b.shield, ohms.shield),
            ];
            for (branch, ohm) in values {
                if let Some(branch) = branch {
                    all[branch] = ohm.max(LEAST_OHM);
                }
            }
        }
        all
    }
}

/// Resistance of a fuse or contact, where it is stated.
pub fn part_resistance(site: &Site, part: Part) -> Option<ElectricalResistance> {
    match part {
        Part::Fuse(i) => site.fuses[i].resistance,
        Part::Contact(d, r, _) => site.devices[d].relays[r].resistance,
    }
}
