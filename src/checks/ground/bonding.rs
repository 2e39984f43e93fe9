//! Rods and the conductors that bond them.

use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::joined::Joined;
use crate::site::{End, Run, Thing};
use crate::units::{Measure, Size};

pub(crate) const RODS: Check = Check {
    code: "rods-apart",
    question: "Are all rods and building earths bonded to one another?",
    formula: "bonds lead from each rod to every other",
    source: "NEC {rods and bonding between systems}, NEC {communications bonding} (secondary copy seen); by analogy for access control",
};
pub(crate) const BOND: Check = Check {
    code: "bond-conductor",
    question: "Is the bonding conductor thick and short enough?",
    formula: "14 AWG or thicker, 6 AWG between rods; 20 ft or less",
    source: "NEC {communications bonding}(A) and (D) (secondary copy seen; 20 ft is for one- and two-family dwellings); by analogy for access control",
};

/// Thinnest bonding conductor.
const BOND_GAUGE: i32 = 14;
/// Thinnest conductor between rods.
const ROD_GAUGE: i32 = 6;
/// Longest bonding conductor, in metres.
const LONGEST_M: f64 = 20.0 * 0.3048;

pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    if look.site.earths.is_empty() {
        return;
    }
    apart(look, found);
    for (i, run) in look.runs() {
        found.extend(conductor(look, i, run));
    }
}

/// Whether an earth stands in the soil.
fn is_rod(look: &Look<'_>, earth: usize) -> bool {
    let kind = look.site.earths[earth].kind.as_deref();
    matches!(kind, Some("rod" | "building"))
}

fn earths_of(run: &Run) -> [Option<usize>; 2] {
    [run.from, run.to].map(|end| match end {
        End::Earth(i) => Some(i),
        _ => None,
    })
}

/// Rods that no bonds join to the first one; what is drawn and not connected is asked elsewhere.
fn apart(look: &Look<'_>, found: &mut Vec<Finding>) {
    let site = look.site;
    let terminals = &look.results.template.terminals;
    let mut joined = Joined::apart(terminals.count);
    let bonds = || site.runs.iter().filter(|run| run.carries.bond);
    for run in bonds().filter(|run| run.fitted) {
        joined.join(terminals.bond(run.from), terminals.bond(run.to));
    }
    let drawn_only = |earth: usize| {
        let mut own = bonds().filter(|run| earths_of(run).contains(&Some(earth)));
        own.clone().next().is_some() && own.all(|run| !run.fitted)
    };
    let rods: Vec<usize> = (0..site.earths.len())
        .filter(|i| is_rod(look, *i) && !drawn_only(*i))
        .collect();
    let Some(first) = rods.first() else { return };
    let root = joined.root(terminals.earths[*first]);
    for i in &rods[1..] {
        if joined.root(terminals.earths[*i]) == root {
            continue;
        }
        let (name, other) = (&site.earths[*i].name, &site.earths[*first].name);
        let message = format!(
            "{name} and {other} are not bonded to one another: near lightning they stand thousands of volts apart, and the data cable joins them; bond them with 6 AWG or thicker"
        );
        found.push(
            RODS.finding(Severity::Warn, name, message)
                .about(Thing::Earth(*i)),
        );
    }
}

/// A bond with an earth at one end at least, by its cable.
fn conductor(look: &Look<'_>, i: usize, run: &Run) -> Option<Finding> {
    let earths = earths_of(run);
    if !run.carries.bond || earths == [None, None] || run.resistance.is_some() {
        return None;
    }
    let cable = run.cable(look.site)?;
    let between = earths
        .iter()
        .flatten()
        .filter(|e| is_rod(look, **e))
        .count()
        == 2;
    let gauge = if between { ROD_GAUGE } else { BOND_GAUGE };
    let least = Size::Awg(gauge).area();
    let about = |severity, message: String| {
        BOND.finding(severity, &run.name, message)
            .about(Thing::Run(i))
    };
    let mm2 = |area: crate::units::Area| area.base() * 1e6;
    if cable.size.area() < least * (1.0 - 1e-9) {
        let what = if between { "between rods" } else { "to earth" };
        let message = format!(
            "{} bonds {what} with {}; {gauge} AWG or thicker is wanted",
            run.name, cable.size
        );
        return Some(about(Severity::Warn, message).put_in(format!(
            "{:.2} mm2 < {:.2} mm2",
            mm2(cable.size.area()),
            mm2(least)
        )));
    }
    let metres = run.length.base();
    if metres > LONGEST_M + 1e-9 {
        let message = format!(
            "{} is {metres:.1} m long: a straight metre has about 1 uH, at which 3 kA of a surge make some hundred volts; keep it under {LONGEST_M:.1} m, or drive a rod nearby and bond it",
            run.name
        );
        return Some(
            about(Severity::Note, message)
                .measured(metres, LONGEST_M, "m")
                .put_in(format!("{metres:.2} m > {LONGEST_M:.2} m")),
        );
    }
    None
}
