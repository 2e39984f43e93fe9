//! What can be set: one draw of every device, and relays that switch over.

use std::collections::{BTreeMap, HashMap};

use crate::site::{Part, Site, Throw};
use crate::units::Draw;

/// Past this many ways of keeping exclusive states apart, combinations are not counted.
const MOST_WAYS: usize = 100_000;

/// What the things of a site can be set to.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Choices {
    /// By device: idle first, the other keys in file order, off last.
    pub(super) devices: Vec<Vec<Choice>>,
    /// By device: idle, or off where it has no such draw.
    idle: Vec<usize>,
    /// By device: its choice where it does not matter.
    rest: Vec<usize>,
    /// Of the choices of one list, as device and choice, no two stand together.
    pub(super) exclusive: Vec<Vec<(usize, usize)>>,
    /// Relays both of whose contacts are used: device, relay.
    pub(super) relays: Vec<(usize, usize)>,
}

/// One thing that a device can draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Choice {
    /// Index into the device's draws; `None` is off.
    pub(super) key: Option<usize>,
    /// What is drawn.
    pub(super) draw: Draw,
}

impl Choices {
    /// Reads them off a site.
    pub(super) fn of(site: &Site) -> Self {
        let devices: Vec<Vec<Choice>> = site
            .devices
            .iter()
            .map(|device| {
                let mut keys: Vec<usize> = (0..device.draw.len())
                    .filter(|k| device.draw[*k].0 != "average")
                    .collect();
                keys.sort_by_key(|k| device.draw[*k].0 != "idle");
                let drawn = keys.into_iter().map(|k| Choice {
                    key: Some(k),
                    draw: device.draw[k].1,
                });
                let off = Choice {
                    key: None,
                    draw: Draw::Off,
                };
                drawn.chain([off]).collect()
            })
            .collect();
        let place = |(device, state): &(usize, String)| {
            let named = |c: &Choice| match c.key {
                Some(k) => site.devices[*device].draw[k].0 == *state,
                None => state == "off",
            };
            let choice = devices[*device].iter().position(named)?;
            Some((*device, choice))
        };
        let exclusive = site
            .exclusive
            .iter()
            .map(|e| e.states.iter().filter_map(place).collect())
            .collect::<Vec<Vec<(usize, usize)>>>();
        let idle: Vec<usize> = (0..devices.len())
            .map(|d| {
                let has = site.devices[d]
                    .draw
                    .iter()
                    .any(|(state, _)| state == "idle");
                if has { 0 } else { devices[d].len() - 1 }
            })
            .collect();
        let rest = |d: usize| {
            let off = devices[d].len() - 1;
            let free = |c: &usize| !exclusive.iter().flatten().any(|place| *place == (d, *c));
            [idle[d], off]
                .into_iter()
                .chain(0..off)
                .find(free)
                .unwrap_or(idle[d])
        };
        Self {
            rest: (0..devices.len()).map(rest).collect(),
            idle,
            exclusive,
            relays: two_way(site),
            devices,
        }
    }

    /// What a device does where it does not matter: idle, or off where it has no such draw; what
    /// no exclusive list names goes before both.
    pub(super) fn rest(&self, device: usize) -> usize {
        self.rest[device]
    }

    /// The same without one state of all devices; `None` where none draws in it.
    pub(super) fn without(&self, site: &Site, state: &str) -> Option<Self> {
        let named =
            |d: usize, c: &Choice| c.key.is_some_and(|k| site.devices[d].draw[k].0 == state);
        let mut less = self.clone();
        let mut found = false;
        for (d, choices) in self.devices.iter().enumerate() {
            let Some(gone) = choices
                .iter()
                .position(|c| named(d, c) && c.draw != Draw::Off)
            else {
                continue;
            };
            found = true;
            less.devices[d].remove(gone);
            let after = |c: usize| c - usize::from(c > gone);
            less.idle[d] = after(self.idle[d]);
            less.rest[d] = if self.rest[d] == gone {
                less.idle[d]
            } else {
                after(self.rest[d])
            };
            for list in &mut less.exclusive {
                list.retain(|place| *place != (d, gone));
                list.iter_mut()
                    .filter(|(e, _)| *e == d)
                    .for_each(|(_, c)| *c = after(*c));
            }
        }
        found.then_some(less)
    }

    /// Whether no exclusive list forbids a choice of every device.
    pub(super) fn allow(&self, places: &[usize]) -> bool {
        self.exclusive.iter().all(|list| {
            let mut chosen = list.iter().filter(|(d, c)| places[*d] == *c);
            let first = chosen.next();
            chosen.all(|(d, _)| first.is_some_and(|(e, _)| d == e))
        })
    }

    /// Whether a choice is what a device does when it is idle.
    pub(super) fn is_idle(&self, device: usize, choice: usize) -> bool {
        choice == self.idle[device]
    }

    /// How many combinations there are; `None` where that is too much to count.
    pub(super) fn count(&self) -> Option<f64> {
        let mut ways = self.ways_of_exclusive()?;
        let bound: Vec<bool> = self.bound();
        for (device, choices) in self.devices.iter().enumerate() {
            if !bound[device] {
                ways *= choices.len() as f64;
            }
        }
        ways *= 2_f64.powi(i32::try_from(self.relays.len()).ok()?);
        ways.is_finite().then_some(ways)
    }

    /// By device: some exclusive list names it.
    fn bound(&self) -> Vec<bool> {
        let mut bound = vec![false; self.devices.len()];
        for (device, _) in self.exclusive.iter().flatten() {
            bound[*device] = true;
        }
        bound
    }

    /// The ways to set all devices that exclusive lists name, device by device: what counts of
    /// those before is which lists are taken, as long as later devices stand in them.
    fn ways_of_exclusive(&self) -> Option<f64> {
        let mut last = vec![0; self.exclusive.len()];
        let mut lists: HashMap<(usize, usize), Vec<usize>> = HashMap::new();
        for (l, list) in self.exclusive.iter().enumerate() {
            for place in list {
                last[l] = last[l].max(place.0);
                lists.entry(*place).or_default().push(l);
            }
        }
        let mut ways = BTreeMap::from([(Vec::<usize>::new(), 1.0_f64)]);
        let bound = self.bound();
        for device in (0..self.devices.len()).filter(|d| bound[*d]) {
            let mut next: BTreeMap<Vec<usize>, f64> = BTreeMap::new();
            for (taken, count) in &ways {
                for choice in 0..self.devices[device].len() {
                    let mine = lists.get(&(device, choice)).map_or(&[][..], Vec::as_slice);
                    if mine.iter().any(|l| taken.contains(l)) {
                        continue;
                    }
                    let mut all: Vec<usize> = taken.iter().chain(mine).copied().collect();
                    all.retain(|l| last[*l] > device);
                    all.sort_unstable();
                    all.dedup();
                    *next.entry(all).or_default() += count;
                }
            }
            if next.len() > MOST_WAYS {
                return None;
            }
            ways = next;
        }
        Some(ways.values().sum())
    }
}

/// The relays whose normally open and normally closed contacts both stand in some `through`.
fn two_way(site: &Site) -> Vec<(usize, usize)> {
    let stands = |wanted: Part| site.runs.iter().any(|run| run.through.contains(&wanted));
    let mut found = Vec::new();
    for (d, device) in site.devices.iter().enumerate() {
        for r in 0..device.relays.len() {
            if stands(Part::Contact(d, r, Throw::Open))
                && stands(Part::Contact(d, r, Throw::Closed))
            {
                found.push((d, r));
            }
        }
    }
    found
}
