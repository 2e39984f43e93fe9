//! The supply from which a device's volts and negative are measured, and the way there.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use crate::site::{Case, End, Site, Thing};

/// For every supply, device and junction: its nearest supply and the run towards it.
#[derive(Clone, Debug)]
pub struct Ways {
    supplies: usize,
    devices: usize,
    best: Vec<Option<usize>>,
    /// The run and the neighbour towards the supply; no run where a thing sits on its neighbour.
    towards: Vec<Option<(Option<usize>, usize)>>,
    /// The nearest supply of each run.
    runs: Vec<Option<usize>>,
}

impl Ways {
    /// Finds the fewest power runs to a supply, ties by file order, over all runs that are drawn.
    pub fn of(site: &Site) -> Self {
        Self::over(site, |_| true)
    }

    /// By device: its nearest supply over the runs that are fitted in a case.
    pub fn fitted(site: &Site, case: &Case) -> Vec<Option<usize>> {
        let ways = Self::over(site, |run| {
            site.runs[run].fitted || case.fitted.contains(&run)
        });
        (0..site.devices.len())
            .map(|device| ways.supply_of(device))
            .collect()
    }

    /// The same over the runs that count.
    fn over(site: &Site, counts: impl Fn(usize) -> bool) -> Self {
        let (supplies, devices) = (site.supplies.len(), site.devices.len());
        let mut ways = Self {
            supplies,
            devices,
            best: Vec::new(),
            towards: Vec::new(),
            runs: Vec::new(),
        };
        let links = ways.links(site, counts);
        ways.best = vec![None; links.len()];
        ways.towards = vec![None; links.len()];
        let mut queue: BinaryHeap<_> = (0..supplies)
            .map(|i| Reverse((0_u32, i, i, usize::MAX, usize::MAX)))
            .collect();
        while let Some(Reverse((runs, supply, at, from, run))) = queue.pop() {
            // The queue yields fewest runs first and then file order: the first to come is it.
            if ways.best[at].is_some() {
                continue;
            }
            ways.best[at] = Some(supply);
            if from != usize::MAX {
                ways.towards[at] = Some(((run != usize::MAX).then_some(run), from));
            }
            for (next, run) in &links[at] {
                if ways.best[*next].is_none() {
                    let more = runs + u32::from(run.is_some());
                    queue.push(Reverse((
                        more,
                        supply,
                        *next,
                        at,
                        run.unwrap_or(usize::MAX),
                    )));
                }
            }
        }
        let near = |end: End| ways.start_of(end);
        ways.runs = site
            .runs
            .iter()
            .map(|r| near(r.to).or_else(|| near(r.from)))
            .collect();
        ways
    }

    fn links(
        &self,
        site: &Site,
        counts: impl Fn(usize) -> bool,
    ) -> Vec<Vec<(usize, Option<usize>)>> {
        let (s, d) = (self.supplies, self.devices);
        let mut links = vec![Vec::new(); s + d + site.junctions.len()];
        let mut link = |a: Option<usize>, b: Option<usize>, run: Option<usize>| {
            if let (Some(a), Some(b)) = (a, b) {
                links[a].push((b, run));
                links[b].push((a, run));
            }
        };
        for (i, run) in site
            .runs
            .iter()
            .enumerate()
            .filter(|(i, r)| r.carries.power && counts(*i))
        {
            link(self.index(run.from), self.index(run.to), Some(i));
        }
        for (i, supply) in site.supplies.iter().enumerate() {
            link(Some(i), supply.on.and_then(|on| self.index(on)), None);
        }
        for (i, device) in site.devices.iter().enumerate() {
            link(Some(s + i), device.on.and_then(|on| self.index(on)), None);
        }
        for (i, junction) in site.junctions.iter().enumerate() {
            link(
                Some(s + d + i),
                junction.on.and_then(|on| self.index(on)),
                None,
            );
        }
        links
    }

    fn index(&self, end: End) -> Option<usize> {
        match end {
            End::Supply(i) | End::Output(i, _) => Some(i),
            End::Device(i) => Some(self.supplies + i),
            End::Junction(i) => Some(self.supplies + self.devices + i),
            End::Earth(_) | End::Terminal(..) => None,
        }
    }

    fn thing(&self, i: usize) -> Thing {
        let (s, d) = (self.supplies, self.devices);
        match i {
            i if i < s => Thing::Supply(i),
            i if i < s + d => Thing::Device(i - s),
            i => Thing::Junction(i - s - d),
        }
    }

    /// The nearest supply of a device.
    pub fn supply_of(&self, device: usize) -> Option<usize> {
        self.best[self.supplies + device]
    }

    /// The nearest supply of a supply, device, junction or run.
    pub fn of_thing(&self, thing: Thing) -> Option<usize> {
        match thing {
            Thing::Supply(i) => Some(i),
            Thing::Device(i) => self.best[self.supplies + i],
            Thing::Junction(i) => self.best[self.supplies + self.devices + i],
            Thing::Run(i) => self.runs[i],
            Thing::Fuse(_) | Thing::Earth(_) => None,
        }
    }

    /// The runs from the nearest supply to an end, and what each leads to, from the supply on.
    pub fn way_to(&self, end: End) -> Vec<(Option<usize>, Thing)> {
        let Some(mut at) = self.index(end) else {
            return Vec::new();
        };
        let mut way = Vec::new();
        while let Some((run, from)) = self.towards[at] {
            way.push((run, self.thing(at)));
            at = from;
        }
        way.reverse();
        way
    }

    /// Where the way to an end starts: its nearest supply.
    pub fn start_of(&self, end: End) -> Option<usize> {
        self.index(end).and_then(|i| self.best[i])
    }

    /// The end of a run to which the way from the supply leads by it.
    pub fn far_end(&self, site: &Site, run: usize) -> Option<End> {
        let leads = |end: &End| self.towards(*end).is_some_and(|step| step.0 == Some(run));
        let own = &site.runs[run];
        [own.to, own.from].into_iter().find(leads)
    }

    /// The run and the thing towards the supply, one step.
    pub fn towards(&self, end: End) -> Option<(Option<usize>, Thing)> {
        let (run, from) = self.towards[self.index(end)?]?;
        Some((run, self.thing(from)))
    }
}
