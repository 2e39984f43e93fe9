//! Supplies with a diode or a limiter in a deck.
//!
//! One behind ohms of its own is written as its whole law, so that the simulator finds by itself
//! whether it gives, blocks or is held. An ideal one, and any in a network of phasors, is written
//! as it stands in the solution: a law without ohms is a step, on which no simulator settles.

use std::fmt::Write as _;

use crate::circuit::{Circuit, Limiter, Restraint, Source};
use crate::solve::{Regime, Solution};

/// Puts what cannot be written as a law as it stands in a solution; those that can stay in
/// `Circuit::restraints`.
pub(super) fn settle(circuit: &mut Circuit, solution: Option<&Solution>) {
    let angled = circuit.ac.is_some();
    let sources = &mut circuit.sources;
    circuit.restraints.retain(|restraint| {
        let source = &mut sources[restraint.source];
        if source.live && source.resistance_ohm > 0.0 && !angled {
            return true;
        }
        let (open_v, knee_v) = volts(restraint, source);
        match solution.and_then(|s| s.regime(restraint.source)) {
            Some(Regime::Blocked) => source.live = false,
            Some(Regime::Limited) => source.held = restraint.limiter.and_then(|l| l.held(knee_v)),
            Some(Regime::Gives) | None => source.volts_v = open_v,
        }
        false
    });
}

/// Volts without load, and those at which the limiter begins.
fn volts(restraint: &Restraint, source: &Source) -> (f64, f64) {
    let open_v = restraint.open_v(source.volts_v);
    let knee_v = |limiter: Limiter| limiter.knee_v(open_v, source.resistance_ohm);
    (open_v, restraint.limiter.map_or(0.0, knee_v))
}

/// The law of a source behind ohms: amps out of its plus over its volts.
pub(super) fn law(i: usize, source: &Source, restraint: &Restraint, out: &mut String) {
    let (p, m) = (source.plus, source.minus);
    let (open_v, knee_v) = volts(restraint, source);
    let mut amps = format!("({open_v:e} - V(n{p},n{m})) / {:e}", source.resistance_ohm);
    if let Some(held) = restraint.limiter.and_then(|l| l.held(knee_v)) {
        let limit = format!("{:e} + {:e} * V(n{p},n{m})", held.amps_a, held.siemens);
        amps = format!("min({amps}, {limit})");
    }
    if restraint.diode_v.is_some() {
        amps = format!("max(0, {amps})");
    }
    let _ = writeln!(out, "VS{i} n{p} x{i} 0\nBS{i} n{m} x{i} I = {amps}");
}

/// A source at its limit.
pub(super) fn held(i: usize, source: &Source, out: &mut String) {
    let Some(held) = source.held else { return };
    let (p, m) = (source.plus, source.minus);
    let _ = writeln!(
        out,
        "VS{i} n{p} x{i} 0\nIH{i} n{m} x{i} {:e}\nGH{i} n{m} x{i} n{p} n{m} {:e}",
        held.amps_a, held.siemens
    );
}

/// Where the simulator starts: a law that is flat at no volts gives it no slope to go by from
/// there. It leaves the start as soon as it iterates.
pub(super) fn start(circuit: &Circuit, solution: &Solution, island: &[u32], out: &mut String) {
    let at = |node: u32| solution.node_v[node as usize];
    let draws = circuit.loads.iter().map(|load| (load.plus, load.minus));
    let sources = circuit.sources.iter().map(|s| (s.plus, s.minus));
    let branches = circuit.branches.iter().map(|b| (b.from, b.to));
    let mut nodes: Vec<u32> = draws
        .chain(sources)
        .chain(branches)
        .flat_map(|(a, b)| [a, b])
        .collect();
    nodes.sort_unstable();
    nodes.dedup();
    for node in nodes {
        let over = at(node) - at(island[node as usize]);
        let _ = writeln!(out, ".nodeset V(n{node})={over:e}");
    }
}
