//! The worst of one cluster: where it is a tree, from the tree; else by search; and where it is
//! too large for that, as much as a few combinations show.

use std::rc::Rc;

use crate::circuit::{Circuit, Law, law_of};
use crate::site::Site;
use crate::solve::{Outcome, Solver};
use crate::states::choices::Choices;
use crate::states::cluster::{CORNERS, Cluster, Wired};
use crate::states::found::{At, HEAVY, HIGH, LOW, Searched, Spot, put};
use crate::states::point::{drawn, draws};
use crate::states::search::Effort;

/// Most ports of a cluster that is searched.
const MOST_PORTS: usize = 48;
/// Most devices of a cluster whose worst combinations are kept for everything in it: each names
/// its devices, so that together they grow with the square.
const MOST_NAMED: usize = 400;
/// Most choices of one device that is searched.
const MOST_CHOICES: usize = 60;
/// Most ways of setting a cluster's relays.
const MOST_WAYS: usize = 1 << 12;

/// The search of one cluster.
pub(super) struct Hunt<'a> {
    pub(super) site: &'a Site,
    pub(super) choices: &'a Choices,
    pub(super) cluster: &'a Cluster,
    /// Branches of the whole whose amps are asked for.
    pub(super) wanted: &'a [bool],
}

impl Hunt<'_> {
    /// Searches the cluster.
    pub(super) fn search(&self, solver: &mut Solver, effort: &mut Effort) -> Searched {
        let cluster = self.cluster;
        let mut found = Searched {
            least: vec![None; cluster.devices.len()],
            most: vec![None; cluster.devices.len()],
            sources: [(); 3].map(|()| vec![None; cluster.sources.len()]),
            branches: vec![None; cluster.branches.len()],
            usual: [None, None, None],
            unserved: None,
            proven: true,
        };
        let ways = cluster.ways().unwrap_or(usize::MAX);
        if ways > MOST_WAYS {
            found.proven = false;
            for way in [0, ways - 1] {
                self.try_some(&cluster.wired(way), way, &mut found, solver, effort);
            }
            return found;
        }
        let many = |d: &usize| self.choices.devices[*d].len() > MOST_CHOICES;
        let large = cluster.devices.len() > MOST_PORTS || cluster.devices.iter().any(many);
        let tree = cluster.devices.len() <= MOST_NAMED;
        let mut least = 1.0;
        for way in 0..ways {
            let wired = cluster.wired(way);
            if tree && self.tree(&wired, way, &mut found, effort) {
                continue;
            }
            if large {
                found.proven = false;
                self.try_some(&wired, way, &mut found, solver, effort);
            } else {
                self.ports(&wired, way, &mut least, &mut found, (solver, effort));
            }
        }
        found
    }

    /// The laws of every choice of the devices that a supply reaches.
    pub(super) fn laws(&self, wired: &Wired, at: At) -> Vec<Vec<Law>> {
        let factor = CORNERS[at].draw_factor(self.site.design.draw_tolerance);
        let of = |d: &usize| {
            let all = self.choices.devices[*d].iter();
            all.map(|c| law_of(c.draw, factor)).collect()
        };
        let devices = self.cluster.devices.iter().zip(&wired.live);
        devices
            .map(|(d, live)| if *live { of(d) } else { Vec::new() })
            .collect()
    }

    /// What every device of the cluster does where it does not matter.
    pub(super) fn rest(&self) -> Vec<usize> {
        self.cluster
            .devices
            .iter()
            .map(|d| self.choices.rest(*d))
            .collect()
    }

    /// Everything off.
    pub(super) fn off(&self) -> Vec<usize> {
        self.cluster
            .devices
            .iter()
            .map(|d| self.choices.devices[*d].len() - 1)
            .collect()
    }

    pub(super) fn allows(&self, choice: &[usize]) -> bool {
        self.cluster.exclusive.iter().all(|list| {
            let mut chosen = list
                .iter()
                .filter(|(d, c)| choice[*d] == *c)
                .map(|(d, _)| *d);
            let first = chosen.next();
            chosen.all(|d| Some(d) == first)
        })
    }

    /// The branches of the cluster whose amps are asked for.
    pub(super) fn watched(&self) -> impl Iterator<Item = usize> {
        let all = self.cluster.branches.iter().enumerate();
        all.filter(|(_, b)| self.wanted[**b]).map(|(i, _)| i)
    }

    /// Solves a few combinations: all idle, all at their most, all at the least that they draw.
    pub(super) fn try_some(
        &self,
        wired: &Wired,
        way: usize,
        found: &mut Searched,
        solver: &mut Solver,
        effort: &mut Effort,
    ) {
        let devices = &self.cluster.devices;
        for at in [LOW, HIGH, HEAVY] {
            let laws = self.laws(wired, at);
            let volts = wired.circuits[at]
                .sources
                .first()
                .map_or(0.0, |s| s.volts_v);
            let amps = |d: usize, c: usize| drawn(laws[d][c], volts).0;
            let by = |d: usize, a: &usize, b: &usize| amps(d, *a).total_cmp(&amps(d, *b));
            let most = |d: usize| (0..laws[d].len()).max_by(|a, b| by(d, a, b)).unwrap_or(0);
            let light = |d: usize| {
                let drawing = (0..laws[d].len()).filter(|c| draws(laws[d][*c]));
                drawing.min_by(|a, b| by(d, a, b)).unwrap_or(0)
            };
            let named = devices.len() <= MOST_NAMED;
            let picks: [(Vec<usize>, bool); 4] = [
                (self.rest(), true),
                (self.off(), named),
                ((0..devices.len()).map(most).collect(), named),
                ((0..devices.len()).map(light).collect(), named),
            ];
            for (choice, all) in picks {
                if !self.allows(&choice) {
                    continue;
                }
                let mut circuit = wired.circuits[at].clone();
                for (i, load) in circuit.loads.iter_mut().enumerate() {
                    load.law = laws[i].get(choice[i]).copied().unwrap_or(Law::Off);
                }
                effort.solved += 1;
                let outcome = solver.solve(&circuit);
                self.note(
                    (&circuit, &outcome),
                    &Rc::new(Spot { way, choice }),
                    (at, all),
                    found,
                );
            }
        }
    }

    /// Notes what one combination, solved, makes worse: in supplies, or in all there is.
    fn note(
        &self,
        (circuit, outcome): (&Circuit, &Outcome),
        spot: &Rc<Spot>,
        (at, all): (At, bool),
        found: &mut Searched,
    ) {
        let solution = match outcome {
            Outcome::Solved(solution) => solution,
            Outcome::Unserved(unserved) => {
                put(&mut found.unserved, unserved.served, -1.0, at, spot);
                return;
            }
        };
        found.usual[at].get_or_insert_with(|| Rc::clone(spot));
        if at != HIGH {
            for (i, amps) in solution.source_a.iter().enumerate() {
                put(&mut found.sources[at][i], *amps, 1.0, at, spot);
            }
        }
        if !all {
            return;
        }
        for i in (0..circuit.loads.len()).filter(|i| draws(circuit.loads[*i].law)) {
            match at {
                LOW => put(&mut found.least[i], solution.load_v[i], -1.0, at, spot),
                HIGH => put(&mut found.most[i], solution.load_v[i], 1.0, at, spot),
                _ => {}
            }
        }
        if at != HIGH {
            for i in self.watched() {
                put(
                    &mut found.branches[i],
                    solution.branch_a[i].abs(),
                    1.0,
                    at,
                    spot,
                );
            }
        }
    }
}
