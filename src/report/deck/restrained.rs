//! Supplies with a diode or a limiter in a deck: each as it stands in the solution.
//!
//! Their whole law has corners, and is flat where it blocks or holds: a simulator that starts from
//! no volts finds no slope there and gives up. What is written is an ordinary network; that no
//! other regime is right is the solver's word.

use std::fmt::Write as _;

use crate::circuit::{Circuit, Limiter, Source};
use crate::solve::{Regime, Solution};

/// Puts the sources of a circuit into their regimes; without a solution into the one in which
/// they give.
pub(super) fn settle(circuit: &mut Circuit, solution: Option<&Solution>) {
    for restraint in std::mem::take(&mut circuit.restraints) {
        let source = &mut circuit.sources[restraint.source];
        let open_v = restraint.open_v(source.volts_v);
        match solution.and_then(|s| s.regime(restraint.source)) {
            Some(Regime::Blocked) => source.live = false,
            Some(Regime::Limited) => {
                let held =
                    |limiter: Limiter| limiter.held(limiter.knee_v(open_v, source.resistance_ohm));
                source.held = restraint.limiter.and_then(held);
            }
            Some(Regime::Gives) | None => source.volts_v = open_v,
        }
    }
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
