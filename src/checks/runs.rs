//! Runs: amps in each conductor, conductors in the cable, and the drop.

use std::collections::HashMap;

use crate::checks::finding::Words;
use crate::checks::way::{SoFar, so_far};
use crate::checks::{Check, Finding, Look, exceeds, first_greatest, greatest};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Cable, Run, Thing};
use crate::tables;
use crate::units::Measure;

pub(crate) const CONDUCTOR: Check = Check {
    code: "conductor-amps",
    question: "is any conductor overdrawn?",
    formula: "amps in the leg <= limit of one conductor x conductors in the leg",
    source: "the cable's own limit, else the table of conductor limits",
};
pub(crate) const COUNT: Check = Check {
    code: "few-conductors",
    question: "has the cable enough conductors for what the run carries?",
    formula: "conductors needed <= conductors in the cable",
    source: "counted: power takes 2 x parallel, data 2 and its common, loop 2, contact 2, Ethernet 8, a bond 1",
};
pub(crate) const DROP: Check = Check {
    code: "drop",
    question: "how many volts are lost in this run?",
    formula: "drop = amps x ohms of the positive leg + amps x ohms of the negative leg; per cent of the supply's volts",
    source: "Ohm's law; NEC {drop of branch circuits} (3 % and 5 %) is guidance for branch circuits, not a rule (secondary copy seen)",
};

/// Amps under which a leg carries none.
const NO_AMPS: f64 = 1e-7;

/// What is lost in a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Loss {
    drop_v: f64,
    /// Of its supply.
    volts_v: f64,
    /// Of the positive and the negative leg.
    legs_a: [f64; 2],
    falls_v: [f64; 2],
    so_far: Option<SoFar>,
}

impl Loss {
    /// The loss in a sentence.
    pub(super) fn message(&self, run: &str) -> String {
        let (drop, volts) = (self.drop_v, self.volts_v);
        let percent = 100.0 * drop / volts;
        let so_far = self.so_far.map_or_else(String::new, SoFar::words);
        format!("{run} loses {drop:.2} V, {percent:.1} % of {volts:.2} V{so_far}")
    }

    /// The numbers put in.
    pub(super) fn numbers(&self) -> String {
        let ohms = |leg: usize| match self.legs_a[leg] {
            0.0 => 0.0,
            amps => self.falls_v[leg] / amps,
        };
        format!(
            "{:.3} A x {:.3} ohm + {:.3} A x {:.3} ohm = {:.3} V",
            self.legs_a[0],
            ohms(0),
            self.legs_a[1],
            ohms(1),
            self.drop_v
        )
    }
}

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let mut limits = HashMap::new();
    for (i, run) in look.runs() {
        found.extend(count(look, i, run));
        let cable = run.cable.map(|c| c.0);
        if let Some(index) = cable.filter(|_| run.resistance.is_none()) {
            let limit = limits
                .entry(index)
                .or_insert_with(|| limit_of(&look.site.cables[index]));
            if let Some((limit, source)) = limit {
                found.extend(conductor(look, i, *limit, source));
            }
        }
        found.extend(drop(look, i, run));
    }
}

/// Amps that one conductor may carry, and who says so.
pub fn limit_of(cable: &Cable) -> Option<(f64, String)> {
    if let Some(stated) = cable.current {
        return Some((
            stated.base(),
            format!("limit stated for cable {}", cable.name),
        ));
    }
    tables::ampacity(cable.size).map(|limit| (limit.amps.base(), limit.source.to_owned()))
}

fn count(look: &Look<'_>, i: usize, run: &Run) -> Option<Finding> {
    let cable = run.cable(look.site).filter(|_| run.resistance.is_none())?;
    if run
        .shares
        .is_some_and(|owner| look.site.runs[owner].element == run.element)
    {
        return None;
    }
    let in_it: Vec<&Run> = look.site.runs_beside(i).collect();
    let needed: u32 = in_it.iter().map(|run| Cable::conductors_for(run)).sum();
    if needed <= cable.conductors {
        return None;
    }
    let names: Vec<&str> = in_it.iter().map(|run| run.name.as_str()).collect();
    let message = format!(
        "{} {} {needed} conductors, {} has {}",
        names.join(", "),
        if names.len() > 1 { "need" } else { "needs" },
        cable.name,
        cable.conductors
    );
    let finding = COUNT
        .finding(Severity::Fail, &run.name, message)
        .about(Thing::Run(i));
    let numbers = format!("{needed} > {}", cable.conductors);
    Some(
        finding
            .measured(f64::from(needed), f64::from(cable.conductors), "conductors")
            .put_in(numbers),
    )
}

/// What the conductor of a run carries that carries most.
pub(super) struct Most<'r> {
    /// Amps in each conductor of its leg.
    pub(super) each_a: f64,
    /// Which leg.
    pub(super) leg: &'static str,
    /// Conductors in the leg.
    pub(super) conductors: u32,
    /// The row.
    pub(super) row: &'r Row,
}

/// The most amps in one conductor of a run, over all rows in which amps are judged.
pub(super) fn most_in_one<'r>(look: &'r Look<'_>, i: usize) -> Option<Most<'r>> {
    let run = &look.site.runs[i];
    let legs = |row: &Row| -> Option<(f64, &'static str, u32)> {
        let [amps, return_amps, common_amps] = look.results.legs(row, i)?;
        let parallel = if run.carries.bond { 1 } else { run.parallel };
        let legs = [
            (amps, "positive leg", parallel),
            (return_amps, "negative leg", run.minus_parallel.max(1)),
            (common_amps, "data common", 1),
        ];
        let each = legs.into_iter().filter_map(|(a, leg, n)| {
            Some((look.results.leg_rms(row, i, a?) / f64::from(n), leg, n))
        });
        each.reduce(|most, leg| if exceeds(leg.0, most.0) { leg } else { most })
    };
    let (each_a, row) = greatest(look.amp_rows(), |row| legs(row).map(|l| l.0))?;
    let (_, leg, conductors) = legs(row)?;
    Some(Most {
        each_a,
        leg,
        conductors,
        row,
    })
}

fn conductor(look: &Look<'_>, i: usize, limit: f64, source: &str) -> Option<Finding> {
    let run = &look.site.runs[i];
    let most = most_in_one(look, i)?;
    let (each, n) = (most.each_a, most.conductors);
    let spare = look.site.design.spare.value;
    let severity = if each > limit + 1e-9 {
        Severity::Fail
    } else if each > limit * (1.0 - spare) + 1e-9 {
        Severity::Warn
    } else {
        return None;
    };
    let (amps, whole) = (each * f64::from(n), limit * f64::from(n));
    let message = format!(
        "the {} of {} carries {amps:.3} A of its {whole} A",
        most.leg, run.name
    );
    let finding = CONDUCTOR
        .finding(severity, &run.name, message)
        .about(Thing::Run(i))
        .at(most.row)
        .by(source.to_owned());
    let held = if severity == Severity::Fail {
        whole
    } else {
        whole * (1.0 - spare)
    };
    Some(
        finding
            .measured(amps, held, "A")
            .put_in(format!("{amps:.3} A > {held:.3} A = {limit} A x {n}")),
    )
}

fn drop(look: &Look<'_>, i: usize, run: &Run) -> Option<Finding> {
    if !run.carries.power {
        return None;
    }
    let rows = look.results.rows.iter().filter(|r| r.corner == Corner::Low);
    let (drop, (row, flow)) = first_greatest(rows.filter_map(|row| {
        let flow = look.results.run(look.site, row, i)?;
        Some((flow.drop?.base().abs(), (row, flow)))
    }))?;
    let supply = look.results.ways.start_of(run.to)?;
    let volts = row.corner.volts(&look.site.supplies[supply]).base();
    // What is left of no current is rounding, and has no sign.
    let whole = |a: f64| if a.abs() > NO_AMPS { a } else { 0.0 };
    let legs = [flow.amps, flow.return_amps].map(|a| whole(a.map_or(0.0, Measure::base)));
    let falls = [flow.plus_drop, flow.minus_drop].map(|v| v.map_or(0.0, Measure::base));
    let loss = Loss {
        drop_v: drop,
        volts_v: volts,
        legs_a: legs,
        falls_v: falls,
        so_far: so_far(look, row, i, drop),
    };
    let mut finding = DROP
        .worded(Severity::Note, &run.name, Words::Lost(loss))
        .about(Thing::Run(i))
        .at(row);
    finding.value = Some(drop);
    finding.unit = Some("V");
    Some(finding)
}
