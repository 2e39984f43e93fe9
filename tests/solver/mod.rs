//! The operating point: against closed forms, printed examples, laws of scale, and a second solver.

mod ac;
mod closed_forms;
mod examples;
mod oracle;
mod properties;
pub(crate) mod random;
mod regime;

use farend::circuit::{Branch, Circuit, Feed, Law, Load, Source};
use farend::solve::{Outcome, Solution, Solver, Unserved};

fn solved(circuit: &Circuit) -> Solution {
    match Solver::new().solve(circuit) {
        Outcome::Solved(solution) => solution,
        Outcome::Unserved(unserved) => panic!("unserved: {unserved:?}"),
    }
}

fn unserved(circuit: &Circuit) -> Unserved {
    match Solver::new().solve(circuit) {
        Outcome::Unserved(unserved) => unserved,
        Outcome::Solved(solution) => panic!("solved: {solution:?}"),
    }
}

/// A circuit under construction; node 0 and 1 are the terminals of an ideal supply.
fn supplied(volts_v: f64) -> Circuit {
    let mut circuit = Circuit {
        nodes: 2,
        ..Circuit::default()
    };
    source(&mut circuit, 0, 1, volts_v, 0.0);
    circuit
}

fn node(circuit: &mut Circuit) -> u32 {
    circuit.nodes += 1;
    u32::try_from(circuit.nodes - 1).unwrap()
}

fn wire(circuit: &mut Circuit, from: u32, to: u32, resistance_ohm: f64) {
    circuit.branches.push(Branch {
        from,
        to,
        resistance_ohm,
    });
}

fn source(circuit: &mut Circuit, plus: u32, minus: u32, volts_v: f64, resistance_ohm: f64) {
    circuit.sources.push(Source {
        plus,
        minus,
        volts_v,
        resistance_ohm,
        live: true,
        held: None,
    });
}

fn load(circuit: &mut Circuit, plus: u32, minus: u32, law: Law) {
    circuit.loads.push(Load { plus, minus, law });
}

/// Makes the last source the output of a device at these terminals.
fn feed(circuit: &mut Circuit, plus: u32, minus: u32, efficiency: f64) {
    let source = circuit.sources.len() - 1;
    circuit.feeds.push(Feed {
        source,
        plus,
        minus,
        efficiency,
    });
}

/// One load at the end of a loop of so many ohms.
fn far_end(volts_v: f64, loop_ohm: f64, law: Law) -> Circuit {
    let mut circuit = supplied(volts_v);
    let end = node(&mut circuit);
    wire(&mut circuit, 0, end, loop_ohm);
    load(&mut circuit, end, 1, law);
    circuit
}
