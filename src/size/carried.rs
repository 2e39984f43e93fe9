//! What of a row the trees carry: which legs and edges belong to which run, and what is left of
//! each device's way.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use crate::size::bounds::Wiring;
use crate::size::forest::{Forest, legs_of, owners};
use crate::size::row::Row;
use crate::size::shape::Step;
use crate::size::trial::Bench;

/// What of a row the trees carry.
#[derive(Debug, Default)]
pub(crate) struct Carried {
    /// By run: the legs that all devices below pass.
    pub(crate) legs: Vec<Vec<Leg>>,
    /// By run: edges without a choice that all that hangs below passes and nothing else, each
    /// with its direction.
    pub(crate) fixed: Vec<Vec<(usize, bool)>>,
    /// Device, least volts, and the steps of its way that no run of its tree carries.
    pub(crate) devices: Vec<(usize, f64, Vec<Step>)>,
}

/// A leg of a run that all devices below it pass which a row judges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Leg {
    pub(crate) slot: usize,
    pub(crate) edge: usize,
    pub(crate) forward: bool,
    /// All that hangs below passes it, judged or not.
    pub(crate) whole: bool,
    /// And nothing else does.
    pub(crate) alone: bool,
}

impl Forest {
    /// What the trees carry in every row: one for all that have the same shape and limits.
    pub(crate) fn carried_in_all(&self, bench: &Bench, wiring: &[Wiring]) -> Vec<Rc<Carried>> {
        let mut all: Vec<Rc<Carried>> = Vec::with_capacity(wiring.len());
        for (row, wires) in bench.rows.iter().zip(wiring) {
            let known = bench.rows.iter().zip(wiring).zip(&all).rev();
            let same = known.into_iter().find(|((other, at), _)| {
                Rc::ptr_eq(&at.shape, &wires.shape) && other.lowest == row.lowest
            });
            let carried = match same {
                Some((_, carried)) => Rc::clone(carried),
                None => Rc::new(self.carried(bench, row, wires)),
            };
            all.push(carried);
        }
        all
    }

    /// Which legs of which runs all devices below them pass in a row.
    fn carried(&self, bench: &Bench, row: &Row, wiring: &Wiring) -> Carried {
        let owner = owners(bench);
        let count = bench.options.open.len();
        // By run: devices below, and by slot how many pass it forward and backward.
        let mut below = vec![0_u32; count];
        let mut pass = vec![[[0_u32; 2]; 4]; count];
        let judged: Vec<(usize, f64, &Vec<Step>)> = (0..bench.devices.len())
            .filter(|d| self.hangs[*d].is_some() && !wiring.loose[*d])
            .filter_map(|d| Some((d, row.lowest[d]?, wiring.shape.ways[d].as_ref()?)))
            .collect();
        let mut on_line = vec![usize::MAX; count];
        for (d, _, way) in &judged {
            for e in self.line_of(*d) {
                below[e] += 1;
                on_line[e] = *d;
            }
            for (e, slot, _, forward) in legs_of(way, wiring.shape.branches, &owner) {
                if on_line[e] == *d {
                    pass[e][slot][usize::from(forward)] += 1;
                }
            }
        }
        let all = |e: usize, slot: usize, forward: bool| {
            below[e] > 0 && pass[e][slot][usize::from(forward)] == below[e]
        };
        let mut carried = Carried {
            legs: vec![Vec::new(); count],
            fixed: vec![Vec::new(); count],
            devices: Vec::new(),
        };
        // By branch: the last device of which its run carries it.
        let mut own = vec![usize::MAX; wiring.shape.branches];
        for (d, lowest, way) in judged {
            for e in self.line_of(d) {
                on_line[e] = d;
            }
            for (e, slot, edge, forward) in legs_of(way, wiring.shape.branches, &owner) {
                if on_line[e] == d && all(e, slot, forward) {
                    own[edge] = d;
                    let leg = Leg {
                        slot,
                        edge,
                        forward,
                        whole: true,
                        alone: true,
                    };
                    if !carried.legs[e].contains(&leg) {
                        carried.legs[e].push(leg);
                    }
                }
            }
            let is_own = |step: &Step| match step {
                Step::Bridge(edge, _) => own.get(*edge) == Some(&d),
                Step::Mesh(..) => false,
            };
            let rest = way.iter().copied().filter(|step| !is_own(step)).collect();
            carried.devices.push((d, lowest, rest));
        }
        self.find_partial(wiring, &mut carried);
        carried
    }

    /// Marks the legs that something which hangs below does not pass, or something else does.
    fn find_partial(&self, wiring: &Wiring, carried: &mut Carried) {
        // By branch: how many pass it, and by direction the last that does.
        let mut times = vec![0_u32; wiring.shape.branches];
        let mut passed = vec![[usize::MAX; 2]; wiring.shape.branches];
        let mut below = vec![0_u32; self.used.len()];
        for (d, way) in wiring.shape.ways.iter().enumerate() {
            let Some(way) = way else { continue };
            for step in way {
                match *step {
                    Step::Bridge(edge, forward) if edge < passed.len() => {
                        times[edge] += 1;
                        passed[edge][usize::from(forward)] = d;
                    }
                    _ => {}
                }
            }
            for e in self.line_of(d) {
                below[e] += 1;
                for leg in &mut carried.legs[e] {
                    leg.whole &= passed[leg.edge][usize::from(leg.forward)] == d;
                }
            }
        }
        for (legs, below) in carried.legs.iter_mut().zip(&below) {
            for leg in legs {
                leg.alone = leg.whole && times[leg.edge] == *below;
            }
        }
        self.find_fixed(wiring, carried, &below);
    }

    /// Finds the edges without a choice that belong to a run as its own legs do.
    fn find_fixed(&self, wiring: &Wiring, carried: &mut Carried, below: &[u32]) {
        let mut passing: BTreeMap<(usize, bool), BTreeSet<usize>> = BTreeMap::new();
        let rests = carried.devices.iter().flat_map(|(.., rest)| rest);
        let bridges = rests.filter_map(|step| match *step {
            Step::Bridge(edge, forward) => Some((edge, forward)),
            Step::Mesh(..) => None,
        });
        passing.extend(bridges.map(|bridge| (bridge, BTreeSet::new())));
        let mut loose = BTreeSet::new();
        for (d, way) in wiring.shape.ways.iter().enumerate() {
            for step in way.iter().flatten() {
                let Step::Bridge(edge, forward) = *step else {
                    continue;
                };
                if let Some(devices) = passing.get_mut(&(edge, forward)) {
                    devices.insert(d);
                }
                if passing.contains_key(&(edge, !forward)) {
                    loose.insert(edge);
                }
            }
        }
        for ((edge, forward), devices) in passing {
            let first = devices.first().copied();
            let count = |e: &usize| below[*e] as usize == devices.len();
            let Some(e) = first.and_then(|d| self.line_of(d).find(count)) else {
                continue;
            };
            let on = |d: &usize| self.line_of(*d).any(|above| above == e);
            if !loose.contains(&edge) && devices.iter().all(on) {
                carried.fixed[e].push((edge, forward));
            }
        }
    }
}
