//! Circuits with phase angles: against closed forms, printed examples, a general power-flow
//! library, the real solver, and a second solver.

mod closed_forms;
mod examples;
mod feeders;
mod oracle;
mod pulse;
mod random;

use farend::circuit::{Ac, Circuit, Lag, Law};
use num_complex::Complex64;

use super::{load, node, wire};

/// The angles of a circuit, made if it has none yet; as many as it now has branches and draws.
fn angles(circuit: &mut Circuit) -> &mut Ac {
    let (branches, loads) = (circuit.branches.len(), circuit.loads.len());
    let feeds = circuit.feeds.len();
    let ac = circuit.ac.get_or_insert_default();
    ac.reactance_ohm.resize(branches, 0.0);
    ac.loads.resize(loads, Lag::default());
    ac.feeds.resize(feeds, Lag::default());
    ac
}

/// A conductor with reactance.
fn line(circuit: &mut Circuit, from: u32, to: u32, ohms: Complex64) {
    wire(circuit, from, to, ohms.re);
    if let Some(last) = angles(circuit).reactance_ohm.last_mut() {
        *last = ohms.im;
    }
}

/// Vars for each watt at a power factor.
fn vars(power_factor: f64) -> f64 {
    power_factor.acos().tan()
}

/// A constant apparent power, lagging.
fn apparent(circuit: &mut Circuit, plus: u32, minus: u32, (va, power_factor): (f64, f64)) {
    load(circuit, plus, minus, Law::Power(va * power_factor));
    if let Some(last) = angles(circuit).loads.last_mut() {
        last.vars_per_watt = vars(power_factor);
    }
}

/// A chain of conductors from an ideal supply at nodes 0 and 1, with a draw at the end of each.
fn chain(volts: f64, parts: &[(Complex64, (f64, f64))]) -> Circuit {
    let mut circuit = super::supplied(volts);
    let mut at = 0;
    for (ohms, draw) in parts {
        let next = node(&mut circuit);
        line(&mut circuit, at, next, *ohms);
        apparent(&mut circuit, next, 1, *draw);
        at = next;
    }
    circuit
}
