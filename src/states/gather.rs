//! Clusters searched one by one, and put together to the whole site's worst.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use crate::circuit::{BranchId, Template};
use crate::results::Results;
use crate::site::{Case, Part, Site};
use crate::solve::Solver;
use crate::states::choices::Choices;
use crate::states::cluster::{CORNERS, Cluster};
use crate::states::edges::Whole;
use crate::states::found::{At, Found, HEAVY, HIGH, LOW, Searched, Spot};
use crate::states::hunt::Hunt;
use crate::states::search::Effort;
use crate::states::whole;
use crate::states::{AllStates, Combination, Reach, Unserved, Window, Worst};
use crate::units::{ElectricCurrent, ElectricPotential, Measure};

/// Up to this many devices the search goes on to its end.
const ALWAYS_PROVEN: usize = 8;
/// Work of a whole search, in multiplications or so.
const WORK: u64 = 100_000_000;

/// Searches a whole site.
pub(super) fn all_states(
    site: &Site,
    template: &Template,
    choices: &Choices,
    reach: Reach,
    solver: &mut Solver,
) -> AllStates {
    let closed = Case {
        name: String::new(),
        states: Vec::new(),
        relays: Vec::new(),
        broken: Vec::new(),
        fitted: Vec::new(),
        temperature: None,
    };
    let live = template.live(site, &closed);
    let circuits = CORNERS.map(|corner| template.circuit(site, &closed, corner, &live));
    let whole = Whole {
        template,
        choices,
        circuits: &circuits,
        live: &live,
    };
    let clusters = whole.clusters();
    let mut wanted = vec![false; circuits[0].branches.len()];
    for branch in watched(template) {
        wanted[branch] = true;
    }
    let endless = reach == Reach::Proof && site.devices.len() <= ALWAYS_PROVEN;
    let total = (!endless).then_some(WORK);
    let mut effort = Effort {
        left: total,
        solved: 0,
    };
    let mut all = Vec::with_capacity(clusters.len());
    for (i, cluster) in clusters.iter().enumerate() {
        // What one cluster leaves, the next ones may use.
        let share = effort.left.map(|left| left / (clusters.len() - i) as u64);
        let mut own = Effort {
            left: share,
            ..effort
        };
        let hunt = Hunt {
            site,
            choices,
            cluster,
            wanted: &wanted,
        };
        all.push(hunt.search(solver, &mut own));
        if let (Some(left), Some(share), Some(rest)) = (&mut effort.left, share, own.left) {
            *left -= share - rest;
        }
        effort.solved = own.solved;
    }
    let together = Together::new(site, template, choices, (&clusters, &all));
    together.all_states(effort.solved, solver)
}

/// Branches whose amps are asked for.
fn watched(template: &Template) -> impl Iterator<Item = BranchId> + '_ {
    let runs = template
        .runs
        .iter()
        .flat_map(|r| [r.plus, r.minus, r.common].into_iter().flatten());
    let outputs = template.outputs.iter().flatten().copied();
    runs.chain(outputs)
        .chain(template.parts.iter().map(|(_, b)| *b))
}

/// The clusters, searched, as a whole.
struct Together<'a> {
    site: &'a Site,
    template: &'a Template,
    choices: &'a Choices,
    clusters: &'a [Cluster],
    all: &'a [Searched],
    relays: Arc<[(usize, usize)]>,
    /// Devices outside of all clusters that are not idle, because they may not.
    never_idle: Vec<(usize, Option<usize>)>,
    /// By corner: the clusters that are usually not idle; `None` where one has no operating
    /// point.
    usual: [Option<Vec<(usize, &'a Spot)>>; 3],
    /// Combinations by the one spot that is not as usual; many things are at their worst there.
    known: RefCell<HashMap<Alone, Option<Arc<Combination>>>>,
}

/// Corner, cluster and spot, by its place.
type Alone = (At, usize, *const Spot);

impl<'a> Together<'a> {
    fn new(
        site: &'a Site,
        template: &'a Template,
        choices: &'a Choices,
        (clusters, all): (&'a [Cluster], &'a [Searched]),
    ) -> Self {
        let mut inside = vec![false; site.devices.len()];
        clusters
            .iter()
            .flat_map(|c| &c.devices)
            .for_each(|d| inside[*d] = true);
        let outside = (0..inside.len()).filter(|d| !inside[*d]);
        let never_idle = outside
            .map(|d| (d, choices.rest(d)))
            .filter(|(d, rest)| !choices.is_idle(*d, *rest))
            .map(|(d, rest)| (d, choices.devices[d][rest].key))
            .collect();
        let usual = [LOW, HIGH, HEAVY].map(|at| {
            let mut usual = Vec::new();
            for (c, (cluster, searched)) in clusters.iter().zip(all).enumerate() {
                let spot = searched.usual[at].as_deref()?;
                let mut devices = cluster.devices.iter().zip(&spot.choice);
                if spot.way != 0 || !devices.all(|(d, choice)| choices.is_idle(*d, *choice)) {
                    usual.push((c, spot));
                }
            }
            Some(usual)
        });
        Self {
            site,
            template,
            choices,
            clusters,
            all,
            relays: choices.relays.as_slice().into(),
            never_idle,
            usual,
            known: RefCell::default(),
        }
    }
}

impl Together<'_> {
    fn all_states(&self, solved: u64, solver: &mut Solver) -> AllStates {
        let mut home: HashMap<BranchId, (usize, usize)> = HashMap::new();
        let mut place = vec![None; self.site.devices.len()];
        let mut sources = vec![Vec::new(); self.site.supplies.len()];
        for (c, cluster) in self.clusters.iter().enumerate() {
            for (i, branch) in cluster.branches.iter().enumerate() {
                home.insert(*branch, (c, i));
            }
            for (i, device) in cluster.devices.iter().enumerate() {
                place[*device] = Some((c, i));
            }
            for (i, source) in cluster.sources.iter().enumerate() {
                sources[*source].push((c, i));
            }
        }
        let volts = |list: &dyn Fn(&Searched) -> &Vec<Option<Found>>, d: usize| {
            let (c, i): (usize, usize) = place[d]?;
            let found = list(&self.all[c])[i].as_ref()?;
            self.worst(&[(c, found)], ElectricPotential::from_base(found.value))
        };
        let branch = |b: BranchId| self.branch(&home, b);
        let most = |list: Vec<Option<Worst<ElectricCurrent>>>| {
            list.into_iter()
                .flatten()
                .reduce(|a, b| if b.value > a.value { b } else { a })
        };
        let supplies: Vec<_> = sources.iter().map(|places| self.supply(places)).collect();
        AllStates {
            proven: self.all.iter().all(|s| s.proven),
            combinations: self.choices.count(),
            solved,
            unserved: self.unserved(solver),
            devices: (0..self.site.devices.len())
                .map(|d| Window {
                    least: volts(&|s| &s.least, d),
                    most: volts(&|s| &s.most, d),
                })
                .collect(),
            steady: supplies.clone(),
            supplies,
            outputs: (self.template.outputs.iter())
                .map(|list| list.iter().map(|b| branch(*b)).collect())
                .collect(),
            fuses: (0..self.site.fuses.len())
                .map(|f| branch(self.template.part(Part::Fuse(f))?))
                .collect(),
            contacts: whole::contacts(self.site)
                .filter_map(|part| Some((part, branch(self.template.part(part)?))))
                .collect(),
            runs: (self.template.runs.iter())
                .map(|r| {
                    let legs = [r.plus, r.minus, r.common].into_iter().flatten();
                    most(legs.map(branch).collect())
                })
                .collect(),
        }
    }

    /// Most amps of a branch; what lies on no ring carries nothing.
    fn branch(
        &self,
        home: &HashMap<BranchId, (usize, usize)>,
        branch: BranchId,
    ) -> Option<Worst<ElectricCurrent>> {
        match home.get(&branch) {
            Some((c, i)) => {
                let found = self.all[*c].branches[*i].as_ref()?;
                self.worst(
                    &[(*c, found)],
                    ElectricCurrent::from_base(found.value + 0.0),
                )
            }
            None => self.nothing(),
        }
    }

    /// No amps, in any combination that has an operating point.
    fn nothing(&self) -> Option<Worst<ElectricCurrent>> {
        let at = [LOW, HEAVY]
            .into_iter()
            .find(|at| self.usual[*at].is_some())?;
        Some(Worst {
            value: ElectricCurrent::from_base(0.0),
            corner: CORNERS[at],
            state: Arc::new(self.combination(at, &[])?),
        })
    }

    /// Most amps of a supply: clusters that share an ideal one add up, each at its own worst.
    fn supply(&self, places: &[(usize, usize)]) -> Option<Worst<ElectricCurrent>> {
        let mut best: Option<Worst<ElectricCurrent>> = None;
        for at in [LOW, HEAVY] {
            let mut parts = Vec::new();
            let mut complete = true;
            for (c, i) in places {
                match &self.all[*c].sources[at][*i] {
                    Some(found) => parts.push((*c, found)),
                    None => complete = false,
                }
            }
            if parts.is_empty() && complete {
                best = best.or_else(|| self.nothing());
                continue;
            }
            let sum = parts.iter().map(|(_, f)| f.value).sum::<f64>() + 0.0;
            let worst = self
                .worst(&parts, ElectricCurrent::from_base(sum))
                .filter(|_| complete);
            if let Some(worst) = worst
                && best.as_ref().is_none_or(|b| worst.value > b.value)
            {
                best = Some(worst);
            }
        }
        best
    }

    /// A value with its whole combination; `None` where no combination of the rest has an
    /// operating point.
    fn worst<Q>(&self, parts: &[(usize, &Found)], value: Q) -> Option<Worst<Q>> {
        let at = parts.first().map_or(LOW, |(_, f)| f.at);
        let made = || {
            let spots: Vec<(usize, &Spot)> = parts.iter().map(|(c, f)| (*c, &*f.spot)).collect();
            self.combination(at, &spots).map(Arc::new)
        };
        let state = if let [(c, found)] = parts {
            let alone = (at, *c, Rc::as_ptr(&found.spot));
            let mut known = self.known.borrow_mut();
            known.entry(alone).or_insert_with(made).clone()
        } else {
            made()
        };
        Some(Worst {
            value,
            corner: CORNERS[at],
            state: state?,
        })
    }

    /// These spots, and everything else as usual.
    fn combination(&self, at: At, spots: &[(usize, &Spot)]) -> Option<Combination> {
        let usual = self.usual[at].as_ref()?;
        let rest = usual
            .iter()
            .filter(|(c, _)| spots.iter().all(|(k, _)| k != c));
        let all = spots
            .iter()
            .copied()
            .chain(rest.map(|(c, spot)| (*c, *spot)));
        Some(self.whole(all))
    }

    /// Spots of some clusters; the rest is idle.
    fn whole<'s>(&self, spots: impl Iterator<Item = (usize, &'s Spot)>) -> Combination {
        let mut combination = Combination {
            draws: self.never_idle.clone(),
            pulled: Vec::new(),
            relays: Arc::clone(&self.relays),
        };
        for (c, spot) in spots {
            let cluster = &self.clusters[c];
            for (device, choice) in cluster.devices.iter().zip(&spot.choice) {
                if !self.choices.is_idle(*device, *choice) {
                    let key = self.choices.devices[*device][*choice].key;
                    combination.draws.push((*device, key));
                }
            }
            for (s, switch) in cluster.switches.iter().enumerate() {
                if Cluster::is_pulled(spot.way, s) {
                    combination.pulled.push(self.relays[switch.relay]);
                }
            }
        }
        combination.draws.sort_unstable();
        combination.pulled.sort_unstable();
        combination
    }

    /// The least served combination, solved as a whole.
    fn unserved(&self, solver: &mut Solver) -> Option<Unserved> {
        let found = self
            .all
            .iter()
            .enumerate()
            .filter_map(|(c, s)| Some((c, s.unserved.as_ref()?)));
        let (c, found) = found.min_by(|a, b| a.1.value.total_cmp(&b.1.value))?;
        let others = self.all.iter().enumerate().filter(|(k, _)| *k != c);
        let usual = others.filter_map(|(k, s)| Some((k, s.usual[found.at].as_deref()?)));
        let state = self.whole(usual.chain([(c, &*found.spot)]));
        let corner = CORNERS[found.at];
        let results = Results::in_corners(
            (self.site, vec![state.case(self.site)]),
            &[corner],
            solver,
            None,
        );
        let short = results
            .rows
            .first()
            .and_then(|row| results.shortfall(self.site, row));
        Some(Unserved {
            device: short.and_then(|s| s.device),
            served: short.map_or(found.value, |s| s.served),
            state,
            corner,
        })
    }
}
