//! Supplies on their batteries: how long they last, how they end, and what their devices then have.
//!
//! The network itself is solved at every step of the discharge, since what is drawn follows the
//! volts. The supply is full - (full - empty) q behind the battery's resistance, q being the part
//! of its capacity that is drawn; how fast q grows is Peukert's law. Every other supply stays as
//! it is written.

mod course;
mod energy;
mod network;

pub use course::{Course, EndsBy};
pub use energy::{Days, Harvest};
pub use network::OnBattery;

use crate::circuit::Corner;
use crate::results::Results;
use crate::site::Site;
use crate::solve::Solver;
use crate::units::{
    ElectricCharge, ElectricCurrent, ElectricPotential, Measure, Power, Ratio, Time,
};

/// One supply on its battery, from full to the end.
#[derive(Clone, Debug, PartialEq)]
pub struct Discharge {
    /// Index of the supply.
    pub supply: usize,
    /// Capacity when coldest and old, at the stated rate.
    pub capacity: ElectricCharge,
    /// How long it lasts; `None` where it never ends, because nothing is drawn.
    pub lasts: Option<Time>,
    /// Charge that has left it by then.
    pub drawn: Option<ElectricCharge>,
    /// Amps when full; `None` without an operating point.
    pub first: Option<ElectricCurrent>,
    /// Amps at the end.
    pub last: Option<ElectricCurrent>,
    /// Volts at the supply's terminals at the end.
    pub end_volts: Option<ElectricPotential>,
    /// What ends it.
    pub ends_by: Option<EndsBy>,
    /// Part of the capacity that is left.
    pub charge_left: Option<Ratio>,
    /// By device: what it has at the end.
    pub devices: Vec<AtEnd>,
    /// Cases without an operating point at the end: which, and how much could be served.
    pub unserved: Vec<(usize, f64)>,
    /// What its devices take on average, seen from its terminals; wires left out.
    pub draws: Power,
}

/// A device at the end of a discharge.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AtEnd {
    /// Least volts over all cases in the corner low; `None` where this battery does not reach it.
    pub volts: Option<ElectricPotential>,
    /// The case in which that is.
    pub case: Option<usize>,
}

/// Every supply that has a battery, in file order.
pub fn discharges(site: &Site, results: &Results, solver: &mut Solver) -> Vec<Discharge> {
    (0..site.supplies.len())
        .filter_map(|supply| discharge(site, results, supply, solver))
        .collect()
}

/// Steps one supply down its battery.
fn discharge(
    site: &Site,
    results: &Results,
    supply: usize,
    solver: &mut Solver,
) -> Option<Discharge> {
    let battery = site.supplies[supply].battery.as_ref()?;
    let mut network = OnBattery::average(site, results, supply);
    let draws = energy::draws(site, results, supply, &mut network, solver);
    let (full_v, empty_v) = (battery.full.base(), battery.empty.base());
    let ohm = battery.resistance.base();
    let course = Course::run(battery, |q| {
        network.point(full_v - (full_v - empty_v) * q, ohm, solver)
    });
    let held = battery.disconnect.map(Measure::base).or(course.end_v);
    let (devices, unserved) = held.map_or_else(
        || (vec![AtEnd::default(); site.devices.len()], Vec::new()),
        |volts_v| at_end(site, results, (supply, volts_v), solver),
    );
    Some(Discharge {
        supply,
        capacity: battery.left(),
        lasts: course.hours.map(|h| Time::from_base(h * 3600.0)),
        drawn: course
            .amp_hours
            .map(|ah| ElectricCharge::from_base(ah * 3600.0)),
        first: course.first_a.map(ElectricCurrent::from_base),
        last: course.last_a.map(ElectricCurrent::from_base),
        end_volts: course
            .end_v
            .filter(|_| course.ends_by.is_some())
            .map(ElectricPotential::from_base),
        ends_by: course.ends_by,
        charge_left: course.ends_by.map(|_| Ratio::from_base(1.0 - course.q)),
        devices,
        unserved,
        draws,
    })
}

/// What every device has in its worst case, with the supply's terminals held at some volts.
fn at_end(
    site: &Site,
    results: &Results,
    held: (usize, f64),
    solver: &mut Solver,
) -> (Vec<AtEnd>, Vec<(usize, f64)>) {
    let mut devices = vec![AtEnd::default(); site.devices.len()];
    let mut unserved = Vec::new();
    held_at(
        site,
        results,
        held,
        Corner::Low,
        solver,
        |case, found| match found {
            Ok(volts) => {
                for (device, volts) in devices.iter_mut().zip(volts) {
                    if let Some(volts) = volts
                        && device.volts.is_none_or(|least| *volts < least)
                    {
                        *device = AtEnd {
                            volts: Some(*volts),
                            case: Some(case),
                        };
                    }
                }
            }
            Err(served) => unserved.push((case, served)),
        },
    );
    (devices, unserved)
}

/// Solves every case in a corner with a supply's terminals held at some volts, and shows the volts
/// of each device that this supply reaches and that the case does not switch off, or how much
/// could be served.
pub fn held_at(
    site: &Site,
    results: &Results,
    (supply, volts_v): (usize, f64),
    corner: Corner,
    solver: &mut Solver,
    mut each: impl FnMut(usize, Result<&[Option<ElectricPotential>], f64>),
) {
    for case in 0..results.cases.len() {
        let mut network = OnBattery::in_case(site, results, supply, (case, corner));
        match network.devices(results, volts_v, solver) {
            Ok(mut volts) => {
                for (device, state) in &results.cases[case].states {
                    if state == "off" {
                        volts[*device] = None;
                    }
                }
                each(case, Ok(&volts));
            }
            Err(served) => each(case, Err(served)),
        }
    }
}
