//! Energy by the day: what a battery's devices take, what a panel brings, how long the dark may last.

use crate::battery::{Discharge, OnBattery};
use crate::results::Results;
use crate::site::{Battery, Site, Solar};
use crate::solve::Solver;
use crate::tables::battery as typical;
use crate::units::{Draw, ElectricPotential, Measure, Power};

/// Hours of a day.
const DAY_H: f64 = 24.0;

/// What the devices on a supply take on average from its full battery, seen from its terminals:
/// the draws alone, divided by the efficiency of each supply on the way, without the wires' share.
pub(super) fn draws(
    site: &Site,
    results: &Results,
    supply: usize,
    network: &mut OnBattery,
    solver: &mut Solver,
) -> Power {
    let Some(battery) = &site.supplies[supply].battery else {
        return Power::from_base(0.0);
    };
    let (full_v, ohm) = (battery.full.base(), battery.resistance.base());
    let Ok(solution) = network.solution(full_v, ohm, solver) else {
        return Power::from_base(0.0);
    };
    let watts = (0..site.devices.len()).filter_map(|device| {
        let share = share_of(site, results, supply, device)?;
        Some(solution.load_v[device] * solution.load_a[device] / share)
    });
    Power::from_base(watts.sum())
}

/// The share of a supply's power that arrives at a device; none where that supply does not feed it.
fn share_of(site: &Site, results: &Results, supply: usize, device: usize) -> Option<f64> {
    let (mut at, mut share) = (results.ways.supply_of(device)?, 1.0);
    // A loop of supplies that feed one another is an input error; the count is a safe bound.
    for _ in 0..=site.supplies.len() {
        if at == supply {
            return Some(share);
        }
        let fed = &site.supplies[at];
        share *= fed.efficiency.map_or(1.0, Measure::base);
        at = results.ways.supply_of(fed.fed_by?.0)?;
    }
    None
}

/// A day's energy of a battery under a panel, in watt-hours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Days {
    /// What is taken in a day, the charge controller counted.
    pub taken_wh: f64,
    /// What the battery holds when it is coldest and old, as far as it may be drawn.
    pub held_wh: f64,
}

impl Days {
    /// What is taken and held.
    ///
    /// # Source
    /// Method of IEEE 1013: daily load times days of autonomy against usable capacity. Volts stand
    /// halfway between full and empty; at such low rates nothing is lost by Peukert's law.
    pub fn of(discharge: &Discharge, battery: &Battery, solar: &Solar) -> Self {
        let volts = battery.mean_volts();
        let controller = watts(solar.controller_draw, volts);
        let held_ah = battery.left().base() / 3600.0 * battery.usable.base();
        Self {
            taken_wh: (discharge.draws.base() + controller) * DAY_H,
            held_wh: held_ah * volts.base(),
        }
    }

    /// Days that the battery bridges without sun; none where nothing is taken.
    pub fn dark(&self) -> Option<f64> {
        (self.taken_wh > 0.0).then(|| self.held_wh / self.taken_wh)
    }
}

/// What a panel brings in the worst month, in watt-hours a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Harvest {
    /// What the panel brings; none where it is not stated.
    pub brought_wh: Option<f64>,
    /// What it should bring.
    pub wanted_wh: f64,
    /// Rated watts of a panel that would.
    pub panel_w: f64,
}

impl Harvest {
    /// What the panel brings against what is taken; none where the sun is not stated.
    ///
    /// # Source
    /// Sun-hour method of IEEE 1562: panel x sun x efficiency >= array-to-load ratio x daily load.
    pub fn of(days: &Days, solar: &Solar) -> Option<Self> {
        let wanted_wh = typical::sun().array_to_load * days.taken_wh;
        let for_a_watt_wh = solar.sun?.base() * solar.efficiency.base();
        Some(Self {
            brought_wh: solar.panel.map(|panel| panel.base() * for_a_watt_wh),
            wanted_wh,
            panel_w: wanted_wh / for_a_watt_wh,
        })
    }
}

/// Watts of a draw at some volts.
fn watts(draw: Draw, volts: ElectricPotential) -> f64 {
    match draw {
        Draw::Off => 0.0,
        Draw::Current(amps) => amps.base() * volts.base(),
        Draw::Power(watts) => watts.base(),
        Draw::Apparent(va) => va.base(),
        Draw::Resistance(ohms) => volts.base().powi(2) / ohms.base(),
    }
}
