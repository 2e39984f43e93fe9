//! Surge parts on copper that comes from outdoors.

use std::collections::BTreeMap;

use crate::checks::{Check, Finding, Look, exceeds, greatest};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{End, Route, Run, Surge, Thing, WhichEnd};
use crate::units::Measure;

pub(crate) const MISSING: Check = Check {
    code: "surge-missing",
    question: "Has every copper line from outdoors a surge part where it enters a box?",
    formula: "lines from outdoors without a surge part at this end = 0",
    source: "common practice, no source",
};
pub(crate) const WORKING: Check = Check {
    code: "surge-working",
    question: "Does the surge part leave the line alone at its highest volts?",
    formula: "working volts >= 1.2 x most volts between the conductors",
    source: "common practice, no source",
};
pub(crate) const EARTHED: Check = Check {
    code: "surge-earth",
    question: "Do all surge parts of a box lead to one earth?",
    formula: "one earth for all surge parts at one place",
    source: "NEC {communications bonding} (secondary copy seen), by analogy; common practice, no source",
};

/// Working volts over the most that the line has.
const OVER: f64 = 1.2;
/// Kinds whose box is worth a surge part on each line.
const BOXES: [&str; 8] = [
    "hub",
    "panel",
    "controller",
    "operator",
    "node",
    "router",
    "intercom",
    "camera",
];

/// Whether a run comes from outdoors and is of copper that leads somewhere.
pub(crate) fn is_outside(run: &Run) -> bool {
    let outside = matches!(
        run.route,
        Some(Route::Outdoor | Route::Buried | Route::Overhead)
    );
    outside && !run.carries.bond
}

pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    missing(look, found);
    for surge in &look.site.surges {
        found.extend(working(look, surge));
    }
    earthed(look, found);
}

/// Where a surge part sits, as the thing there; `None` where it does not say.
pub(crate) fn seat(look: &Look<'_>, surge: &Surge) -> Option<Thing> {
    let run = look.site.runs.get(surge.line)?;
    Some(match surge.end? {
        WhichEnd::From => run.from.thing(),
        WhichEnd::To => run.to.thing(),
    })
}

fn is_box(look: &Look<'_>, thing: Thing) -> bool {
    match thing {
        Thing::Supply(i) => look.site.supplies[i].fed_by.is_none(),
        Thing::Device(i) => look.site.devices[i]
            .kind
            .as_deref()
            .is_some_and(|kind| BOXES.contains(&kind)),
        _ => false,
    }
}

/// One finding a box: the lines that enter it from outdoors without a surge part.
fn missing(look: &Look<'_>, found: &mut Vec<Finding>) {
    let mut lines: BTreeMap<Thing, Vec<&str>> = BTreeMap::new();
    for (i, run) in look.runs() {
        if !is_outside(run) || !look.is_fitted(i) {
            continue;
        }
        for thing in [run.from.thing(), run.to.thing()] {
            let mut own = look.site.surges.iter().filter(|s| s.line == i);
            let there = own.any(|s| s.end.is_none() || seat(look, s) == Some(thing));
            if is_box(look, thing) && !there {
                lines.entry(thing).or_default().push(&run.name);
            }
        }
    }
    for (thing, names) in lines {
        let name = look.site.name_of(thing);
        let message = format!(
            "{} from outdoors at {name} without a surge part; nothing is sure to survive a close strike, and without one nothing does",
            match names.as_slice() {
                [one] => format!("{one} comes"),
                several => format!("{} come", several.join(", ")),
            }
        );
        found.push(
            MISSING
                .finding(Severity::Warn, name, message)
                .about(thing)
                .put_in(format!("{} without", names.len())),
        );
    }
}

fn about(look: &Look<'_>, check: &Check, surge: &Surge, message: String) -> Finding {
    let mut finding = check.finding(Severity::Warn, &surge.name, message);
    finding.thing = look
        .site
        .runs
        .get(surge.line)
        .map(|_| Thing::Run(surge.line));
    finding
}

/// Working volts against what the line has at most; a data line without a stated voltage is not
/// judged.
fn working(look: &Look<'_>, surge: &Surge) -> Option<Finding> {
    let working = surge.working?.base();
    let run = look.site.runs.get(surge.line)?;
    let end = match surge.end {
        Some(WhichEnd::To) => run.to,
        _ => run.from,
    };
    let data = run.wiegand.and_then(|w| w.voltage);
    let data = data.or_else(|| run.input_loop.and_then(|l| l.voltage));
    let (most, row) = if run.carries.power {
        let volts = |row: &Row| across(look, row, end);
        let rows = look.results.rows.iter();
        let found = greatest(rows.filter(|r| r.corner == Corner::High), volts)?;
        (found.0, Some(found.1))
    } else {
        (data?.base(), None)
    };
    let wanted = OVER * most;
    if !exceeds(wanted, working) {
        return None;
    }
    let message = format!(
        "{} works up to {working} V, and {} has up to {most:.2} V: {wanted:.1} V are wanted, or it wears out and shorts the line",
        surge.name, run.name
    );
    let finding = about(look, &WORKING, surge, message)
        .measured(working, wanted, "V")
        .put_in(format!(
            "{working:.3} V < 1.2 x {most:.2} V = {wanted:.2} V"
        ))
        .lower_is_worse();
    Some(match row {
        Some(row) => finding.at(row),
        None => finding,
    })
}

fn across(look: &Look<'_>, row: &Row, end: End) -> Option<f64> {
    let pair = look.results.template.terminals.pair(end);
    look.results.between(row, pair).map(Measure::base)
}

/// Surge parts without an earth, and such at one thing with several.
fn earthed(look: &Look<'_>, found: &mut Vec<Finding>) {
    let mut first: BTreeMap<Thing, (usize, &str)> = BTreeMap::new();
    for surge in &look.site.surges {
        let Some(earth) = surge.earth else {
            let message = format!(
                "{} leads to no earth: a surge has nowhere to go; lead it to the bar of its box by a short straight conductor",
                surge.name
            );
            found.push(about(look, &EARTHED, surge, message));
            continue;
        };
        let Some(thing) = seat(look, surge) else {
            continue;
        };
        let (other, name) = *first.entry(thing).or_insert((earth, &surge.name));
        if other != earth {
            let earths = [other, earth].map(|e| look.site.earths[e].name.as_str());
            let message = format!(
                "at {} {name} leads to {} and {} to {}: a surge lifts one over the other, through the box; lead both to one bar",
                look.site.name_of(thing),
                earths[0],
                surge.name,
                earths[1]
            );
            found.push(about(look, &EARTHED, surge, message));
        }
    }
}
