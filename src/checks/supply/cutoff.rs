//! Devices that give up below some volts: whether they come back and fall again, and whether they
//! get through their start.

use crate::checks::{Check, Finding, Look};
use crate::circuit::{Circuit, Corner, Law, law_of};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Device, Thing};
use crate::solve::{Outcome, Solver};
use crate::units::{Draw, Measure};

pub(crate) const LOOP: Check = Check {
    code: "reboot-loop",
    question: "does the device start, pull its own volts down and start again?",
    formula: "volts with its draw on >= cutoff, or volts with it off <= restart (silent: cutoff)",
    source: "the device's own data; solved on the whole network with its draw on and off",
};
pub(crate) const OFF: Check = Check {
    code: "stays-off",
    question: "does the device give up and stay off?",
    formula: "volts with its draw on >= cutoff",
    source: "the device's own data; solved on the whole network with its draw on and off",
};
pub(crate) const BOOT: Check = Check {
    code: "boot-volts",
    question: "does the device get through its start?",
    formula: "volts with the draw of its state boot >= cutoff (silent: lowest)",
    source: "the device's own data; solved on the whole network with that draw",
};

/// The state in which a device starts.
const START: &str = "boot";

pub(super) fn check(look: &Look<'_>, solver: &mut Solver, found: &mut Vec<Finding>) {
    for (i, device) in look.devices() {
        if device.wake.cutoff.is_some() {
            found.extend(gives_up(look, i, solver));
        }
        let boot = device.draw.iter().find(|(state, _)| state == START);
        if let Some((_, boot)) = boot {
            found.extend(starts(look, i, *boot, solver));
        }
    }
}

/// Whether a device draws, or feeds what draws, in a row.
fn is_on(look: &Look<'_>, row: &Row, i: usize) -> bool {
    let feeds = || look.results.fed_by(i).next().is_some();
    look.results.live[row.case].devices[i] && (!matches!(row.laws[i], Law::Off) || feeds())
}

/// The circuit of a row, a device drawing by another law and what it feeds nothing.
fn drawing(look: &Look<'_>, row: &Row, i: usize, law: Law) -> Circuit {
    let results = look.results;
    let (case, live) = (&results.cases[row.case], &results.live[row.case]);
    let mut circuit = results.template.circuit(look.site, case, row.corner, live);
    circuit.loads[i].law = law;
    darken(look, &mut circuit, i);
    circuit
}

/// Puts out what a device feeds: its outputs, what hangs on them, and what that feeds in turn.
fn darken(look: &Look<'_>, circuit: &mut Circuit, device: usize) {
    let results = look.results;
    for feed in results.fed_by(device) {
        let supply = results.template.fed_supply[feed];
        circuit.sources[supply].live = false;
        circuit.drop_feed_of(supply);
        for other in 0..look.site.devices.len() {
            if other != device && results.ways.supply_of(other) == Some(supply) {
                circuit.loads[other].law = Law::Off;
                darken(look, circuit, other);
            }
        }
    }
}

/// Volts at a device where the circuit has an operating point.
fn volts(look: &Look<'_>, circuit: &Circuit, i: usize, solver: &mut Solver) -> Option<f64> {
    let [plus, minus] = look.results.template.terminals.devices[i];
    match solver.solve(circuit) {
        Outcome::Solved(solution) => Some(solution.across(plus, minus)),
        Outcome::Unserved(_) => None,
    }
}

/// Volts at a device in a row, it and what it feeds drawing nothing.
fn volts_off(look: &Look<'_>, row: &Row, i: usize, solver: &mut Solver) -> Option<f64> {
    volts(look, &drawing(look, row, i, Law::Off), i, solver)
}

fn gives_up(look: &Look<'_>, i: usize, solver: &mut Solver) -> Option<Finding> {
    let device = &look.site.devices[i];
    let cutoff = device.wake.cutoff?.base();
    let on = look.results.rows.iter().filter(|row| is_on(look, row, i));
    // The least volts; where nothing can be served at all they are nothing.
    let at = |row: &Row| look.results.device(row, i).map(|w| w.volts.base());
    let (volts, row) = on
        .map(|row| (at(row), row))
        .min_by(|a, b| a.0.unwrap_or(-1.0).total_cmp(&b.0.unwrap_or(-1.0)))?;
    if volts.is_some_and(|volts| volts >= cutoff - 1e-9) {
        return None;
    }
    let restart = device.wake.restart.map_or(cutoff, Measure::base);
    let off = volts_off(look, row, i, solver);
    let with = match volts {
        Some(volts) => format!("{volts:.2} V with its draw on"),
        None => "no operating point with its draw on".to_owned(),
    };
    let name = &device.name;
    let (check, message) = match off {
        Some(off) if off > restart + 1e-9 => (
            &LOOP,
            format!(
                "{name} reboots for ever: {with}, under its cutoff of {cutoff} V; {off:.2} V with it off, over its restart at {restart} V"
            ),
        ),
        // Without it nothing better is known: the network fails elsewhere.
        None if volts.is_none() => return None,
        _ => (
            &OFF,
            format!(
                "{name} gives up and stays off: {with}, under its cutoff of {cutoff} V{}",
                off.map_or(String::new(), |off| format!(
                    "; {off:.2} V with it off do not pass its restart at {restart} V"
                ))
            ),
        ),
    };
    let mut finding = check
        .finding(Severity::Fail, name, message)
        .about(Thing::Device(i))
        .at(row)
        .lower_is_worse();
    (finding.value, finding.limit, finding.unit) = (volts, Some(cutoff), Some("V"));
    let off = off.map_or_else(|| "none".to_owned(), |off| format!("{off:.3} V"));
    let on = volts.map_or_else(|| "none".to_owned(), |volts| format!("{volts:.3} V"));
    Some(finding.put_in(format!(
        "on: {on} < {cutoff} V; off: {off}, restart {restart} V"
    )))
}

fn starts(look: &Look<'_>, i: usize, boot: Draw, solver: &mut Solver) -> Option<Finding> {
    let device: &Device = &look.site.devices[i];
    let wake = device.wake;
    let limit = wake.cutoff.or(device.lowest)?.base();
    let factor = Corner::Low.draw_factor(look.site.design.draw_tolerance);
    let mut worst: Option<(Option<f64>, &Row)> = None;
    for row in look.results.rows.iter().filter(|r| r.corner == Corner::Low) {
        if !look.results.live[row.case].devices[i] || look.is_off(row, i) {
            continue;
        }
        // Its outputs stay off until it runs.
        let circuit = drawing(look, row, i, law_of(boot, factor));
        let found = volts(look, &circuit, i, solver);
        let beats = |known: &(Option<f64>, &Row)| found.unwrap_or(-1.0) < known.0.unwrap_or(-1.0);
        if worst.as_ref().is_none_or(beats) {
            worst = Some((found, row));
        }
    }
    let (volts, row) = worst?;
    if volts.is_some_and(|volts| volts >= limit - 1e-9) {
        return None;
    }
    let name = &device.name;
    let off = volts_off(look, row, i, solver);
    let restart = wake.restart.or(wake.cutoff).map(Measure::base);
    let again = match (off, restart) {
        (Some(off), Some(restart)) if off > restart => {
            format!("; {off:.2} V with it off, over its restart: it tries again for ever")
        }
        _ => String::new(),
    };
    let what = if wake.cutoff.is_some() {
        "cutoff"
    } else {
        "lowest"
    };
    let with = match volts {
        Some(volts) => format!("{volts:.2} V while it boots, under its {what} of {limit} V"),
        None => "the network has no operating point while it boots".to_owned(),
    };
    let mut finding = BOOT
        .finding(
            Severity::Fail,
            name,
            format!("{name} does not get through its start: {with}{again}"),
        )
        .about(Thing::Device(i))
        .at(row)
        .lower_is_worse();
    (finding.value, finding.limit, finding.unit) = (volts, Some(limit), Some("V"));
    let volts = volts.map_or_else(|| "none".to_owned(), |volts| format!("{volts:.3} V"));
    Some(finding.put_in(format!("{volts} < {limit} V")))
}
