//! Dc volts behind a rectifier, with nothing drawn and with everything drawn, and its pulses.

use std::f64::consts::SQRT_2;

use crate::checks::{Check, Finding, Look, greatest};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Rectifier, Thing};
use crate::units::Measure;

pub(crate) const HIGH: Check = Check {
    code: "dc-over",
    question: "does the dc behind a rectifier rise too high when nothing is drawn?",
    formula: "sqrt 2 x volts of the supply without load - volts of the diodes <= dc_highest",
    source: "the peak of a sine; dc_highest from the device's own data",
};
pub(crate) const LOW: Check = Check {
    code: "dc-under",
    question: "is there still enough dc behind the rectifier when everything is drawn?",
    formula: "least dc volts, in the valley of the ripple, >= dc_lowest",
    source: "periodic state of sine, wire, diodes, reservoir and a constant power; dc_lowest from the device's own data",
};
pub(crate) const WINDOW: Check = Check {
    code: "no-dc-window",
    question: "how many dc volts does this device bear behind its rectifier?",
    formula: "dc volts <= dc_highest",
    source: "the device's own data; unknown never passes",
};
pub(crate) const PULSES: Check = Check {
    code: "pulse-amps",
    question: "how many amps flow in the wire for each ampere of dc?",
    formula: "rms amps of the pulses / mean amps of the dc",
    source: "periodic state of sine, wire, diodes, reservoir and a constant power",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, device) in look.devices() {
        let on_ac = |row: &Row| look.results.on_ac(row, Thing::Device(i));
        if device.dc.is_rectified() && look.results.rows.iter().any(on_ac) {
            found.extend(high(look, i));
            found.extend(low(look, i));
            found.extend(window(look, i));
            found.extend(pulses(look, i));
        }
    }
}

/// Dc volts of a device with nothing drawn anywhere, in a corner.
fn light(look: &Look<'_>, i: usize, corner: Corner) -> Option<f64> {
    let supply = &look.site.supplies[look.results.ways.supply_of(i)?];
    let diodes = look.site.devices[i].dc.diodes().base();
    Some(SQRT_2 * corner.volts(supply).base() - diodes)
}

fn high(look: &Look<'_>, i: usize) -> Option<Finding> {
    let device = &look.site.devices[i];
    let highest = device.dc.highest?.base();
    let (nominal, most) = (
        light(look, i, Corner::Nominal)?,
        light(look, i, Corner::High)?,
    );
    if most <= highest + 1e-9 {
        return None;
    }
    let severity = if nominal > highest {
        Severity::Stop
    } else {
        Severity::Fail
    };
    let supply = &look.site.supplies[look.results.ways.supply_of(i)?];
    let open = Corner::High.volts(supply).base();
    let message = format!(
        "{} makes {most:.1} V dc when nothing is drawn ({nominal:.1} V at nominal volts), its highest is {highest} V",
        device.name
    );
    let mut finding = HIGH
        .finding(severity, &device.name, message)
        .about(Thing::Device(i));
    finding.corner = Some(Corner::High);
    Some(finding.measured(most, highest, "V").put_in(format!(
        "sqrt 2 x {open:.3} V - {:.2} V = {most:.3} V > {highest} V",
        device.dc.diodes().base()
    )))
}

fn low(look: &Look<'_>, i: usize) -> Option<Finding> {
    let device = &look.site.devices[i];
    let lowest = device.dc.lowest?.base();
    let least = |row: &Row| {
        let behind = look.results.rectified(row, i)?;
        Some(-behind.least().map_or(0.0, Measure::base))
    };
    let rows = look.results.rows.iter().filter(|row| !look.is_off(row, i));
    let (least, row) = greatest(rows, least)?;
    let volts = -least;
    if volts >= lowest - 1e-9 {
        return None;
    }
    let behind = look.results.rectified(row, i)?;
    let message = if behind.steady.is_some() {
        format!(
            "{} has {volts:.2} V dc in the valley of its ripple, {:.2} V under its lowest {lowest} V",
            device.name,
            lowest - volts
        )
    } else {
        format!(
            "{} cannot draw {:.2} W of dc behind its rectifier: the volts collapse",
            device.name, behind.pulse.watts
        )
    };
    let pulse = behind.pulse;
    let finding = LOW
        .finding(Severity::Fail, &device.name, message)
        .about(Thing::Device(i))
        .at(row);
    let numbers = format!(
        "{:.2} V rms behind {:.3} ohm, diodes {:.2} V, {:.2} W of dc: {volts:.2} V < {lowest} V",
        pulse.open_v, pulse.ohm, pulse.lost_v, pulse.watts
    );
    Some(
        finding
            .measured(volts, lowest, "V")
            .put_in(numbers)
            .lower_is_worse(),
    )
}

fn window(look: &Look<'_>, i: usize) -> Option<Finding> {
    let device = &look.site.devices[i];
    let missing = match (device.dc.lowest, device.dc.highest) {
        (Some(_), Some(_)) => return None,
        (None, Some(_)) => "dc_lowest",
        (Some(_), None) => "dc_highest",
        (None, None) => "dc_lowest and no dc_highest",
    };
    let message = format!(
        "{} has a rectifier and no {missing}: nothing judges its dc volts there; read them off its label or data sheet",
        device.name
    );
    let finding = WINDOW.finding(Severity::Ask, &device.name, message);
    Some(finding.about(Thing::Device(i)))
}

/// What the wire carries at the greatest dc watts, at nominal volts.
fn pulses(look: &Look<'_>, i: usize) -> Option<Finding> {
    let device = &look.site.devices[i];
    let nominal = || {
        look.results
            .rows
            .iter()
            .filter(|r| r.corner == Corner::Nominal)
    };
    let watts = |row: &Row| Some(look.results.rectified(row, i)?.pulse.watts);
    let (full, _) = greatest(nominal(), watts)?;
    let rows = || nominal().filter(|row| watts(row).is_some_and(|w| w > 0.99 * full));
    let factor = |row: &Row| look.results.rectified(row, i)?.factor();
    let (most, row) = greatest(rows(), factor)?;
    let least = rows().filter_map(factor).fold(most, f64::min);
    let steady = look.results.rectified(row, i)?.steady?;
    let reservoir = match (device.dc.reservoir, device.dc.rectifier) {
        (_, Rectifier::Unknown) => ", taken for a bridge",
        (None, _) => ", its reservoir taken for endless",
        _ => "",
    };
    let range = if most - least < 0.005 {
        format!("{most:.2}")
    } else {
        format!("{least:.2} to {most:.2}")
    };
    let message = format!(
        "at {full:.2} W of dc the wire to {} carries {range} times its dc amps, in pulses{reservoir}",
        device.name
    );
    let mut finding = PULSES
        .finding(Severity::Note, &device.name, message)
        .about(Thing::Device(i))
        .at(row)
        .put_in(format!(
            "{:.3} A rms / {:.3} A dc = {most:.2}; peak {:.2} A, dc {:.2} to {:.2} V",
            steady.rms_a, steady.dc_a, steady.peak_a, steady.least_v, steady.most_v
        ));
    finding.value = Some(most);
    finding.unit = Some("x");
    Some(finding)
}
