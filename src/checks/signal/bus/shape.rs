//! The shape of a two-wire bus: its line from end to end, and what branches off it.

use std::collections::{HashMap, VecDeque};

use crate::site::{Site, Thing};
use crate::units::Measure;

/// A bus as it lies.
pub(super) struct Shape {
    /// Its runs.
    pub(super) runs: Vec<usize>,
    /// Everything on it, in order of first use.
    pub(super) things: Vec<Thing>,
    /// The longest way through it, from one end to the other.
    pub(super) trunk: Vec<Thing>,
    /// The runs of that way, in order.
    pub(super) trunk_runs: Vec<usize>,
    /// Where branches leave the longest way, and how far they go, in metres.
    pub(super) stubs: Vec<(Thing, f64)>,
    /// Some of it hangs together in no way with the rest.
    pub(super) apart: bool,
    /// Some of it is a ring.
    pub(super) ring: bool,
    joins: HashMap<Thing, Vec<(Thing, usize)>>,
}

impl Shape {
    /// The shape of some runs; `None` without any.
    pub(super) fn of(site: &Site, runs: Vec<usize>) -> Option<Self> {
        let first = site.runs.get(*runs.first()?)?.from.thing();
        let mut joins: HashMap<Thing, Vec<(Thing, usize)>> = HashMap::new();
        let mut things = Vec::new();
        for i in &runs {
            let run = &site.runs[*i];
            let ends = [run.from.thing(), run.to.thing()];
            for (a, b) in [(ends[0], ends[1]), (ends[1], ends[0])] {
                if !joins.contains_key(&a) {
                    things.push(a);
                }
                joins.entry(a).or_default().push((b, *i));
            }
        }
        let mut shape = Self {
            ring: false,
            apart: false,
            runs,
            things,
            trunk: Vec::new(),
            trunk_runs: Vec::new(),
            stubs: Vec::new(),
            joins,
        };
        let reached = shape.from(site, first);
        shape.apart = reached.len() < shape.things.len();
        // A tree has one run less than things.
        shape.ring = shape.runs.len() >= shape.things.len();
        let start = farthest(&reached)?;
        let reached = shape.from(site, start);
        let mut at = farthest(&reached)?;
        shape.trunk.push(at);
        while let Some((before, run)) = reached.get(&at).and_then(|r| r.before) {
            shape.trunk.push(before);
            shape.trunk_runs.push(run);
            at = before;
        }
        shape.branches(site);
        Some(shape)
    }

    /// How far everything is from one thing.
    fn from(&self, site: &Site, start: Thing) -> HashMap<Thing, Reached> {
        self.reach_without(site, start, &[])
    }

    fn reach_without(
        &self,
        site: &Site,
        start: Thing,
        barred: &[Thing],
    ) -> HashMap<Thing, Reached> {
        let mut reached = HashMap::from([(
            start,
            Reached {
                metres: 0.0,
                runs: 0,
                order: 0,
                before: None,
            },
        )]);
        let mut next = VecDeque::from([start]);
        while let Some(at) = next.pop_front() {
            let here = reached[&at];
            for (to, run) in self.joins.get(&at).into_iter().flatten() {
                if reached.contains_key(to) || barred.contains(to) {
                    continue;
                }
                let found = Reached {
                    metres: here.metres + site.runs[*run].length.base(),
                    runs: here.runs + 1,
                    order: reached.len(),
                    before: Some((at, *run)),
                };
                reached.insert(*to, found);
                next.push_back(*to);
            }
        }
        reached
    }

    /// Finds how far the branches go from each thing of the longest way.
    fn branches(&mut self, site: &Site) {
        for at in self.trunk.clone() {
            let reached = self.reach_without(site, at, &self.trunk);
            let far = reached.values().map(|r| r.metres).fold(0.0, f64::max);
            if reached.len() > 1 {
                self.stubs.push((at, far));
            }
        }
    }

    /// Metres along the bus from one thing to another.
    pub(super) fn metres_between(&self, site: &Site, a: Thing, b: Thing) -> Option<f64> {
        self.from(site, a).get(&b).map(|r| r.metres)
    }

    /// Metres from one end to the other.
    pub(super) fn metres(&self, site: &Site) -> f64 {
        let runs = self.trunk_runs.iter();
        runs.map(|i| site.runs[*i].length.base()).sum()
    }
}

/// How something was reached.
#[derive(Clone, Copy)]
struct Reached {
    metres: f64,
    runs: usize,
    order: usize,
    before: Option<(Thing, usize)>,
}

/// What lies farthest off; of several the one with more runs to it, then the one found last.
fn farthest(reached: &HashMap<Thing, Reached>) -> Option<Thing> {
    let far = |r: &Reached| (r.metres, r.runs, r.order);
    let found = reached.iter().max_by(|(_, a), (_, b)| {
        let (a, b) = (far(a), far(b));
        a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2)))
    });
    found.map(|(thing, _)| *thing)
}
