//! The ohms of a run as readings show them, and what may be wrong with it.

use crate::checks::readings::in_moment;
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::readings::{BEYOND, Ends, LEAST_RATIO, PathOhms, Readings, Verdict, words};
use crate::site::Thing;
use crate::units::{ElectricalResistance, Measure, fixed, ohms, volts};

pub(crate) const OHMS: Check = Check {
    code: "found-ohms",
    question: "has this run the ohms that it should have, by its own volts and amps?",
    formula: "R = sum w I (Vnear - Vfar) / sum w I^2, w = 1 / u^2; |R - expected| <= 2 u; R >= 0.9 x expected; read at both ends: d = L / 2 + (Ra - Rb) / (4 r), Rf = (Ra + Rb) / 2 - r L",
    source: "Ohm's law, least squares through zero; splices and temperature as drawn, copper within 2 % and 5 K; limits are common practice, no source",
};

pub(super) fn check(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    for path in &readings.paths {
        found.push(told(look, readings, path));
    }
}

fn told(look: &Look<'_>, readings: &Readings, path: &PathOhms) -> Finding {
    let name = path.name(look.site);
    let severity = if path.is_wrong() {
        Severity::Warn
    } else {
        Severity::Note
    };
    let message = words(look.site, path).join("; ");
    let limit = match path.verdict {
        Verdict::Under => LEAST_RATIO * path.expected.value.base(),
        Verdict::Agrees | Verdict::Over | Verdict::Shorted => {
            path.expected.value.base() + BEYOND * path.excess().u.base()
        }
    };
    let value = path.found.value.base();
    let (value, limit) = match path.ends {
        Some(ends) if path.verdict == Verdict::Shorted => {
            (ends.apart.value.base().abs(), BEYOND * ends.apart.u.base())
        }
        _ => (value, limit),
    };
    let finding = OHMS
        .finding(severity, &name, message)
        .about(Thing::Run(path.run))
        .measured(value, limit, "ohm")
        .put_in(numbers(look, path));
    let finding = if path.verdict == Verdict::Under {
        finding.lower_is_worse()
    } else {
        finding
    };
    let moment = path
        .lost
        .iter()
        .max_by(|a, b| a.amps.base().total_cmp(&b.amps.base()));
    in_moment(look, readings, moment.map(|lost| lost.moment), finding)
}

/// Every point, the fit, and how far off it and the expected ohms may be.
fn numbers(look: &Look<'_>, path: &PathOhms) -> String {
    let points = path.lost.iter().map(|lost| {
        format!(
            "{} V at {} A",
            fixed(lost.volts.base(), 3),
            fixed(lost.amps.base(), 3)
        )
    });
    let mut parts: Vec<String> = Vec::new();
    if !path.lost.is_empty() {
        parts.push(points.collect::<Vec<_>>().join(", "));
    }
    let scatter = path
        .scatter
        .map_or_else(String::new, |u| format!(" (they scatter by {})", within(u)));
    parts.push(format!(
        "R = {} within {}{scatter}",
        ohms(path.found.value, 3),
        within(path.found.u)
    ));
    if let Some(offset) = path.offset {
        parts.push(format!(
            "with an offset: {} within {}",
            volts(offset.value, 3),
            fixed(offset.u.base(), 3)
        ));
    }
    parts.extend(path.ends.and_then(|ends| both_ends(look, path, ends)));
    parts.push(format!(
        "expected at {} {} within {}",
        crate::units::show(path.at, look.site.units),
        ohms(path.expected.value, 3),
        within(path.expected.u)
    ));
    parts.join("; ")
}

/// The sums that tell where a short is, and its own ohms: joints are a part of what is expected.
fn both_ends(look: &Look<'_>, path: &PathOhms, ends: Ends) -> Option<String> {
    let (run, short) = (&look.site.runs[path.run], ends.short?);
    let length = run.length.base();
    let (metres, wire) = (fixed(length, 1), fixed(short.wire.base(), 3));
    let r = format!("{:.5}", short.wire.base() / (2.0 * length));
    let [a, b] = ends.read.map(|read| fixed(read.base(), 3));
    Some(format!(
        "r = {wire} / (2 x {metres}) = {r} ohm/m, d = {metres} / 2 + ({a} - {b}) / (4 x {r}) = {} m within {}, Rf = ({a} + {b} - {}) / 2 = {} ohm within {}",
        fixed(short.at.value.base(), 1),
        fixed(short.at.u.base(), 1),
        fixed(path.expected.value.base(), 3),
        fixed(short.ohms.value.base(), 3),
        within(short.ohms.u)
    ))
}

fn within(u: ElectricalResistance) -> String {
    fixed(u.base(), 3)
}
