//! Fuses: whether a short blows them, what they protect, and whether they carry the load.

use crate::checks::supply::path::{Path, Paths, fuses};
use crate::checks::{Check, Finding, Look, greatest, limit_of};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::site::{Fuse, Part, Thing};
use crate::units::Measure;

pub(crate) const SHORT: Check = Check {
    code: "fuse-short",
    question: "does a short at the far end blow the fuse?",
    formula: "volts without load / (ohms of supply and way, hot) >= 2 x rated amps (electronic: 1 x); no more than a limiter lets through",
    source: "Ohm's law; the factor 2, at which slow fuses and resettable ones act within a minute, is common practice, no source",
};
pub(crate) const CONDUCTOR: Check = Check {
    code: "fuse-conductor",
    question: "does the fuse protect the thinnest conductor behind it?",
    formula: "rated amps of the fuse <= limit of every conductor behind it, up to the next smaller fuse",
    source: "limit of the conductor: stated or table; that the fuse decides is common practice, no source",
};
pub(crate) const LOAD: Check = Check {
    code: "fuse-load",
    question: "does the fuse carry the load for good?",
    formula: "amps <= 0.75 x rated amps",
    source: "common practice, no source",
};
pub(crate) const HEAT: Check = Check {
    code: "resettable-heat",
    question: "does the resettable fuse still hold the load when it is hot?",
    formula: "amps <= rated amps x (1 - 0.0075 x (T - 20 C))",
    source: "makers' curves lie between 0.6 and 1 % a kelvin: common practice, no source",
};

/// A slow fuse acts for certain at so many times its rating.
const BLOWS: f64 = 2.0;
/// Part of its rating that a fuse carries for good.
const FOR_GOOD: f64 = 0.75;
/// Part of what a resettable fuse holds at 20 C that it loses with each kelvin.
const PER_KELVIN: f64 = 0.0075;

pub(super) fn check(look: &Look<'_>, paths: &Paths, found: &mut Vec<Finding>) {
    short(look, paths, found);
    conductor(look, paths, found);
    for i in look.scope.fuses().iter().copied() {
        found.extend(load(look, i));
    }
}

fn kind(fuse: &Fuse) -> &str {
    fuse.kind.as_deref().unwrap_or("fuse")
}

fn rated(look: &Look<'_>, fuse: usize) -> Option<f64> {
    look.site.fuses[fuse].current.map(Measure::base)
}

/// Amps at which a fuse acts for certain.
fn acts_at(look: &Look<'_>, fuse: usize) -> Option<f64> {
    let factor = if kind(&look.site.fuses[fuse]) == "electronic" {
        1.0
    } else {
        BLOWS
    };
    Some(factor * rated(look, fuse)?)
}

fn short(look: &Look<'_>, paths: &Paths, found: &mut Vec<Finding>) {
    // Of each fuse the end at which least of what it takes flows.
    let mut worst: Vec<Option<(f64, f64, &Path)>> = vec![None; look.site.fuses.len()];
    for path in &paths.all {
        let passed = path.runs.iter().flat_map(|run| fuses(look, *run));
        // Where any fuse of the way acts, the short is cleared.
        let first = passed
            .filter_map(|fuse| Some((fuse, acts_at(look, fuse)?)))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let Some((fuse, needed)) = first else {
            continue;
        };
        let amps = path.short_a(paths);
        if worst[fuse].is_none_or(|(least, ..)| amps < least) {
            worst[fuse] = Some((amps, needed, path));
        }
    }
    for (i, worst) in worst.into_iter().enumerate() {
        let Some((amps, needed, path)) = worst.filter(|w| w.0 < w.1 - 1e-9) else {
            continue;
        };
        let (fuse, supply) = (&look.site.fuses[i], &look.site.supplies[path.supply]);
        let rated = fuse.current.map_or(0.0, Measure::base);
        let held = if amps < paths.open_v[path.supply] / (path.source_ohm + path.wire_ohm) - 1e-9 {
            format!(", the limiter of {} lets no more through", supply.name)
        } else {
            String::new()
        };
        let message = format!(
            "a short at {} does not blow {}: {amps:.2} A flow, {needed} A would blow {rated} A for certain{held}",
            path.name(look),
            fuse.name
        );
        let mut finding = SHORT
            .finding(Severity::Fail, &fuse.name, message)
            .about(Thing::Fuse(i))
            .measured(amps, needed, "A")
            .put_in(format!(
                "{:.2} V / ({:.3} + {:.3}) ohm{}: {amps:.3} A < {needed} A",
                paths.open_v[path.supply],
                path.source_ohm,
                path.wire_ohm,
                if held.is_empty() { "" } else { ", limited" }
            ))
            .lower_is_worse();
        finding.corner = Some(Corner::Low);
        found.push(finding);
    }
}

fn conductor(look: &Look<'_>, paths: &Paths, found: &mut Vec<Finding>) {
    let site = look.site;
    let mut worst: Vec<Option<(f64, usize, String)>> = vec![None; site.fuses.len()];
    for path in &paths.all {
        let mut least: Option<(f64, usize)> = None;
        for run in &path.runs {
            for fuse in fuses(look, *run) {
                if let Some(amps) = rated(look, fuse)
                    && least.is_none_or(|(known, _)| amps < known)
                {
                    least = Some((amps, fuse));
                }
            }
            let own = &site.runs[*run];
            let cable = own.cable(site).filter(|_| own.resistance.is_none());
            let Some(((amps, fuse), (each, source))) = least.zip(cable.and_then(limit_of)) else {
                continue;
            };
            let limit = each * f64::from(own.parallel.min(own.minus_parallel.max(1)));
            let beats = |known: &(f64, usize, String)| limit < known.0;
            if amps > limit + 1e-9 && worst[fuse].as_ref().is_none_or(beats) {
                worst[fuse] = Some((limit, *run, source));
            }
        }
    }
    for (i, worst) in worst.into_iter().enumerate() {
        let (Some((limit, run, source)), Some(amps)) = (worst, rated(look, i)) else {
            continue;
        };
        let (fuse, run) = (&site.fuses[i], &site.runs[run]);
        let message = format!(
            "{} lets {amps} A through, {} behind it may carry {limit} A",
            fuse.name, run.name
        );
        let source = format!("of the limit: {source}; of the rule: common practice, no source");
        found.push(
            CONDUCTOR
                .finding(Severity::Fail, &fuse.name, message)
                .about(Thing::Fuse(i))
                .measured(amps, limit, "A")
                .put_in(format!("{amps:.3} A > {limit:.3} A"))
                .by(source),
        );
    }
}

fn load(look: &Look<'_>, i: usize) -> Option<Finding> {
    let (site, results) = (look.site, look.results);
    let fuse = &site.fuses[i];
    let rated = rated(look, i)?;
    let (part, branch) = results
        .template
        .parts
        .iter()
        .find(|(part, _)| *part == Part::Fuse(i))?;
    let amps = |row: &crate::results::Row| results.part_rms(site, row, (*part, *branch));
    let steady =
        |row: &&crate::results::Row| !crate::circuit::is_inrush(site, &results.cases[row.case]);
    let kind = kind(fuse);
    if kind == "resettable" {
        let hot = |row: &&crate::results::Row| row.corner == Corner::Low;
        let (amps, row) = greatest(results.rows.iter().filter(steady).filter(hot), amps)?;
        let kelvin = site
            .design
            .temperatures
            .hot
            .map_or(50.0, |t| t.base() - 273.15)
            - 20.0;
        let holds = rated * (1.0 - PER_KELVIN * kelvin).max(0.0);
        // Over its rating it is no matter of heat.
        if amps <= holds + 1e-9 || amps > rated + 1e-9 {
            return None;
        }
        let message = format!(
            "{} holds {holds:.3} A at {:.0} C, and carries {amps:.3} A: it may trip on a hot day",
            fuse.name,
            kelvin + 20.0
        );
        let numbers = format!("{amps:.3} A > {rated} A x (1 - {PER_KELVIN} x {kelvin:.0})");
        let finding = HEAT.finding(Severity::Warn, &fuse.name, message);
        return Some(
            finding
                .about(Thing::Fuse(i))
                .at(row)
                .measured(amps, holds, "A")
                .put_in(numbers),
        );
    }
    let (amps, row) = greatest(look.amp_rows().filter(steady), amps)?;
    let limit = rated * FOR_GOOD;
    // Nearer to the rating that finding says it already.
    let told = amps > rated * (1.0 - site.design.spare.value) + 1e-9;
    if kind == "electronic" || amps <= limit + 1e-9 || told {
        return None;
    }
    let message = format!(
        "{} carries {amps:.3} A for good, {FOR_GOOD} of its {rated} A is {limit:.3} A",
        fuse.name
    );
    let finding = LOAD
        .finding(Severity::Warn, &fuse.name, message)
        .about(Thing::Fuse(i))
        .at(row);
    Some(
        finding
            .measured(amps, limit, "A")
            .put_in(format!("{amps:.3} A > {FOR_GOOD} x {rated} A")),
    )
}
