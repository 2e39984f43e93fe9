//! What charging does: volts in the cold, amps, and how long it takes.

use super::One;
use crate::battery;
use crate::checks::{Check, Finding, Look};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::site::Thing;
use crate::solve::Solver;
use crate::units::Measure;

pub(crate) const CHARGE: Check = Check {
    code: "charge-volts",
    question: "does this device get too much voltage while the battery is charged in the cold?",
    formula: "charge + slope x (25 C - coldest) <= highest of the device",
    source: "3 mV a cell and degree where silent (from memory); common practice, no source",
};
pub(crate) const CHARGER: Check = Check {
    code: "charge-amps",
    question: "does the panel charge the battery neither too fast nor too slowly?",
    formula: "0.1 x Ah <= amps of the panel = watts / charge volts <= 0.25 x Ah",
    source: "common practice, no source",
};
pub(crate) const RECHARGE: Check = Check {
    code: "battery-recharge",
    question: "is the battery full again soon enough after it was used?",
    formula: "80 % of Ah x 1.15 / 24 h + amps of the devices <= rated amps",
    source: "80 % in 24 h: EN 54-4 by analogy (secondary copy seen); charge factor 1.10 to 1.20 (from memory)",
};

/// Share of the capacity that charges well in an hour, least and most.
const CHARGE_RATES: [f64; 2] = [0.1, 0.25];
/// Charge that goes in for what comes out.
const CHARGE_FACTOR: f64 = 1.15;

pub(super) fn check(look: &Look<'_>, one: &One<'_>, solver: &mut Solver, found: &mut Vec<Finding>) {
    volts(look, one, solver, found);
    found.extend(amps(one));
    found.extend(again(one));
}

/// A device counts where it gets too much in some case, wires counted, corner high.
fn volts(look: &Look<'_>, one: &One<'_>, solver: &mut Solver, found: &mut Vec<Finding>) {
    let Some(charge) = one.battery.charge_when_cold().map(Measure::base) else {
        return;
    };
    let devices = &look.site.devices;
    if devices
        .iter()
        .all(|d| d.highest.is_none_or(|h| h.base() >= charge))
    {
        return;
    }
    let mut most: Vec<Option<(f64, usize)>> = vec![None; devices.len()];
    let held = (one.discharge.supply, charge);
    battery::held_at(
        look.site,
        look.results,
        held,
        Corner::High,
        solver,
        |case, solved| {
            for (most, volts) in most.iter_mut().zip(solved.unwrap_or_default()) {
                if let Some(volts) = volts.map(Measure::base)
                    && most.is_none_or(|(m, _)| volts > m)
                {
                    *most = Some((volts, case));
                }
            }
        },
    );
    let celsius = one.battery.coldest.base() - 273.15;
    for (i, device) in devices.iter().enumerate() {
        let (Some(highest), Some((volts, case))) = (device.highest.map(Measure::base), most[i])
        else {
            continue;
        };
        if volts <= highest + 1e-9
            || found
                .iter()
                .any(|f| f.code == CHARGE.code && f.subject == device.name)
        {
            continue;
        }
        let message = format!(
            "{} gets up to {volts:.2} V while the battery of {} is charged at {celsius:.0} C with {charge:.2} V; its highest is {highest} V",
            device.name, one.supply.name
        );
        let mut finding = CHARGE
            .finding(Severity::Warn, &device.name, message)
            .about(Thing::Device(i));
        (finding.case, finding.corner) = (Some(case), Some(Corner::High));
        let at_25 = one.battery.charge.map_or(charge, Measure::base);
        found.push(finding.measured(charge, highest, "V").put_in(format!(
            "{at_25} V + {:.1} mV x (25 - {celsius:.0}) = {charge:.3} V at the terminals, {volts:.3} V at the device > {highest:.3} V",
            one.battery.charge_slope.base() * 1e3,
        )));
    }
}

fn amps(one: &One<'_>) -> Option<Finding> {
    let panel = one.supply.solar.as_ref()?.panel?.base();
    let volts = one.battery.charge.unwrap_or(one.battery.full).base();
    let (amps, ah) = (panel / volts, one.battery.capacity.base() / 3600.0);
    let [least, most] = CHARGE_RATES.map(|rate| rate * ah);
    let (word, limit, sign) = if amps < least - 1e-9 {
        ("slowly: it may never come full", least, '<')
    } else if amps > most + 1e-9 {
        ("fast: it gases and dries out", most, '>')
    } else {
        return None;
    };
    let name = &one.supply.name;
    let message = format!("the panel of {name} gives its battery up to {amps:.2} A, {word}");
    let finding = CHARGER
        .finding(Severity::Note, name, message)
        .about(Thing::Supply(one.discharge.supply))
        .measured(amps, limit, "A")
        .put_in(format!(
            "{panel} W / {volts:.2} V = {amps:.3} A {sign} {limit:.3} A"
        ));
    Some(if amps < limit {
        finding.lower_is_worse()
    } else {
        finding
    })
}

/// A supply without a panel charges with what its devices leave of its rating.
fn again(one: &One<'_>) -> Option<Finding> {
    if one.supply.solar.is_some() {
        return None;
    }
    let rated = one.supply.current?.base();
    let standing = one.discharge.first?.base();
    let charging = 0.8 * one.battery.capacity.base() / 3600.0 * CHARGE_FACTOR / 24.0;
    let wanted = charging + standing;
    if wanted <= rated + 1e-9 {
        return None;
    }
    let name = &one.supply.name;
    let message = format!(
        "{name} leaves its battery {:.2} A of its {rated} A: it is not 80 % full again within a day",
        (rated - standing).max(0.0)
    );
    let finding = RECHARGE
        .finding(Severity::Note, name, message)
        .about(Thing::Supply(one.discharge.supply));
    Some(finding.measured(wanted, rated, "A").put_in(format!(
        "{charging:.3} A + {standing:.3} A = {wanted:.3} A > {rated} A"
    )))
}
