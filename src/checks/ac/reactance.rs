//! Reactance that a cable does not state: what it would change.

use crate::checks::{Check, Finding, Look};
use crate::circuit::{Corner, per_length};
use crate::diagnostic::Severity;
use crate::site::Thing;
use crate::tables;
use crate::units::Measure;

pub(crate) const REACTANCE: Check = Check {
    code: "no-reactance",
    question: "what would the reactance change that this cable does not state?",
    formula: "sqrt(R² + X²) / R - 1, ohms per length of one conductor",
    source: "NEC Chapter 9 Table 9, PVC or aluminum conduit (secondary copy seen)",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, _) in look.runs() {
        found.extend(missing(look, i));
    }
}

fn missing(look: &Look<'_>, i: usize) -> Option<Finding> {
    let run = &look.site.runs[i];
    let cable = run.cable(look.site).filter(|_| run.resistance.is_none())?;
    if !run.carries.power || cable.reactance.is_some() {
        return None;
    }
    let on_ac = |row: &&crate::results::Row| {
        row.corner == Corner::Nominal && look.results.on_ac(row, Thing::Run(i))
    };
    let row = look.results.rows.iter().find(on_ac)?;
    let hertz = look.results.hertz_of_run(row, i)?;
    let x = tables::reactance(cable.size)?.base() * hertz / 60.0;
    let at = row
        .corner
        .temperature(look.site, run, &look.results.cases[row.case]);
    let r = per_length(look.site, run, at).base();
    let percent = 100.0 * (r.hypot(x) / r - 1.0);
    let message = format!(
        "{} is solved without reactance; that of its gauge would add {percent:.2} % to its ohms",
        run.name
    );
    let mut finding = REACTANCE
        .finding(Severity::Note, &run.name, message)
        .about(Thing::Run(i));
    finding.value = Some(percent);
    finding.unit = Some("%");
    Some(finding.put_in(format!(
        "R {:.3} ohm/km, X {:.3} ohm/km at {hertz} Hz: {percent:.2} %",
        r * 1e3,
        x * 1e3
    )))
}
