//! A site with phase angles, diodes or limiters as a whole, one combination after the other:
//! phasors do not add up from part to part, a supply that blocks or limits changes what every part
//! feels, and what bounds a linear network does not bound them.

use std::sync::Arc;

use crate::circuit::Corner;
use crate::results::{Results, Row};
use crate::site::{Case, Part, Site, SupplyKind, Throw};
use crate::solve::{Outcome, Solver};
use crate::states::choices::Choices;
use crate::states::cluster::CORNERS;
use crate::states::point::draws;
use crate::states::{AllStates, Combination, Reach, Unserved, Window, Worst};
use crate::units::{ElectricCurrent, Measure};

/// Combinations that are tried where not all are.
const SOME: usize = 500;
/// Up to this many devices all combinations are tried, however long that takes.
const ALWAYS_PROVEN: usize = 8;
/// Combinations solved at a time.
const AT_ONCE: usize = 16;

/// Whether some combination may have angles.
pub(super) fn has_angles(site: &Site) -> bool {
    let ac = |kind| kind == SupplyKind::Ac;
    let angled = site
        .devices
        .iter()
        .any(|d| d.dc.is_rectified() || d.power_factor.is_some_and(|share| share < 1.0));
    let reactive = || site.cables.iter().any(|cable| cable.reactance.is_some());
    site.supplies.iter().any(|s| ac(s.kind)) && (angled || reactive())
}

/// Searches a site with angles: all combinations of few, the first of many.
pub(super) fn all_states(
    site: &Site,
    choices: &Choices,
    reach: Reach,
    solver: &mut Solver,
) -> AllStates {
    let count = choices.count();
    let endless = reach == Reach::Proof && site.devices.len() <= ALWAYS_PROVEN;
    let proven = endless || count.is_some_and(|count| count <= SOME as f64);
    let most = if proven { usize::MAX } else { SOME };
    let mut all = nothing(site, proven, count);
    let mut combinations = Combinations::of(choices).take(most).peekable();
    while combinations.peek().is_some() {
        let some = combinations.by_ref().take(AT_ONCE);
        let some: Vec<Arc<Combination>> = some.map(Arc::new).collect();
        let cases: Vec<Case> = some.iter().map(|c| c.case(site)).collect();
        // What is served counts where it is less than what is known.
        solver.tell_under(all.unserved.as_ref().map_or(1.0, |known| known.served));
        let results = Results::in_corners((site, cases), &CORNERS, solver, None);
        all.solved += results.rows.len() as u64;
        for row in &results.rows {
            Noting {
                site,
                results: &results,
                row,
                state: &some[row.case],
            }
            .note(&mut all);
        }
    }
    solver.tell_all();
    all.steady.clone_from(&all.supplies);
    all
}

fn nothing(site: &Site, proven: bool, combinations: Option<f64>) -> AllStates {
    let outputs = site.supplies.iter().map(|s| vec![None; s.outputs.len()]);
    AllStates {
        proven,
        combinations,
        solved: 0,
        unserved: None,
        devices: vec![Window::default(); site.devices.len()],
        supplies: vec![None; site.supplies.len()],
        steady: Vec::new(),
        outputs: outputs.collect(),
        fuses: vec![None; site.fuses.len()],
        contacts: contacts(site).map(|part| (part, None)).collect(),
        runs: vec![None; site.runs.len()],
    }
}

/// Contacts that runs pass, in file order.
pub(super) fn contacts(site: &Site) -> impl Iterator<Item = Part> + '_ {
    let all = site.devices.iter().enumerate().flat_map(|(d, device)| {
        (0..device.relays.len()).flat_map(move |r| {
            [Throw::Bare, Throw::Open, Throw::Closed].map(|throw| Part::Contact(d, r, throw))
        })
    });
    all.filter(|part| site.runs.iter().any(|run| run.through.contains(part)))
}

/// One combination, solved in one corner.
struct Noting<'a> {
    site: &'a Site,
    results: &'a Results,
    row: &'a Row,
    state: &'a Arc<Combination>,
}

impl Noting<'_> {
    fn note(&self, all: &mut AllStates) {
        let (results, row) = (self.results, self.row);
        if let Outcome::Unserved(unserved) = &row.outcome {
            if (all.unserved.as_ref()).is_none_or(|known| unserved.served < known.served) {
                let short = results.shortfall(self.site, row);
                all.unserved = Some(Unserved {
                    state: Combination::clone(self.state),
                    corner: row.corner,
                    device: short.and_then(|short| short.device),
                    served: unserved.served,
                });
            }
            return;
        }
        for (d, window) in all.devices.iter_mut().enumerate() {
            let Some(working) = results.device(row, d).filter(|_| draws(row.laws[d])) else {
                continue;
            };
            match row.corner {
                Corner::Low => self.worse(&mut window.least, working.volts, -1.0),
                Corner::High => self.worse(&mut window.most, working.volts, 1.0),
                Corner::Heavy | Corner::Nominal => {}
            }
        }
        if row.corner == Corner::High {
            return;
        }
        for (s, best) in all.supplies.iter_mut().enumerate() {
            self.more(best, results.supply_rms(row, s));
        }
        for (s, outputs) in all.outputs.iter_mut().enumerate() {
            for (o, best) in outputs.iter_mut().enumerate() {
                self.more(best, results.output_rms(self.site, row, (s, o)));
            }
        }
        let part = |part| {
            let branch = results.template.part(part)?;
            results.part_rms(self.site, row, (part, branch))
        };
        for (f, best) in all.fuses.iter_mut().enumerate() {
            self.more(best, part(Part::Fuse(f)));
        }
        for (contact, best) in &mut all.contacts {
            self.more(best, part(*contact));
        }
        for (r, best) in all.runs.iter_mut().enumerate() {
            let Some(flow) = results.run(self.site, row, r) else {
                continue;
            };
            for amps in [flow.amps, flow.return_amps, flow.common_amps] {
                self.more(best, amps.map(|amps| results.leg_rms(row, r, amps)));
            }
        }
    }

    fn more(&self, best: &mut Option<Worst<ElectricCurrent>>, amps: Option<f64>) {
        if let Some(amps) = amps {
            self.worse(best, ElectricCurrent::from_base(amps), 1.0);
        }
    }

    /// Keeps the worse of two values; `sign`: 1 where more is worse.
    fn worse<Q: Measure>(&self, best: &mut Option<Worst<Q>>, value: Q, sign: f64) {
        let beats = |known: &Worst<Q>| sign * value.base() > sign * known.value.base();
        if best.as_ref().is_none_or(beats) {
            *best = Some(Worst {
                value,
                corner: self.row.corner,
                state: Arc::clone(self.state),
            });
        }
    }
}

/// Every combination that no exclusive list forbids, all idle first.
struct Combinations<'a> {
    choices: &'a Choices,
    relays: Arc<[(usize, usize)]>,
    /// By device: its place among its choices; by relay: whether it is pulled. `None` at the end.
    at: Option<(Vec<usize>, Vec<bool>)>,
}

impl<'a> Combinations<'a> {
    fn of(choices: &'a Choices) -> Self {
        Self {
            choices,
            relays: choices.relays.as_slice().into(),
            at: Some((
                vec![0; choices.devices.len()],
                vec![false; choices.relays.len()],
            )),
        }
    }

    /// The next one, allowed or not.
    fn step(&mut self) {
        let Some((places, pulled)) = &mut self.at else {
            return;
        };
        for relay in pulled {
            *relay = !*relay;
            if *relay {
                return;
            }
        }
        for (place, all) in places.iter_mut().zip(&self.choices.devices) {
            *place += 1;
            if *place < all.len() {
                return;
            }
            *place = 0;
        }
        self.at = None;
    }
}

impl Iterator for Combinations<'_> {
    type Item = Combination;

    fn next(&mut self) -> Option<Combination> {
        loop {
            let (places, pulled) = self.at.as_ref()?;
            let found = self.choices.allow(places).then(|| {
                let draws = places.iter().enumerate();
                let not_idle = draws.filter(|(d, place)| !self.choices.is_idle(*d, **place));
                let relays = self.relays.iter().zip(pulled);
                Combination {
                    draws: not_idle
                        .map(|(d, place)| (d, self.choices.devices[d][*place].key))
                        .collect(),
                    pulled: relays
                        .filter(|(_, pulled)| **pulled)
                        .map(|(relay, _)| *relay)
                        .collect(),
                    relays: Arc::clone(&self.relays),
                }
            });
            self.step();
            if found.is_some() {
                return found;
            }
        }
    }
}
