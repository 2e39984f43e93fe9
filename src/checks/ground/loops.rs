//! Loops of negatives, commons, shields and bonds: by name, and how the return divides in them.

use std::collections::{BTreeSet, HashMap, HashSet};

use crate::checks::ground::graph::{self, Loop, Strand, What};
use crate::checks::{Check, Finding, Look, exceeds, first_greatest, greatest, limit_of};
use crate::circuit::NodeId;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Site, Thing};
use crate::units::Measure;

pub(crate) const LOOP: Check = Check {
    code: "ground-loop",
    question: "Can the return current come back by more than one way?",
    formula: "the conductors at zero volts make no loop; in a loop amps divide as 1 / ohms",
    source: "Kirchhoff's laws on the whole network; objectionable current: NEC {objectionable current} (secondary copy seen)",
};
pub(crate) const SIGNAL: Check = Check {
    code: "signal-return",
    question: "Does a signal conductor carry return current of something else?",
    formula: "amps in the data common or shield <= 0.02 A, or <= 5 % of the return at its end",
    source: "common practice, no source; amps by Kirchhoff's laws on the whole network",
};

/// Amps that a signal conductor may carry.
const SIGNAL_A: f64 = 0.02;
/// Share of the return that it may carry.
const SIGNAL_SHARE: f64 = 0.05;
/// Amps that rounding may leave.
const NOISE_A: f64 = 1e-9;
/// Most loops told of.
const MOST: usize = 40;

/// The loops of all cases in which nothing is broken, each once.
pub(super) fn find(look: &Look<'_>) -> Vec<Loop> {
    let mut known: HashSet<BTreeSet<What>> = HashSet::new();
    let mut shapes: HashSet<&[usize]> = HashSet::new();
    let mut found = Vec::new();
    let cases = &look.results.cases;
    let some_whole = cases.iter().any(|case| case.broken.is_empty());
    for (i, case) in cases.iter().enumerate() {
        let whole = case.broken.is_empty() || !some_whole;
        // Only runs that a case fits make it differ at zero volts.
        if !whole || (!shapes.insert(&case.fitted) && some_whole) {
            continue;
        }
        for one in graph::loops(look, i, MOST) {
            let key = one.strands.iter().map(|(s, _)| s.what).collect();
            if found.len() < MOST && known.insert(key) {
                found.push(one);
            }
        }
    }
    found
}

pub(super) fn check(
    look: &Look<'_>,
    (loops, names): (&[Loop], &Names<'_>),
    found: &mut Vec<Finding>,
) {
    let mut told: Vec<Finding> = Vec::new();
    let amps = |finding: &Finding| finding.value.unwrap_or(0.0);
    for one in loops {
        let next = tell(look, names, one);
        // One finding a subject: of the loops that it closes the one with more amps.
        match told.iter_mut().find(|f| f.subject == next.subject) {
            Some(before) if !exceeds(amps(&next), amps(before)) => {}
            Some(before) => *before = next,
            None => told.push(next),
        }
    }
    found.extend(told);
    for (i, _) in look.runs() {
        let branches = look.results.template.runs[i];
        let each = [(branches.common, "common"), (branches.shield, "shield")];
        let own = each
            .into_iter()
            .filter_map(|(branch, word)| signal(look, i, branch?, word));
        // One finding a run: of its two conductors the one that carries more.
        let own = own.map(|finding| (amps(&finding), finding));
        found.extend(first_greatest(own).map(|(_, finding)| finding));
    }
}

/// What people call the nodes at zero volts.
#[derive(Default)]
pub(super) struct Names<'s>(HashMap<NodeId, &'s str>);

impl<'s> Names<'s> {
    pub(super) fn of(look: &Look<'s>) -> Self {
        let (site, terminals) = (look.site, &look.results.template.terminals);
        let mut names = HashMap::new();
        let mut name = |node: NodeId, text: &'s str| {
            names.entry(node).or_insert(text);
        };
        for (i, supply) in site.supplies.iter().enumerate() {
            name(terminals.supplies[i][1], &supply.name);
        }
        for (i, device) in site.devices.iter().enumerate() {
            name(terminals.devices[i][1], &device.name);
            name(terminals.dc_minus[i], &device.name);
            name(terminals.commons[i], &device.name);
        }
        for (i, junction) in site.junctions.iter().enumerate() {
            name(terminals.junctions[i][1], &junction.name);
        }
        for (i, earth) in site.earths.iter().enumerate() {
            name(terminals.earths[i], &earth.name);
        }
        name(terminals.remote, "soil");
        let things = site.supplies.iter().map(|s| &s.name);
        let things = things.chain(site.devices.iter().map(|d| &d.name));
        for (node, text) in terminals.earth_terminals.iter().zip(things) {
            name(*node, text);
        }
        Self(names)
    }

    pub(super) fn get(&self, node: NodeId) -> &str {
        self.0.get(&node).copied().unwrap_or("a terminal")
    }

    /// A loop as a list of what it goes through, back to where it starts.
    pub(super) fn path(&self, site: &Site, one: &Loop) -> String {
        let mut items: Vec<String> = Vec::new();
        for (strand, from) in &one.strands {
            let node = self.get(*from).to_owned();
            if items.last() != Some(&node) {
                items.push(node);
            }
            if !matches!(strand.what, What::Tie(_) | What::Soil(_)) {
                items.push(strand.what.name(site));
            }
        }
        if let Some(first) = items.first().cloned()
            && items.last() != Some(&first)
        {
            items.push(first);
        }
        items.join(" - ")
    }
}

/// How the return divides at the node of a loop where most of it does.
pub(super) struct Split {
    /// The node at which it divides.
    pub(super) at: NodeId,
    /// Both ways and their amps, all away from the node or all towards it.
    pub(super) ways: [(Strand, f64); 2],
}

/// Amps in a strand of a row, counted away from one of its ends.
fn away(look: &Look<'_>, row: &Row, strand: &Strand, from: NodeId) -> Option<f64> {
    let amps = look.results.branch(row, strand.branch?)?.base();
    Some(if strand.ends[0] == from { amps } else { -amps })
}

/// How the return divides in a row.
pub(super) fn split(look: &Look<'_>, one: &Loop, row: &Row) -> Option<Split> {
    // What is inside a device is no way of its own: its two nodes count as one.
    let ways: Vec<&(Strand, NodeId)> = one
        .strands
        .iter()
        .filter(|(s, _)| s.branch.is_some())
        .collect();
    // Of one conductor with known ohms nothing divides.
    if ways.len() < 2 {
        return None;
    }
    let mut found: Vec<(f64, Split)> = Vec::new();
    for (k, (next, node)) in ways.iter().enumerate() {
        let (last, _) = ways[(k + ways.len() - 1) % ways.len()];
        let end = if k == 0 || last.ends.contains(node) {
            *node
        } else {
            // Behind a tie.
            last.ends[usize::from(last.ends[0] == ways[k - 1].1)]
        };
        let (a, b) = (away(look, row, next, *node)?, away(look, row, last, end)?);
        // Rounding is no current, and names no node where what is in series carries the same.
        if a * b > 0.0 && a.abs().min(b.abs()) > NOISE_A {
            let split = Split {
                at: *node,
                ways: [(*last, b.abs()), (*next, a.abs())],
            };
            found.push(((a + b).abs(), split));
        }
    }
    first_greatest(found.into_iter()).map(|(_, split)| split)
}

/// The rows of whole cases in which nothing of a loop is open.
pub(super) fn rows<'l>(look: &'l Look<'_>, one: &'l Loop) -> impl Iterator<Item = &'l Row> {
    let closed = |row: &&Row| {
        let open = &look.results.live[row.case].open;
        one.strands
            .iter()
            .all(|(s, _)| s.branch.is_none_or(|b| !open[b]))
    };
    look.whole_rows().filter(closed)
}

/// The row in which most amps go by the smaller of the two ways.
pub(super) fn worst<'l>(look: &'l Look<'_>, one: &'l Loop) -> Option<(Split, &'l Row)> {
    let side = |row: &Row| split(look, one, row).map(|s| s.ways[0].1.min(s.ways[1].1));
    let (_, row) = greatest(rows(look, one), side)?;
    Some((split(look, one, row)?, row))
}

fn tell(look: &Look<'_>, names: &Names<'_>, one: &Loop) -> Finding {
    let site = look.site;
    let what = one.strands[0].0.what;
    let subject = site.name_of(what.thing()).to_owned();
    let mut message = format!("zero volts make a loop: {}", names.path(site, one));
    let mut numbers = String::new();
    let worst = worst(look, one);
    if let Some((split, _)) = &worst {
        let total = split.ways[0].1 + split.ways[1].1;
        let way = |(strand, amps): &(Strand, f64)| {
            format!(
                "{amps:.3} A ({:.1} %) by {}",
                100.0 * amps / total,
                strand.what.name(site)
            )
        };
        message += &format!(
            "; of {total:.3} A at {} {} and {} come back",
            names.get(split.at),
            way(&split.ways[0]),
            way(&split.ways[1])
        );
        numbers = split
            .ways
            .iter()
            .map(|(s, amps)| format!("{} {amps:.3} A", s.what.name(site)))
            .collect::<Vec<_>>()
            .join(", ");
    }
    message += advice(look, one);
    let mut finding = LOOP
        .finding(Severity::Warn, &subject, message)
        .about(what.thing())
        .put_in(numbers);
    match worst {
        Some((split, row)) => {
            finding = finding.at(row);
            finding.value = Some(split.ways[0].1.min(split.ways[1].1));
            finding.unit = Some("A");
        }
        None => finding.case = Some(one.case),
    }
    finding
}

/// What to do, or not to do, about a loop.
fn advice(look: &Look<'_>, one: &Loop) -> &'static str {
    let has = |is: fn(&What) -> bool| one.strands.iter().any(|(s, _)| is(&s.what));
    let metal = one.strands.iter().any(|(s, _)| match s.what {
        What::Bond(r) => [look.site.runs[r].from, look.site.runs[r].to]
            .iter()
            .any(|end| match end.thing() {
                Thing::Earth(e) => look.site.earths[e].kind.as_deref() == Some("metal"),
                _ => false,
            }),
        _ => false,
    });
    if metal {
        "; metal may seem to cure the data until it is painted or rusts: keep a safety bond, and end the other joint"
    } else if has(|w| matches!(w, What::Soil(_))) {
        "; the soil takes almost none of it and cures nothing"
    } else if has(|w| matches!(w, What::Shield(_))) {
        "; open the shield at one end"
    } else {
        "; an isolator in the data ends it, own pairs for what draws much and thicker negatives make it harmless"
    }
}

/// A data common or shield that carries what it should not.
fn signal(look: &Look<'_>, i: usize, branch: usize, word: &str) -> Option<Finding> {
    let run = &look.site.runs[i];
    let amps = |row: &Row| look.results.branch(row, branch).map(|a| a.base().abs());
    let whole = look.whole_rows();
    let (amps, row) = greatest(whole, amps).filter(|(amps, _)| *amps > SIGNAL_A + 1e-9)?;
    let total = return_at(look, row, branch)?;
    let share = amps / total;
    if share <= SIGNAL_SHARE + 1e-9 {
        return None;
    }
    let own = run.cable(look.site).filter(|_| run.resistance.is_none());
    let limit = own.and_then(limit_of).map(|(amps, _)| amps);
    let over = limit.is_some_and(|limit| amps > limit + 1e-9);
    let (severity, held) = match limit {
        Some(limit) if over => (Severity::Fail, limit),
        _ => (Severity::Warn, SIGNAL_A),
    };
    let message = format!(
        "the {word} of {} carries {amps:.3} A, {:.1} % of the return at its end; it is there for the signal",
        run.name,
        100.0 * share
    );
    Some(
        SIGNAL
            .finding(severity, &run.name, message)
            .about(Thing::Run(i))
            .at(row)
            .measured(amps, held, "A")
            .put_in(format!(
                "{amps:.3} A of {total:.3} A = {:.1} % > 5 %, and > {held} A",
                100.0 * share
            )),
    )
}

/// The return current at the end of a branch from which its current flows: the sum of all that
/// leaves that node by conductors.
fn return_at(look: &Look<'_>, row: &Row, branch: usize) -> Option<f64> {
    let template = &look.results.template;
    let amps = look.results.branch(row, branch)?.base();
    let (from, to) = template.branch_ends(branch);
    let node = if amps >= 0.0 { from } else { to };
    let minus = |i: usize| {
        let b = template.runs[i];
        [b.minus, b.common, b.shield]
    };
    let mut total = 0.0;
    let terminals = &template.terminals;
    // Behind a tie the device's negative is the node at which the return divides.
    let device = terminals.commons.iter().position(|n| *n == node);
    let nodes = [node, device.map_or(node, |d| terminals.dc_minus[d])];
    for b in (0..look.site.runs.len()).flat_map(minus).flatten() {
        let (from, to) = template.branch_ends(b);
        let amps = look.results.branch(row, b)?.base();
        if nodes.contains(&from) && !nodes.contains(&to) {
            total += amps.max(0.0);
        } else if nodes.contains(&to) && !nodes.contains(&from) {
            total += (-amps).max(0.0);
        }
    }
    (total > 0.0).then_some(total)
}
