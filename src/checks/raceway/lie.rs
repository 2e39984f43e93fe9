//! How a raceway lies: what else is in it, the ground over it, water, joints, bonding.

use super::Filled;
use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look, exceeds};
use crate::diagnostic::Severity;
use crate::site::Route;
use crate::tables;
use crate::units::Measure;

pub(crate) const MAINS: Check = Check {
    code: "raceway-mains",
    question: "does low voltage lie with mains in one raceway?",
    formula: "no light, power or Class 1 in the raceway, or a barrier between",
    source: "NEC 725.136 (secondary copy seen; numbers differ by edition); your local code decides",
};
pub(crate) const COVER: Check = Check {
    code: "raceway-cover",
    question: "is there enough ground over it?",
    formula: "ground from the top of the raceway to the surface >= the table's",
    source: "NEC Table 300.5 (in part from memory), by analogy: the authority decides whether it binds low voltage; its column of 6 in is for irrigation and landscape lighting alone",
};
pub(crate) const WATER: Check = Check {
    code: "raceway-water",
    question: "does water that gets in come out again, and warm air stay out?",
    formula: "sealed where it turns warm, drained at its lowest point",
    source: "NEC 300.7 and 300.5(G) (from memory)",
};
pub(crate) const SPLICES: Check = Check {
    code: "raceway-splices",
    question: "are joints where a hand reaches them?",
    formula: "splices of a run inside a raceway = 0",
    source: "common practice, no source",
};
pub(crate) const BONDED: Check = Check {
    code: "raceway-bonded",
    question: "is a metal raceway bonded?",
    formula: "a metal raceway is bonded at both ends",
    source: "NEC Article 250, bonding of metal raceways (from memory)",
};

const INCH: f64 = 0.0254;

pub(super) fn check(
    look: &Look<'_>,
    filled: &Filled<'_>,
    asks: &mut Asks,
    found: &mut Vec<Finding>,
) {
    found.extend(mains(filled, asks));
    found.extend(cover(look, filled, asks));
    found.extend(water(look, filled, asks));
    found.extend(splices(look, filled));
    found.extend(bonded(filled, asks));
}

fn mains(filled: &Filled<'_>, asks: &mut Asks) -> Option<Finding> {
    let raceway = filled.raceway;
    let name = &raceway.name;
    match (raceway.mains_inside, raceway.barrier) {
        (Some(false), _) | (Some(true), Some(true)) => None,
        (None, _) => {
            asks.add(name, None, "mains_inside (whether mains lie in it, too)");
            None
        }
        (Some(true), None) => {
            asks.add(name, None, "barrier (whether one parts it from the mains)");
            None
        }
        (Some(true), Some(false)) => {
            let message = format!(
                "mains and low voltage lie together in {name}: one bad jacket puts mains on the reader; a raceway of their own, or a barrier, and a licensed electrician for the mains"
            );
            Some(
                MAINS
                    .finding(Severity::Stop, name, message)
                    .put_in("mains_inside = true, barrier = false"),
            )
        }
    }
}

fn cover(look: &Look<'_>, filled: &Filled<'_>, asks: &mut Asks) -> Option<Finding> {
    let raceway = filled.raceway;
    let buried = |i: &usize| look.site.runs[*i].route == Some(Route::Buried);
    if raceway.cover.is_none() && raceway.under.is_none() && !filled.runs.iter().any(buried) {
        return None;
    }
    let name = &raceway.name;
    let mut ask = |silent: bool, words: &str| {
        if silent {
            asks.add(name, None, words);
        }
    };
    ask(
        raceway.kind.is_none(),
        "kind (the cover that it needs depends on it)",
    );
    ask(
        raceway.cover.is_none(),
        "cover (ground from its top to the surface)",
    );
    ask(
        raceway.under.is_none(),
        "under (ground, drive, home drive, slab: what lies over it)",
    );
    let (kind, cover, under) = (raceway.kind?, raceway.cover?, raceway.under?);
    let least = tables::least_cover(Some(kind), under)?;
    let (inches, limit) = (cover.base() / INCH, least.base() / INCH);
    exceeds(limit, inches).then(|| {
        let message = format!(
            "{inches:.0} in of ground lie over {name}, and {limit:.0} in are the least for such a raceway there: deeper, or rigid metal where that needs less"
        );
        COVER
            .finding(Severity::Warn, name, message)
            .measured(inches, limit, "in")
            .put_in(format!("{inches:.2} in < {limit:.0} in"))
            .lower_is_worse()
    })
}

fn water(look: &Look<'_>, filled: &Filled<'_>, asks: &mut Asks) -> Option<Finding> {
    if !filled.is_outside(look) || filled.runs.is_empty() {
        return None;
    }
    let raceway = filled.raceway;
    let name = &raceway.name;
    let answers = [
        (raceway.sealed, "sealed (against air, where it turns warm)"),
        (
            raceway.drained,
            "drained (water runs out at its lowest point)",
        ),
    ];
    for (answer, words) in &answers {
        if answer.is_none() {
            asks.add(name, None, words);
        }
    }
    let missing: Vec<&str> = [
        (raceway.sealed, "a seal where it turns warm"),
        (raceway.drained, "a drain at its lowest point"),
    ]
    .iter()
    .filter(|a| a.0 == Some(false))
    .map(|a| a.1)
    .collect();
    (!missing.is_empty()).then(|| {
        let message = format!(
            "{name} lacks {}: warm air leaves its water in the box",
            missing.join(" and ")
        );
        WATER.finding(Severity::Warn, name, message)
    })
}

fn splices(look: &Look<'_>, filled: &Filled<'_>) -> Option<Finding> {
    let runs = filled.runs.iter().map(|i| &look.site.runs[*i]);
    let joined: Vec<&str> = runs
        .filter(|r| r.splices > 0)
        .map(|r| r.name.as_str())
        .collect();
    let name = &filled.raceway.name;
    (!joined.is_empty()).then(|| {
        let message = format!(
            "{} {} joints on the way through {name}: put each in a box that you can open, in the wet with a kit made for it",
            joined.join(", "),
            if joined.len() > 1 { "have" } else { "has" }
        );
        SPLICES.finding(Severity::Warn, name, message)
    })
}

fn bonded(filled: &Filled<'_>, asks: &mut Asks) -> Option<Finding> {
    let raceway = filled.raceway;
    if !raceway.kind?.is_metal() {
        return None;
    }
    let name = &raceway.name;
    match raceway.bonded {
        Some(true) => None,
        None => {
            asks.add(name, None, "bonded (metal: at both ends)");
            None
        }
        Some(false) => {
            let message = format!(
                "{name} is of metal and not bonded: a fault puts it under volts, and it stays so; this is for a licensed electrician"
            );
            Some(BONDED.finding(Severity::Warn, name, message))
        }
    }
}
