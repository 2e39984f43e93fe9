//! Breaks that hide: a negative that opens while a signal conductor carries on, and a common that
//! is cut to cure a loop.

use crate::checks::ground::graph::{Loop, What};
use crate::checks::ground::loops::{Names, rows};
use crate::checks::{Check, Finding, Look, first_greatest, greatest, limit_of, wiegand_low};
use crate::circuit::{Live, NodeId};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Leg, Thing};
use crate::solve::{Outcome, Solution, Solver};
use crate::units::Measure;

pub(crate) const HIDDEN: Check = Check {
    code: "hidden-return",
    question: "If a power negative breaks, does everything go on over a signal conductor, unseen?",
    formula: "solved again with the negative open: devices stay alive, amps in the other conductors",
    source: "Kirchhoff's laws on the whole network; common practice, no source",
};
pub(crate) const CUT: Check = Check {
    code: "cut-common",
    question: "What becomes of the data if its common is cut to end the loop?",
    formula: "solved again with the data common open: low at the receiver",
    source: "Kirchhoff's laws on the whole network",
};

/// Most loops that are broken open on trial.
const MOST: usize = 8;

pub(super) fn check(
    look: &Look<'_>,
    (loops, names): (&[Loop], &Names<'_>),
    solver: &mut Solver,
    found: &mut Vec<Finding>,
) {
    let mut known: Vec<usize> = Vec::new();
    for one in loops.iter().take(MOST) {
        for (strand, _) in &one.strands {
            match strand.what {
                What::Minus(r) if !known.contains(&r) => {
                    known.push(r);
                    found.extend(hidden(look, names, one, r, solver));
                }
                What::Common(r) if look.site.runs[r].carries.wiegand => {
                    let told = |f: &Finding| f.code == CUT.code && f.thing == Some(Thing::Run(r));
                    if !found.iter().any(told) {
                        found.extend(cut(look, one, r, solver));
                    }
                }
                _ => {}
            }
        }
    }
}

/// The solution of a row with one more conductor open, and what then lives.
fn opened(
    look: &Look<'_>,
    row: &Row,
    leg: (usize, Leg),
    solver: &mut Solver,
) -> Option<(Solution, Live)> {
    let mut case = look.results.cases[row.case].clone();
    case.broken.push(leg);
    let template = &look.results.template;
    let live = template.live(look.site, &case);
    let circuit = template.circuit(look.site, &case, row.corner, &live);
    match solver.solve(&circuit) {
        Outcome::Solved(solution) => Some((solution, live)),
        Outcome::Unserved(_) => None,
    }
}

/// The device that is worst off and still goes on when a negative is open, and what carries it.
fn hidden(
    look: &Look<'_>,
    names: &Names<'_>,
    one: &Loop,
    run: usize,
    solver: &mut Solver,
) -> Option<Finding> {
    let (site, template) = (look.site, &look.results.template);
    let branch = template.runs[run].minus?;
    let amps = |row: &Row| look.results.branch(row, branch).map(|a| a.base().abs());
    let (carried, row) = greatest(rows(look, one), amps)?;
    if carried < 1e-6 {
        return None;
    }
    let (solution, live) = opened(look, row, (run, Leg::Minus), solver)?;
    let before = &look.results.live[row.case].devices;
    if live.devices != *before {
        return None;
    }
    // What carries most of it then, besides other negatives.
    let others = one.strands.iter().filter_map(|(s, _)| match s.what {
        What::Minus(_) | What::Tie(_) => None,
        what => Some((solution.branch_a[s.branch?].abs(), what)),
    });
    let (signal, what) = first_greatest(others)?;
    if signal < 1e-3 {
        return None;
    }
    let own = &site.runs[run];
    let [from, to] = [own.from, own.to].map(|end| template.terminals.pair(end)[1]);
    let volts = (solution.node_v[to as usize] - solution.node_v[from as usize]).abs();
    let limit = what.leg().and_then(|(r, _)| {
        let cable = site.runs[r].cable(site)?;
        Some((limit_of(cable)?.0, cable.size))
    });
    let over = limit.is_some_and(|(limit, _)| signal > limit + 1e-9);
    let severity = if over { Severity::Fail } else { Severity::Warn };
    let size = limit.map_or(String::new(), |(_, size)| format!(" ({size})"));
    let message = format!(
        "if {} minus breaks, {} goes on and nobody notices: {signal:.3} A then come back by {}{size}, and {volts:.2} V stand across the break; {}",
        own.name,
        running(look, names, &solution, &live, to),
        what.name(site),
        // A bond is there for safety: nothing may open it.
        match what {
            What::Bond(_) | What::Soil(_) =>
                "end the joint that is not the safety bond, and put no fuse into metal",
            _ => "a small fuse in the signal conductor, or an isolator, shows it",
        }
    );
    let numbers = format!(
        "{} 0 A, {} {signal:.3} A, {volts:.3} V",
        own.name,
        what.name(site)
    );
    let finding = HIDDEN
        .finding(severity, &own.name, message)
        .about(Thing::Run(run))
        .at(row)
        .put_in(numbers);
    Some(match limit {
        Some((limit, _)) => finding.measured(signal, limit, "A"),
        None => finding,
    })
}

/// What stands behind the break, with its volts.
fn running(
    look: &Look<'_>,
    names: &Names<'_>,
    solution: &Solution,
    live: &Live,
    node: NodeId,
) -> String {
    let terminals = &look.results.template.terminals;
    let here =
        (0..look.site.devices.len()).find(|i| live.devices[*i] && terminals.devices[*i][1] == node);
    match here {
        Some(i) => {
            let [plus, minus] = terminals.devices[i].map(|n| solution.node_v[n as usize]);
            format!("{} at {:.2} V", look.site.devices[i].name, plus - minus)
        }
        None => format!("what hangs on {}", names.get(node)),
    }
}

/// What a cut of the data common does to a low, where it makes it worse.
fn cut(look: &Look<'_>, one: &Loop, run: usize, solver: &mut Solver) -> Option<Finding> {
    let now = |row: &Row| {
        let volts = |pair| Some(look.results.between(row, pair)?.base());
        Some(wiegand_low(look, run, row, volts)?.0)
    };
    let (before, row) = greatest(rows(look, one), now)?;
    let (solution, live) = opened(look, row, (run, Leg::Common), solver)?;
    let volts = |[a, b]: [NodeId; 2]| {
        (live.conductor[a as usize] == live.conductor[b as usize])
            .then(|| solution.node_v[a as usize] - solution.node_v[b as usize])
    };
    let (after, shift) = wiegand_low(look, run, row, volts)?;
    if after <= before + 1e-9 {
        return None;
    }
    let name = &look.site.runs[run].name;
    let message = format!(
        "do not just cut the common of {name}: no current flows in it then, but the zero volts of its ends stand {shift:.3} V apart, and a low arrives at {after:.2} V instead of {before:.2} V"
    );
    let mut finding = CUT
        .finding(Severity::Note, name, message)
        .about(Thing::Run(run))
        .at(row)
        .put_in(format!("{before:.3} V with it, {after:.3} V without it"));
    finding.value = Some(after);
    finding.unit = Some("V");
    Some(finding)
}
