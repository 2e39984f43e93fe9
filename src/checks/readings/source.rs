//! A supply as its own readings show it, beside what is drawn.

use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::readings::{BEYOND, Readings, SourceOhms};
use crate::site::Thing;
use crate::units::{Measure, fixed, ohms, volts};

pub(crate) const SOURCE: Check = Check {
    code: "found-source",
    question: "does the supply sag as it is drawn, by its own volts and amps?",
    formula: "V = Voc - R I, by least squares; |Voc - voltage| <= 2 u, |R - resistance| <= 2 u",
    source: "Ohm's law, least squares; the meters' own data",
};

pub(super) fn check(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    found.extend(readings.sources.iter().map(|source| told(look, source)));
}

fn told(look: &Look<'_>, source: &SourceOhms) -> Finding {
    let own = &look.site.supplies[source.supply];
    let (voc, sag) = (volts(source.volts.value, 2), ohms(source.ohms.value, 3));
    let start = format!(
        "{} has {voc} without load and sags {sag}, by its own volts and amps",
        own.name
    );
    let drawn = own.resistance.map_or_else(
        || format!("drawn are {} and no ohms", volts(own.voltage, 2)),
        |r| format!("drawn are {} and {}", volts(own.voltage, 2), ohms(r, 3)),
    );
    let (severity, message) = if source.agrees {
        (Severity::Note, format!("{start}, as drawn"))
    } else {
        let advice = "a fuse, a battery or the supply itself; read again across each, or write what was found into voltage and resistance";
        (Severity::Warn, format!("{start}; {drawn}: {advice}"))
    };
    let points = (source.points.iter()).map(|(amps, volts)| {
        format!(
            "{} V at {} A",
            fixed(volts.base(), 3),
            fixed(amps.base(), 3)
        )
    });
    let limit = own.resistance.map_or(0.0, Measure::base) + BEYOND * source.ohms.u.base();
    SOURCE
        .finding(severity, &own.name, message)
        .about(Thing::Supply(source.supply))
        .measured(source.ohms.value.base(), limit, "ohm")
        .put_in(format!(
            "{}: Voc = {voc} within {}, R = {sag} within {}; {drawn}",
            points.collect::<Vec<_>>().join(", "),
            fixed(source.volts.u.base(), 3),
            fixed(source.ohms.u.base(), 3)
        ))
}
