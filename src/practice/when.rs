//! What must be so before something is asked or warned about.

use std::cell::OnceCell;
use std::collections::HashSet;

use crate::practice::wired::{self, Ends};
use crate::site::{End, Raceway, Route, Run, Site, Supply, SupplyKind, Thing, WhichEnd};
use crate::tables::When;
use crate::units::Measure;

/// Volts over which a supply is not for this program: ac rms and dc.
const MOST_VOLTS: (f64, f64) = (30.0, 60.0);
/// Kinds that guard people from a gate, or move it.
const GATE: [&str; 4] = [OPERATOR, "photo eye", "edge", "vehicle loop"];
const OPERATOR: &str = "operator";
/// Kinds that hold a door, or let somebody out.
const LOCK: [&str; 3] = [MAGNET, "electric strike", "button"];
const MAGNET: &str = "electromagnetic lock";
/// The kind that dries and warms a box.
const HEATER: &str = "heater";

/// A site with what is asked of it more than once.
pub(super) struct Sight<'s> {
    pub(super) site: &'s Site,
    /// Things that a run outdoors reaches.
    outdoors: HashSet<Thing>,
    /// Those of the kinds below that the site has.
    kinds: Vec<&'static str>,
    /// Whether any device has a kind at all.
    any_kind: bool,
    ends: OnceCell<Ends>,
}

impl<'s> Sight<'s> {
    pub(super) fn of(site: &'s Site) -> Self {
        let kinds = || site.devices.iter().filter_map(|d| d.kind.as_deref());
        let outside = site.runs.iter().filter(|run| is_outside(run));
        let ends = outside.flat_map(|run| [run.from.thing(), run.to.thing()]);
        Self {
            site,
            outdoors: ends.collect(),
            kinds: [&GATE[..], &LOCK, &[HEATER]]
                .concat()
                .into_iter()
                .filter(|kind| kinds().any(|k| k == *kind))
                .collect(),
            any_kind: kinds().next().is_some(),
            ends: OnceCell::new(),
        }
    }

    /// Whether the site has one of some kinds of [`GATE`], [`LOCK`] and [`HEATER`].
    fn has(&self, kinds: &[&str]) -> bool {
        kinds.iter().any(|kind| self.kinds.contains(kind))
    }

    /// The ends of power runs, which not every question asks for.
    fn ends(&self) -> &Ends {
        self.ends.get_or_init(|| wired::ends(self.site))
    }

    /// Whether it is so of the whole site.
    pub(super) fn site_is(&self, when: When) -> bool {
        let site = self.site;
        let run = |is: fn(&Run) -> bool| site.runs.iter().any(is);
        let supply = |is: fn(&Supply) -> bool| site.supplies.iter().any(is);
        match when {
            When::Always => true,
            When::Outdoors => !self.outdoors.is_empty(),
            When::Buried => run(|r| r.route == Some(Route::Buried)),
            When::Overhead => run(|r| r.route == Some(Route::Overhead)),
            When::OutdoorsWithoutHeater => !self.outdoors.is_empty() && !self.has(&[HEATER]),
            When::Boxed => supply(|s| supply_is(s, When::Boxed)),
            When::BoxedWithoutBattery => supply(|s| supply_is(s, When::BoxedWithoutBattery)),
            When::OverLimits => supply(|s| supply_is(s, When::OverLimits)),
            When::BatteryBehindFireRelease
            | When::MaybeSolidState
            | When::MaybeInMetal
            | When::FeedsOthers
            | When::Crowded
            | When::MaybeAtSource => wired::anything_is(site, self.ends(), when),
            When::InputsNotDrawn => (0..site.devices.len()).any(|i| !inputs_drawn(site, i)),
            When::Parallel => run(|r| run_is(r, When::Parallel)),
            When::Wiegand => run(|r| r.carries.wiegand),
            When::DataBesideMotor => self.has(&[OPERATOR]) && run(carries_data),
            When::SplicedOutdoors => run(|r| run_is(r, When::SplicedOutdoors)),
            When::Spliced => run(|r| r.splices > 0),
            When::Drawn => self.any_kind,
            When::Mains => supply(|s| s.fed_by.is_none()),
            When::Ac => supply(|s| s.kind == SupplyKind::Ac),
            When::Battery => supply(|s| s.battery.is_some()),
            When::Poe => {
                supply(|s| s.poe.is_some()) || run(|r| r.carries.power && r.carries.ethernet)
            }
            When::Gate => self.has(&GATE),
            When::Lock => self.has(&LOCK),
            When::Earth => !site.earths.is_empty(),
        }
    }

    /// Whether it is so of one thing.
    pub(super) fn thing_is(&self, thing: Thing, when: When) -> bool {
        match (when, thing) {
            (When::Always, _) => true,
            (
                When::BatteryBehindFireRelease
                | When::MaybeSolidState
                | When::MaybeInMetal
                | When::FeedsOthers
                | When::Crowded
                | When::MaybeAtSource,
                thing,
            ) => wired::is(self.site, self.ends(), thing, when),
            (When::InputsNotDrawn, Thing::Device(i)) => !inputs_drawn(self.site, i),
            (When::DataBesideMotor, Thing::Run(i)) => {
                let run = &self.site.runs[i];
                self.has(&[OPERATOR]) && carries_data(run) && !lies_apart(self.site, run)
            }
            (When::Outdoors, thing) => self.outdoors.contains(&thing),
            (when, Thing::Run(i)) => run_is(&self.site.runs[i], when),
            (when, Thing::Supply(i)) => supply_is(&self.site.supplies[i], when),
            _ => false,
        }
    }
}

fn is_outside(run: &Run) -> bool {
    !run.carries.bond && run.is_outside()
}

/// Whether every contact run that ends at a device says what the input does that it closes.
fn inputs_drawn(site: &Site, device: usize) -> bool {
    let mut contacts = (site.runs.iter()).filter(|run| run.carries.contact && !run.carries.power);
    let ends = [WhichEnd::From, WhichEnd::To];
    let here = |run: &&Run| [run.from, run.to].contains(&End::Device(device));
    let said = |run: &Run| {
        ends.into_iter()
            .zip([run.from, run.to])
            .filter(|(_, end)| *end == End::Device(device))
            .all(|(which, _)| (site.input_at(run, which)).is_some_and(|i| i.does.is_some()))
    };
    contacts.clone().any(|run| here(&run)) && contacts.all(|run| !here(&run) || said(run))
}

/// Whether a run lies in a raceway of which the file says that no mains and no motor's leads lie in
/// it.
fn lies_apart(site: &Site, run: &Run) -> bool {
    let raceway = |r: &&Raceway| Some(&r.name) == run.raceway.as_ref();
    let own = site.raceways.iter().find(raceway);
    let motor = |other: &Run| {
        let to_operator =
            matches!(other.to, End::Device(i) if site.devices[i].kind.as_deref() == Some(OPERATOR));
        other.raceway == run.raceway && other.carries.power && to_operator
    };
    own.is_some_and(|r| r.mains_inside == Some(false)) && !site.runs.iter().any(motor)
}

fn carries_data(run: &Run) -> bool {
    let c = run.carries;
    c.wiegand || c.rs485 || c.data || c.supervised
}

fn run_is(run: &Run, when: When) -> bool {
    match when {
        When::Parallel => !run.carries.ethernet && run.parallel.max(run.minus_parallel) > 1,
        When::Wiegand => run.carries.wiegand,
        When::SplicedOutdoors => run.splices > 0 && is_outside(run),
        When::Spliced => run.splices > 0,
        _ => false,
    }
}

fn supply_is(supply: &Supply, when: When) -> bool {
    // Ports of a switch and outputs of a device have no mains in their box.
    let boxed = supply.fed_by.is_none() && supply.poe.is_none() && supply.place.is_some();
    match when {
        When::Boxed => boxed,
        When::BoxedWithoutBattery => boxed && supply.battery.is_none(),
        When::Battery => supply.battery.is_some(),
        When::OverLimits => {
            let (ac, dc) = MOST_VOLTS;
            let most = if supply.kind == SupplyKind::Ac {
                ac
            } else {
                dc
            };
            let tolerance = supply.tolerance.map_or(0.0, |t| t.value);
            let highest = supply.highest.unwrap_or(supply.voltage * (1.0 + tolerance));
            highest.base() > most + 1e-9
        }
        _ => false,
    }
}
