//! Phase angles: reactance of legs, power factors, and the volts that rectifiers lose.

use std::f64::consts::SQRT_2;

use crate::circuit::hertz::Hertz;
use crate::circuit::live::Live;
use crate::circuit::lower::{BranchId, RunBranches, Template};
use crate::circuit::{Ac, Circuit, Lag, Law};
use crate::site::{Device, Run, Site};
use crate::units::{Draw, Measure};

/// Frequency at which a cable's reactance is stated.
const STATED_AT_HZ: f64 = 60.0;

/// Adds the angles of a case to a circuit, where it has any.
///
/// `draws` are the devices' draws in the case, of which `factor` is the corner's tolerance. Sets
/// the real power of VA draws on the way: VA x power factor.
pub(crate) fn add(
    template: &Template,
    site: &Site,
    live: &Live,
    (draws, factor): (&[Draw], f64),
    circuit: &mut Circuit,
) {
    circuit.ac = None;
    let Some(hertz) = &live.hertz else {
        return;
    };
    let reactance_ohm = reactances(template, site, hertz, circuit.branches.len());
    let mut loads = Vec::with_capacity(circuit.loads.len());
    for (i, (device, draw)) in site.devices.iter().zip(draws).enumerate() {
        let whole = lag(device, hertz.devices[i]);
        let own = match *draw {
            Draw::Power(_) => whole,
            // Measured at its terminals: the diodes are part of it.
            Draw::Apparent(va) if on_ac(hertz.devices[i]) => {
                let share = device.power_factor.unwrap_or(1.0);
                circuit.loads[i].law = Law::Power(va.base() * factor * share);
                Lag {
                    lost_v: 0.0,
                    ..whole
                }
            }
            _ => Lag::default(),
        };
        loads.push(own);
    }
    let feeds: Vec<Lag> = template
        .feeders
        .iter()
        .map(|d| lag(&site.devices[*d], hertz.devices[*d]))
        .collect();
    let angled = |lag: &Lag| *lag != Lag::default();
    if reactance_ohm.iter().any(|x| *x > 0.0) || loads.iter().chain(&feeds).any(angled) {
        circuit.ac = Some(Box::new(Ac {
            reactance_ohm,
            loads,
            feeds,
        }));
    }
}

fn on_ac(hertz: Option<f64>) -> bool {
    hertz.is_some_and(|hz| hz > 0.0)
}

/// How a device's draw of watts follows its volts.
///
/// Behind diodes the reservoir stands at the peak, sqrt 2 x rms less the diodes' volts, so that
/// amps in phase = dc watts / (rms volts - diodes' volts / sqrt 2).
fn lag(device: &Device, hertz: Option<f64>) -> Lag {
    if !on_ac(hertz) {
        return Lag::default();
    }
    let share = device.power_factor.unwrap_or(1.0);
    Lag {
        vars_per_watt: (1.0 - share * share).sqrt() / share,
        lost_v: device.dc.diodes().base() / SQRT_2,
    }
}

/// Reactance by branch.
fn reactances(template: &Template, site: &Site, hertz: &Hertz, branches: usize) -> Vec<f64> {
    let mut all = vec![0.0; branches];
    for (run, own) in site.runs.iter().zip(&template.runs) {
        let legs = [own.plus, own.minus, own.common, own.shield];
        for (branch, ohm) in legs.into_iter().zip(run_reactance(site, run, hertz, *own)) {
            if let Some(branch) = branch {
                all[branch] = ohm;
            }
        }
    }
    all
}

/// Ohms of reactance of the branches of a run: ohms per length x length / conductors, scaled to
/// the frequency of what drives current there; plus or bond, minus, common, shield.
pub fn run_reactance(site: &Site, run: &Run, hertz: &Hertz, own: RunBranches) -> [f64; 4] {
    let Some(one) = of_one(site, run) else {
        return [0.0; 4];
    };
    let plus = if run.carries.bond { 1 } else { run.parallel };
    let ohm = |branch: Option<BranchId>, conductors: u32| {
        let hertz = branch.and_then(|b| hertz.branches[b]).unwrap_or(0.0);
        one * hertz / STATED_AT_HZ / f64::from(conductors.max(1))
    };
    [
        ohm(own.plus, plus),
        ohm(own.minus, run.minus_parallel),
        ohm(own.common, 1),
        0.0,
    ]
}

/// Ohms of reactance of one conductor of a run at the frequency it is stated at.
fn of_one(site: &Site, run: &Run) -> Option<f64> {
    let cable = run.cable(site).filter(|_| run.resistance.is_none())?;
    Some(cable.reactance?.base() * run.length.base())
}
