//! Devices that protect people from a moving gate, wired through a hub.

use std::collections::HashSet;

use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::Thing;

pub(crate) const SAFETY: Check = Check {
    code: "safety-on-hub",
    question: "Does what protects people from the gate go straight to the gate operator?",
    formula: "no run leads from a safety device to a hub",
    source: "UL 325, entrapment protection is connected to and monitored by the gate operator (secondary copy seen)",
};

/// Kinds that mostly protect people.
const KINDS: [&str; 3] = ["photo eye", "edge", "vehicle loop"];

pub(super) fn check(look: &Look<'_>, asks: &mut Asks, found: &mut Vec<Finding>) {
    for (i, device) in look.devices() {
        let likely = device.kind.as_deref().is_some_and(|k| KINDS.contains(&k));
        if device.safety == Some(false) || (device.safety.is_none() && !likely) {
            continue;
        }
        let Some((hub, run)) = hub_reached(look, i) else {
            continue;
        };
        let (name, hub) = (&device.name, &look.site.devices[hub].name);
        let run = &look.site.runs[run].name;
        if device.safety.is_none() {
            asks.add(
                name,
                Some(Thing::Device(i)),
                &format!(
                    "safety (true if it keeps the gate from hurting people; then its run {run} to {hub} is not allowed)"
                ),
            );
            continue;
        }
        let message = format!(
            "{name} protects people and is wired to {hub} by {run}: wire it to the gate operator alone, which watches it at every cycle"
        );
        found.push(
            SAFETY
                .finding(Severity::Stop, name, message)
                .about(Thing::Device(i))
                .put_in(format!("{run} leads from {name} to {hub}")),
        );
    }
}

/// The hub that a device's runs reach, straight or through junctions, and the first run there.
fn hub_reached(look: &Look<'_>, device: usize) -> Option<(usize, usize)> {
    let site = look.site;
    let is_hub = |thing: Thing| match thing {
        Thing::Device(i) => (site.devices[i].kind.as_deref() == Some("hub")).then_some(i),
        _ => None,
    };
    let mut seen = HashSet::from([Thing::Device(device)]);
    let mut next = vec![(Thing::Device(device), None)];
    while let Some((at, first)) = next.pop() {
        for (i, run) in site.runs.iter().enumerate() {
            if run.carries.bond || !look.is_fitted(i) {
                continue;
            }
            let ends = [run.from.thing(), run.to.thing()];
            let other = match ends {
                [from, to] if from == at => to,
                [from, to] if to == at => from,
                _ => continue,
            };
            let first = first.unwrap_or(i);
            if let Some(hub) = is_hub(other).filter(|hub| *hub != device) {
                return Some((hub, first));
            }
            // Power that comes by the same junction as the hub's leads nowhere near its inputs.
            let passes = matches!(other, Thing::Junction(_)) && !run.carries.power;
            if passes && seen.insert(other) {
                next.push((other, Some(first)));
            }
        }
    }
    None
}
