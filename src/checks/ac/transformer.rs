//! Volt-amperes of a transformer, with the pulses of rectified draws.

use crate::checks::{Check, Finding, Look, greatest};
use crate::circuit::{Corner, Law};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::Thing;
use crate::solve::Pulse;
use crate::units::Measure;

pub(crate) const VA: Check = Check {
    code: "transformer-va",
    question: "has the transformer the volt-amperes for everything at once?",
    formula: "sum of each draw alone at the volts without load; of a rectifier, rated volts x rms amps of its pulses; <= rating",
    source: "the transformer's own data, at its rated line volts; common practice, no source",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, supply) in look.supplies() {
        let Some(rating) = supply.nameplate.rating.map(Measure::base) else {
            continue;
        };
        let rows = look
            .results
            .rows
            .iter()
            .filter(|r| r.corner == Corner::Nominal);
        let total = |row: &Row| Some(parts(look, row, i).iter().map(|p| p.1).sum());
        let Some((va, row)) = greatest(rows, total) else {
            continue;
        };
        let spare = look.site.design.spare.value;
        let (severity, held) = if va > rating + 1e-9 {
            (Severity::Fail, rating)
        } else if va > rating * (1.0 - spare) + 1e-9 {
            (Severity::Warn, rating * (1.0 - spare))
        } else {
            continue;
        };
        let message = format!(
            "{} is asked for {va:.1} VA of its {rating} VA, {:.0} %",
            supply.name,
            100.0 * va / rating
        );
        let sum: Vec<String> = parts(look, row, i)
            .iter()
            .map(|(device, va)| format!("{} {va:.1}", look.site.devices[*device].name))
            .collect();
        let finding = VA
            .finding(severity, &supply.name, message)
            .about(Thing::Supply(i))
            .at(row)
            .measured(va, held, "VA");
        found.push(finding.put_in(format!("{} = {va:.1} VA > {held:.1} VA", sum.join(" + "))));
    }
}

/// What each device asks of its supply, in VA; those that ask for nothing are left out.
fn parts(look: &Look<'_>, row: &Row, supply: usize) -> Vec<(usize, f64)> {
    let own = |d: &usize| look.results.ways.supply_of(*d) == Some(supply);
    (0..look.site.devices.len())
        .filter(own)
        .map(|d| (d, asked(look, row, supply, d)))
        .filter(|(_, va)| *va > 0.0)
        .collect()
}

fn asked(look: &Look<'_>, row: &Row, supply: usize, device: usize) -> f64 {
    let supply = &look.site.supplies[supply];
    let open = row.corner.volts(supply).base();
    let rated = supply.nameplate.voltage.map_or(open, Measure::base);
    if let Some(behind) = look.results.rectified(row, device) {
        let alone = Pulse {
            open_v: open,
            ..behind.pulse
        };
        return alone.steady().map_or(0.0, |s| s.rms_a) * rated;
    }
    let share = look.site.devices[device].power_factor.unwrap_or(1.0);
    let own = match row.laws[device] {
        Law::Off => 0.0,
        Law::Current(amps) => open * amps,
        Law::Resistance(ohm) => open * open / ohm,
        Law::Power(watts) => watts / share,
    };
    let fed: f64 = look
        .results
        .fed_by(device)
        .filter_map(|feed| Some(row.solution()?.feed_w[feed] / share))
        .sum();
    own + fed
}
