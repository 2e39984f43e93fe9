//! Coils whose return shares a negative with electronics.

use std::collections::HashMap;

use crate::checks::draws::COILS;
use crate::checks::{Check, Finding, Look, exceeds, greatest};
use crate::circuit::run_ohms;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{End, Thing};
use crate::units::Measure;

pub(crate) const SHARED: Check = Check {
    code: "shared-return",
    question: "Does a lock, strike or heater come back by the negative of something that talks?",
    formula: "amps of the coil x ohms of the shared negative <= 0.3 V",
    source: "Ohm's law; 0.3 V: common practice, no source",
};

/// Volts by which a coil may lift a negative that it shares.
const LIFT_V: f64 = 0.3;
/// Kinds that have signals of their own.
const TALKS: [&str; 9] = [
    "hub",
    "reader",
    "keypad",
    "panel",
    "controller",
    "node",
    "intercom",
    "camera",
    "sensor",
];

pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let is_of = |i: usize, kinds: &[&str]| {
        let kind = look.site.devices[i].kind.as_deref();
        kind.is_some_and(|kind| kinds.contains(&kind))
    };
    let devices = 0..look.site.devices.len();
    let coils: Vec<usize> = devices.clone().filter(|i| is_of(*i, &COILS)).collect();
    if coils.is_empty() {
        return;
    }
    // By run: the first device that talks and lives by it.
    let mut talking: HashMap<usize, usize> = HashMap::new();
    for i in devices.filter(|i| is_of(*i, &TALKS)) {
        for run in way(look, i) {
            talking.entry(run).or_insert(i);
        }
    }
    for coil in coils {
        let own = way(look, coil);
        // Ways make a tree: what shares one run shares all from the supply to there.
        let far = (own.iter().enumerate().rev()).find_map(|(k, run)| Some((k, *talking.get(run)?)));
        if let Some((k, other)) = far {
            found.extend(lifted(look, coil, other, &own[..=k]));
        }
    }
}

/// The runs from the nearest supply to a device.
fn way(look: &Look<'_>, device: usize) -> Vec<usize> {
    let way = look.results.ways.way_to(End::Device(device));
    way.into_iter().filter_map(|(run, _)| run).collect()
}

fn lifted(look: &Look<'_>, coil: usize, other: usize, runs: &[usize]) -> Option<Finding> {
    let site = look.site;
    let parts = |row: &Row| {
        let amps = look.results.device(row, coil)?.amps.base();
        let case = &look.results.cases[row.case];
        let ohms = runs.iter().map(|i| {
            let run = &site.runs[*i];
            run_ohms(site, run, row.corner.temperature(site, run, case))[1]
        });
        Some((amps, ohms.sum::<f64>()))
    };
    let lift = |row: &Row| parts(row).map(|(amps, ohms)| amps * ohms);
    let (volts, row) = greatest(look.whole_rows(), lift)?;
    if !exceeds(volts, LIFT_V) {
        return None;
    }
    let (amps, ohms) = parts(row)?;
    let (name, other) = (&site.devices[coil].name, &site.devices[other].name);
    let by: Vec<&str> = runs.iter().map(|r| site.runs[*r].name.as_str()).collect();
    let message = format!(
        "{name} comes back by {} with {other} and lifts its zero volts by {volts:.2} V when it is on: a pair of its own does not",
        by.join(", ")
    );
    Some(
        SHARED
            .finding(Severity::Note, name, message)
            .about(Thing::Device(coil))
            .at(row)
            .measured(volts, LIFT_V, "V")
            .put_in(format!(
                "{amps:.3} A x {ohms:.3} ohm = {volts:.3} V > {LIFT_V} V"
            )),
    )
}
