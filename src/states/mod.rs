//! The worst over all states: every combination of what the devices draw and how relays stand.
//!
//! A site is taken apart into clusters that do not feel one another (`edges`, `blocks`, `cluster`). One
//! that is a tree of lines needs no search (`radial`). Any other is measured once as its loads
//! see it (`ports`), so that a combination becomes a small dense problem (`point`) and many
//! combinations can be enclosed at once (`range`); on that stands branch and bound (`search`).
//! `hunt` asks each cluster for everything, `gather` puts them together again. A site with phase
//! angles, or with a supply behind a diode or a limiter, is not taken apart (`whole`).

mod blocks;
mod choices;
mod cluster;
mod dense;
mod edges;
mod enclose;
mod found;
mod gather;
mod hunt;
mod monotone;
mod of_ports;
mod of_tree;
mod point;
mod ports;
mod probe;
mod radial;
mod range;
mod search;
mod served;
mod sets;
mod span;
mod tree;
mod whole;

use std::borrow::Cow;
use std::sync::Arc;

use crate::circuit::{Corner, Template};
use crate::site::{Case, Part, Site, Supply};
use crate::solve::Solver;
use crate::states::choices::Choices;
use crate::units::{ElectricCurrent, ElectricPotential};

/// The worst over all combinations of states.
#[derive(Clone, Debug, PartialEq)]
pub struct AllStates {
    /// Nothing worse exists: shown by bounds and search. Else the worst of what was tried.
    pub proven: bool,
    /// How many combinations there are; `None` where that is beyond counting.
    pub combinations: Option<f64>,
    /// How many of them were solved.
    pub solved: u64,
    /// The combination without operating point that can be served least.
    pub unserved: Option<Unserved>,
    /// By device: its least volts (corner low) and most volts (corner high) where it draws.
    pub devices: Vec<Window>,
    /// By supply: its most amps.
    pub supplies: Vec<Option<Worst<ElectricCurrent>>>,
    /// By supply: its most amps while nothing is in its inrush.
    pub steady: Vec<Option<Worst<ElectricCurrent>>>,
    /// By supply and output: most amps.
    pub outputs: Vec<Vec<Option<Worst<ElectricCurrent>>>>,
    /// By fuse: most amps; `None` where no run passes it.
    pub fuses: Vec<Option<Worst<ElectricCurrent>>>,
    /// Contacts that runs pass, in file order, with their most amps.
    pub contacts: Vec<(Part, Option<Worst<ElectricCurrent>>)>,
    /// By run: the most amps in any of its conductors.
    pub runs: Vec<Option<Worst<ElectricCurrent>>>,
}

/// A worst value and where it is found.
#[derive(Clone, Debug, PartialEq)]
pub struct Worst<Q> {
    /// The value.
    pub value: Q,
    /// The corner.
    pub corner: Corner,
    /// The combination; one may be the worst of many things.
    pub state: Arc<Combination>,
}

/// Least and most volts of a device; `None` where no combination has it draw.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Window {
    /// Least volts, in the corner low.
    pub least: Option<Worst<ElectricPotential>>,
    /// Most volts, in the corner high.
    pub most: Option<Worst<ElectricPotential>>,
}

/// A combination that cannot be served.
#[derive(Clone, Debug, PartialEq)]
pub struct Unserved {
    /// The combination.
    pub state: Combination,
    /// The corner.
    pub corner: Corner,
    /// The load that is worst off.
    pub device: Option<usize>,
    /// Largest factor on all A and W draws that still has an operating point.
    pub served: f64,
}

/// What is not idle, and how relays that switch over stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Combination {
    /// Devices that are not idle, in file order: index of one of their draws; `None` is off.
    pub draws: Vec<(usize, Option<usize>)>,
    /// Relays that are pulled: device, relay.
    pub pulled: Vec<(usize, usize)>,
    /// All relays that switch over.
    relays: Arc<[(usize, usize)]>,
}

/// How far a search goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// To the end for up to eight devices, however long that takes; else as far as a fixed amount
    /// of work goes.
    Proof,
    /// As far as that amount of work goes, for somebody who waits at a screen.
    Screen,
}

impl AllStates {
    /// Searches a site.
    pub fn of(site: &Site, reach: Reach, solver: &mut Solver) -> Self {
        let template = Template::of(site);
        let choices = Choices::of(site);
        let mut search = |choices: &Choices| {
            if whole::has_angles(site) || site.supplies.iter().any(Supply::is_restrained) {
                whole::all_states(site, choices, reach, solver)
            } else {
                gather::all_states(site, &template, choices, reach, solver)
            }
        };
        let mut all = search(&choices);
        if let Some(steady) = choices.without(site, "inrush") {
            let calm = search(&steady);
            all.proven &= calm.proven;
            all.solved += calm.solved;
            all.steady = calm.supplies;
        }
        all
    }
}

impl Combination {
    /// Names and states of the devices that are not idle, and of all relays that switch over.
    pub fn named<'a>(&'a self, site: &'a Site) -> impl Iterator<Item = (Cow<'a, str>, &'a str)> {
        let devices = self.draws.iter().map(|(d, key)| {
            let name = site.devices[*d].name.as_str();
            (Cow::Borrowed(name), state(site, *d, *key))
        });
        let relays = self.relays.iter().map(|relay| {
            let state = if self.pulled.contains(relay) {
                "pulled"
            } else {
                "rest"
            };
            (Cow::Owned(relay_name(site, *relay)), state)
        });
        devices.chain(relays)
    }

    /// The combination in words: what is not idle and what is pulled.
    pub fn words(&self, site: &Site) -> String {
        let devices = self
            .draws
            .iter()
            .map(|(d, key)| format!("{} {}", site.devices[*d].name, state(site, *d, *key)));
        let relays = self
            .pulled
            .iter()
            .map(|r| format!("{} pulled", relay_name(site, *r)));
        let all: Vec<String> = devices.chain(relays).collect();
        if all.is_empty() {
            "all idle".into()
        } else {
            all.join(", ")
        }
    }

    /// The combination as a case.
    pub fn case(&self, site: &Site) -> Case {
        let states = self
            .draws
            .iter()
            .map(|(d, key)| (*d, state(site, *d, *key).to_owned()));
        let relays = self
            .relays
            .iter()
            .map(|(d, r)| (*d, *r, self.pulled.contains(&(*d, *r))));
        Case {
            name: self.words(site),
            states: states.collect(),
            relays: relays.collect(),
            broken: Vec::new(),
            fitted: Vec::new(),
            temperature: None,
        }
    }
}

fn state(site: &Site, device: usize, key: Option<usize>) -> &str {
    key.map_or("off", |k| site.devices[device].draw[k].0.as_str())
}

fn relay_name(site: &Site, (device, relay): (usize, usize)) -> String {
    let device = &site.devices[device];
    format!("{}.{}", device.name, device.relays[relay].name)
}
