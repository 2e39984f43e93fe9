//! One signal from end to end, over all runs that it takes.

use std::collections::HashMap;

use crate::checks::Look;
use crate::circuit::{NodeId, run_ohms};
use crate::results::Row;
use crate::site::{Run, Thing, Tie};
use crate::units::Measure;

/// Runs of one signal in a row, from one thing that is no junction to another.
pub(crate) struct Line {
    /// In order, from the first end on.
    pub(crate) runs: Vec<usize>,
    /// What is at its two ends.
    pub(crate) ends: [Thing; 2],
}

/// The lines of one kind of signal: a junction with two runs of it passes it on.
pub(crate) fn lines(look: &Look<'_>, carries: impl Fn(&Run) -> bool) -> Vec<Line> {
    let runs = &look.site.runs;
    let all: Vec<usize> = (0..runs.len())
        .filter(|i| carries(&runs[*i]) && look.is_fitted(*i))
        .collect();
    let mut at: HashMap<Thing, Vec<usize>> = HashMap::new();
    for i in &all {
        for end in [runs[*i].from, runs[*i].to] {
            at.entry(end.thing()).or_default().push(*i);
        }
    }
    let mut seen = vec![false; runs.len()];
    let mut lines = Vec::new();
    for i in all {
        if seen[i] {
            continue;
        }
        seen[i] = true;
        let mut line = Line {
            runs: vec![i],
            ends: [runs[i].from.thing(), runs[i].to.thing()],
        };
        for side in [1, 0] {
            while let Some(next) = passed_on(&at, line.ends[side], &seen) {
                seen[next] = true;
                let (from, to) = (runs[next].from.thing(), runs[next].to.thing());
                line.ends[side] = if from == line.ends[side] { to } else { from };
                let place = if side == 1 { line.runs.len() } else { 0 };
                line.runs.insert(place, next);
            }
        }
        lines.push(line);
    }
    lines
}

/// The run by which a junction passes a signal on.
fn passed_on(at: &HashMap<Thing, Vec<usize>>, end: Thing, seen: &[bool]) -> Option<usize> {
    let runs = at.get(&end).filter(|_| matches!(end, Thing::Junction(_)))?;
    let [a, b] = runs.as_slice() else { return None };
    [*a, *b].into_iter().find(|i| !seen[*i])
}

impl Line {
    /// Its length in metres.
    pub(crate) fn metres(&self, look: &Look<'_>) -> f64 {
        let runs = self.runs.iter().map(|i| &look.site.runs[*i]);
        runs.map(|run| run.length.base()).sum()
    }

    /// Ohms of one of its conductors in a row.
    pub(crate) fn ohms(&self, look: &Look<'_>, row: &Row) -> f64 {
        let case = &look.results.cases[row.case];
        let ohms = self.runs.iter().map(|i| {
            let run = &look.site.runs[*i];
            run_ohms(look.site, run, row.corner.temperature(look.site, run, case))[2]
        });
        ohms.sum()
    }

    /// The run that stands for it: the one with what `has` looks for, else the first.
    pub(crate) fn main(&self, look: &Look<'_>, has: impl Fn(&Run) -> bool) -> usize {
        let found = self.runs.iter().find(|i| has(&look.site.runs[**i]));
        *found.unwrap_or(&self.runs[0])
    }
}

/// The zero volts of a thing's drivers: its data common.
pub(crate) fn sent_from(look: &Look<'_>, thing: Thing) -> Option<NodeId> {
    let terminals = &look.results.template.terminals;
    Some(match thing {
        Thing::Device(i) => terminals.commons[i],
        Thing::Supply(i) => terminals.supplies[i][1],
        Thing::Junction(i) => terminals.junctions[i][1],
        Thing::Fuse(_) | Thing::Earth(_) | Thing::Run(_) => return None,
    })
}

/// The zero volts of a thing's inputs: its negative, behind a rectifier that of its dc side, and
/// behind an isolator its data common.
pub(crate) fn taken_at(look: &Look<'_>, thing: Thing) -> Option<NodeId> {
    match thing {
        Thing::Device(i) if look.site.devices[i].tie != Tie::Isolated => {
            Some(look.results.template.terminals.dc_minus[i])
        }
        other => sent_from(look, other),
    }
}
