//! Parts that no supply reaches.

use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::{Run, Site, Thing};

pub(crate) const REACH: Check = Check {
    code: "unreached",
    question: "does a supply reach this at all?",
    formula: "with every contact closed and nothing broken, conductors join both terminals to those of a live supply",
    source: "the network as drawn",
};
pub(crate) const LOST: Check = Check {
    code: "cut-off",
    question: "does a case leave a device without its supply?",
    formula: "conductors join both terminals to those of a live supply in this case",
    source: "the network as drawn, with the case's contacts and broken conductors",
};

pub(crate) const SOIL: Check = Check {
    code: "no-earth-ohms",
    question: "how well is this joined to the soil?",
    formula: "an earth without resistance joins what is bonded to it, and carries nothing into the soil",
    source: "measured, or by Dwight's formula (AIEE Transactions 1936; IEEE Std 142); unknown never passes",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let site = look.site;
    let whole = look.whole_case();
    let live = look.results.template.live(site, &whole);
    for (i, device) in look.devices() {
        if look.is_passive(i) {
            continue;
        }
        if live.devices[i] {
            found.extend(lost(look, i));
        } else {
            let message = format!(
                "no supply reaches {}: no conductors lead from both its terminals to those of a live supply",
                device.name
            );
            found.push(
                REACH
                    .finding(Severity::Fail, &device.name, message)
                    .about(Thing::Device(i)),
            );
        }
    }
    for (i, junction) in site
        .junctions
        .iter()
        .enumerate()
        .filter(|(i, _)| !live.junctions[*i] && !is_for_signals(site, *i))
    {
        let message = format!("no supply reaches {}", junction.name);
        found.push(
            REACH
                .finding(Severity::Fail, &junction.name, message)
                .about(Thing::Junction(i)),
        );
    }
    for (i, earth) in site.earths.iter().enumerate() {
        let into_soil = !matches!(earth.kind.as_deref(), Some("bar" | "metal"));
        if into_soil && earth.resistance.is_none() {
            let message = format!(
                "{} has no resistance to the soil: measure it, or it carries nothing there",
                earth.name
            );
            found.push(
                SOIL.finding(Severity::Ask, &earth.name, message)
                    .about(Thing::Earth(i)),
            );
        }
    }
}

/// Whether a junction has runs, and none of them carries power: it passes signals on.
fn is_for_signals(site: &Site, junction: usize) -> bool {
    let here = |run: &&Run| {
        let ends = [run.from.thing(), run.to.thing()];
        ends.contains(&Thing::Junction(junction))
    };
    let mut own = site.runs.iter().filter(here).peekable();
    own.peek().is_some() && own.all(|run| !run.carries.power && !run.carries.bond)
}

/// A case that breaks a conductor and thereby takes a device's supply; an opened contact is meant.
fn lost(look: &Look<'_>, i: usize) -> Option<Finding> {
    let broken = |case: &usize| !look.results.cases[*case].broken.is_empty();
    let case = (0..look.results.cases.len())
        .filter(broken)
        .find(|c| !look.results.live[*c].devices[i])?;
    let name = &look.site.devices[i].name;
    let message = format!(
        "{name} is without supply in case '{}'",
        look.results.cases[case].name
    );
    let mut finding = LOST
        .finding(Severity::Note, name, message)
        .about(Thing::Device(i));
    finding.case = Some(case);
    Some(finding)
}
