//! Lengths that are typed in feet here and in metres there.

use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::Thing;
use crate::units::System;

pub(crate) const MIXED: Check = Check {
    code: "units-mixed",
    question: "Are all lengths typed in the same units?",
    formula: "lengths of runs all in feet or all in metres; each is converted once and kept as typed",
    source: "common practice, no source",
};

pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let in_units = |system: System| -> Vec<usize> {
        let runs = look.site.runs.iter().enumerate();
        // What lies in another's jacket has its length from there.
        let own = runs.filter(|(_, run)| run.shares.is_none() && run.typed == Some(system));
        own.map(|(i, _)| i).collect()
    };
    let (feet, metres) = (in_units(System::Us), in_units(System::Si));
    if feet.is_empty() || metres.is_empty() {
        return;
    }
    let (few, odd, most) = if metres.len() < feet.len() {
        (metres, "metres", "feet")
    } else {
        (feet, "feet", "metres")
    };
    let name = |i: &usize| look.site.runs[*i].name.as_str();
    let names: Vec<&str> = few.iter().take(MOST).map(name).collect();
    let more = match few.len().saturating_sub(MOST) {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    let message = format!(
        "lengths are typed in {most}, but in {odd} at {}{more}: make sure that none of them is the right number in the wrong unit",
        names.join(", ")
    );
    found.push(
        MIXED
            .finding(Severity::Note, "site", message)
            .about(Thing::Run(few[0])),
    );
}

/// Most runs named.
const MOST: usize = 5;
