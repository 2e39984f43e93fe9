//! Readings that cannot all be right: volts that rise along a run, currents that do not add up.

use crate::checks::readings::in_moment;
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::readings::{BEYOND, Readings, Sum};
use crate::site::Thing;
use crate::units::{ElectricCurrent, Measure, amps, fixed, volts};

pub(crate) const CLASH: Check = Check {
    code: "reading-contradiction",
    question: "do readings of one moment contradict one another?",
    formula: "far volts <= near volts + 2 u while current flows; sum of currents in = sum of currents out, within 2 u",
    source: "Ohm's and Kirchhoff's laws; the meters' own data",
};
pub(crate) const SUM: Check = Check {
    code: "reading-sum",
    question: "do the currents that were read at one place add up?",
    formula: "sum of currents in = sum of currents out, within 2 u",
    source: "Kirchhoff's law; the clamp's own data",
};

pub(super) fn check(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    climbs(look, readings, found);
    sums(look, readings, found);
}

/// The most that volts rise along a run, one finding a run.
fn climbs(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    let rise = |climb: &crate::readings::Climb| (climb.volts[1] - climb.volts[0]).base();
    let mut all = readings.climbs.clone();
    all.sort_by(|a, b| a.run.cmp(&b.run).then(rise(b).total_cmp(&rise(a))));
    all.dedup_by_key(|climb| climb.run);
    for climb in all {
        let name = &look.site.runs[climb.run].name;
        let [near, far] = climb.volts.map(|v| volts(v, 3));
        let message = format!(
            "{name} was read with {far} at its far end and {near} at its near one while current flows: one was read at another time or place, or current comes back the other way"
        );
        let finding = CLASH
            .finding(Severity::Warn, name, message)
            .about(Thing::Run(climb.run))
            .measured(rise(&climb), BEYOND * climb.u.base(), "V")
            .put_in(format!("{far} > {near} + 2 x {}", volts(climb.u, 4)));
        found.push(in_moment(look, readings, Some(climb.moment), finding));
    }
}

/// Currents at a thing: where they add up, the moment with the most amps; where not, the one that is
/// off most.
fn sums(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    let total = |side: &[ElectricCurrent]| side.iter().map(|a| a.base()).sum::<f64>();
    let times = |sum: &Sum| sum.over.base().abs() / sum.u.base();
    let mut all: Vec<&Sum> = readings.sums.iter().collect();
    all.sort_by(|a, b| {
        let weight = |sum: &Sum| {
            if sum.holds() {
                total(&sum.into)
            } else {
                times(sum)
            }
        };
        (a.thing, a.holds())
            .cmp(&(b.thing, b.holds()))
            .then(weight(b).total_cmp(&weight(a)))
    });
    all.dedup_by_key(|sum| sum.thing);
    for sum in all {
        let name = look.site.name_of(sum.thing);
        let side = |side: &[ElectricCurrent]| {
            let each: Vec<String> = side.iter().map(|a| fixed(a.base(), 3)).collect();
            match each.as_slice() {
                [] => "0".to_owned(),
                _ => each.join(" + "),
            }
        };
        let (into, out, u) = (side(&sum.into), side(&sum.out), amps(sum.u, 4));
        let (check, severity, message) = if sum.holds() {
            let message = format!("the currents read at {name} add up: {into} A in, {out} A out");
            (SUM, Severity::Note, message)
        } else {
            let over = amps(sum.over, 3);
            let message = format!(
                "the currents read at {name} do not add up: {into} A in, {out} A out, {over} over; one was read at another time, or there is a way that is not drawn"
            );
            (CLASH, Severity::Warn, message)
        };
        let finding = check
            .finding(severity, name, message)
            .about(sum.thing)
            .measured(sum.over.base().abs(), BEYOND * sum.u.base(), "A")
            .put_in(format!(
                "({into}) - ({out}) = {}, 2 u = 2 x {u}",
                amps(sum.over, 3)
            ));
        found.push(in_moment(look, readings, Some(sum.moment), finding));
    }
}
