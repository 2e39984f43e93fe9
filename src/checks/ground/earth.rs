//! The soil and bonded metal as a return, and metal that nobody has looked for.

use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::{Case, Route, Thing};

pub(crate) const RETURN: Check = Check {
    code: "earth-return",
    question: "Does any device have the soil or bonded metal for its return?",
    formula: "with all earths taken off, every device that lived still lives",
    source: "NEC {earth as a return}: earth is no fault-current path (secondary copy seen); NEC {objectionable current} (secondary copy seen)",
};
pub(crate) const METAL: Check = Check {
    code: "metal-unknown",
    question: "Is a rod, a fence or a metal conduit joined to a negative somewhere?",
    formula: "bonded metal is one more way for the return",
    source: "common practice, no source",
};

pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    returns(look, found);
    found.extend(unseen(look));
}

/// Devices that live by an earth alone.
fn returns(look: &Look<'_>, found: &mut Vec<Finding>) {
    let (site, template) = (look.site, &look.results.template);
    let to_earth = |i: &usize| {
        let run = &site.runs[*i];
        let ends = [run.from.thing(), run.to.thing()];
        // A bar that leads nowhere else is copper, on which negatives may well meet.
        let bare_bar = |e: usize| {
            let earth = &site.earths[e];
            earth.kind.as_deref() == Some("bar") && earth.resistance.is_none()
        };
        let is_earth = |end: &Thing| matches!(end, Thing::Earth(e) if !bare_bar(*e));
        run.carries.bond && ends.iter().any(is_earth)
    };
    let bonds: Vec<usize> = (0..site.runs.len()).filter(to_earth).collect();
    if bonds.is_empty() {
        return;
    }
    let mut told = vec![false; site.devices.len()];
    for (c, case) in look.results.cases.iter().enumerate() {
        let before = &look.results.live[c].devices;
        let bare = bonds.iter().map(|i| (*i, crate::site::Leg::Plus));
        let without = Case {
            broken: case.broken.iter().copied().chain(bare).collect(),
            ..case.clone()
        };
        let after = template.live(site, &without).devices;
        for i in (0..site.devices.len()).filter(|i| before[*i] && !after[*i]) {
            if std::mem::replace(&mut told[i], true) {
                continue;
            }
            let name = &site.devices[i].name;
            let message = format!(
                "the current of {name} has no way back but by earth or bonded metal: soil is no conductor, and metal rusts; give it a negative of copper"
            );
            let mut finding = RETURN
                .finding(Severity::Stop, name, message)
                .about(Thing::Device(i));
            finding.case = Some(c);
            found.push(finding);
        }
    }
}

/// One ask for the site: bonds that are drawn and not connected, or none at all on a site with
/// copper outdoors.
fn unseen(look: &Look<'_>) -> Option<Finding> {
    let site = look.site;
    let drawn: Vec<&str> = site
        .runs
        .iter()
        .filter(|run| run.carries.bond && !run.fitted)
        .map(|run| run.name.as_str())
        .collect();
    let outside = site.runs.iter().any(|run| {
        let route = matches!(
            run.route,
            Some(Route::Outdoor | Route::Buried | Route::Overhead)
        );
        route && !run.carries.bond
    });
    let message = if !drawn.is_empty() {
        format!(
            "whether {} are there: look for rods, fence and metal conduit that touch a box, and measure ohms from each to the nearest minus, power off",
            drawn.join(", ")
        )
    } else if outside && site.earths.is_empty() {
        "what is joined to earth: look for rods, fence and metal conduit that touch a box, draw each as [earth.NAME] with a run that carries bond, or state one of kind bar where there is nothing"
            .to_owned()
    } else {
        return None;
    };
    let message = format!("the site does not say {message}");
    Some(METAL.finding(Severity::Ask, "site", message))
}
