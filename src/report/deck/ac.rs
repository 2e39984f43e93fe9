//! A network of phasors as a deck: two networks, one of the real parts and one of the imaginary
//! parts of all volts, coupled by sources. Its operating point is the phasor solution, so any
//! simulator finds it by what it does for dc, constant powers included.

use std::fmt::Write as _;

use crate::circuit::{Ac, Branch, Circuit, Lag, Law, NodeId};
use crate::joined::Joined;
use crate::report::deck::restrained;
use crate::solve::Solution;

/// The two nodes of a terminal: of its real and of its imaginary part.
fn parts(node: NodeId) -> [String; 2] {
    [format!("n{node}"), format!("j{node}")]
}

/// Everything of a circuit with angles; `solution` says where its draws are looked for.
pub(super) fn write(
    circuit: &Circuit,
    ac: &Ac,
    solution: Option<&Solution>,
    island: &[u32],
    out: &mut String,
) {
    for (i, (b, x)) in circuit.branches.iter().zip(&ac.reactance_ohm).enumerate() {
        if b.resistance_ohm.is_finite() && b.from != b.to {
            branch(i, b, *x, out);
        }
    }
    sources(circuit, out);
    for (node, root) in island.iter().enumerate() {
        if node == *root as usize {
            let _ = writeln!(out, "VG{node} n{node} 0 0\nVH{node} j{node} 0 0");
        }
    }
    for (i, (load, lag)) in circuit.loads.iter().zip(&ac.loads).enumerate() {
        let volts = solution.map(|s| s.load_v[i]);
        let ends = (load.plus, load.minus);
        match load.law {
            Law::Off => {}
            Law::Resistance(ohms) => {
                for (part, [p, m]) in ["R", "J"].iter().zip(pairs(ends)) {
                    let _ = writeln!(out, "RL{part}{i} {p} {m} {ohms:e}");
                }
            }
            Law::Current(amps) => current(i, ends, amps, volts, out),
            Law::Power(watts) => {
                power(
                    &format!("BL{i}"),
                    ends,
                    (&format!("{watts:e}"), lag),
                    volts,
                    out,
                );
            }
        }
    }
    for (i, (feed, lag)) in circuit.feeds.iter().zip(&ac.feeds).enumerate() {
        let source = &circuit.sources[feed.source];
        if source.live {
            let [[p, m], [jp, jm]] = pairs((source.plus, source.minus));
            let k = feed.source;
            let watts = format!(
                "(-(I(VS{k}) * V({p},{m}) + I(VT{k}) * V({jp},{jm})) / {:e})",
                feed.efficiency
            );
            let phasors = solution.and_then(|s| s.phasors.as_ref());
            let at = |n: NodeId| phasors.map(|p| p.node_v[n as usize]);
            let volts = at(feed.plus)
                .zip(at(feed.minus))
                .map(|(p, m)| (p - m).norm());
            power(
                &format!("BF{i}"),
                (feed.plus, feed.minus),
                (&watts, lag),
                volts,
                out,
            );
        }
    }
}

/// Plus and minus, real and imaginary.
fn pairs((plus, minus): (NodeId, NodeId)) -> [[String; 2]; 2] {
    let ([p, jp], [m, jm]) = (parts(plus), parts(minus));
    [[p, m], [jp, jm]]
}

/// I = (g + jb) V: a resistor in each part, and across the parts what b makes.
fn branch(i: usize, b: &Branch, reactance_ohm: f64, out: &mut String) {
    let [[p, m], [jp, jm]] = pairs((b.from, b.to));
    let (r, x) = (b.resistance_ohm, reactance_ohm);
    let square = r * r + x * x;
    let ohms = square / r;
    let _ = writeln!(out, "RR{i} {p} {m} {ohms:e}\nRJ{i} {jp} {jm} {ohms:e}");
    if x != 0.0 {
        let siemens = x / square;
        let _ = writeln!(
            out,
            "GR{i} {p} {m} {jp} {jm} {siemens:e}\nGJ{i} {jp} {jm} {p} {m} {:e}",
            -siemens
        );
    }
}

fn sources(circuit: &Circuit, out: &mut String) {
    let mut tied = Joined::apart(circuit.nodes);
    for (i, s) in circuit.sources.iter().enumerate().filter(|(_, s)| s.live) {
        let [[p, m], [jp, jm]] = pairs((s.plus, s.minus));
        if let Some(held) = s.held {
            restrained::held(i, s, out);
            let _ = writeln!(
                out,
                "VT{i} {jp} y{i} 0\nGT{i} {jm} y{i} {jp} {jm} {:e}",
                held.siemens
            );
            continue;
        }
        let volts = s.volts_v;
        let closes = tied.root(s.plus) == tied.root(s.minus);
        let _ = if s.resistance_ohm > 0.0 || closes {
            let ohms = s.resistance_ohm.max(1e-6);
            writeln!(
                out,
                "VS{i} x{i} {m} {volts:e}\nRS{i} x{i} {p} {ohms:e}\nVT{i} y{i} {jm} 0\nRT{i} y{i} {jp} {ohms:e}"
            )
        } else {
            tied.join(s.plus, s.minus);
            writeln!(out, "VS{i} {p} {m} {volts:e}\nVT{i} {jp} {jm} 0")
        };
    }
}

/// The square of the size of the volts, held up where the draw is not looked for.
fn square((p, m): (NodeId, NodeId), volts: Option<f64>) -> String {
    let [[p, m], [jp, jm]] = pairs((p, m));
    let floor = super::floor(volts);
    format!(
        "max(V({p},{m}) * V({p},{m}) + V({jp},{jm}) * V({jp},{jm}), {:e})",
        floor * floor
    )
}

/// A constant current in phase with its volts: a V / |V|.
fn current(i: usize, ends: (NodeId, NodeId), amps: f64, volts: Option<f64>, out: &mut String) {
    let square = square(ends, volts);
    for (part, [p, m]) in ["R", "J"].iter().zip(pairs(ends)) {
        let _ = writeln!(
            out,
            "BL{part}{i} {p} {m} I = {amps:e} * V({p},{m}) / sqrt({square})"
        );
    }
}

/// A constant power: (P - jQ) V / (|V| (|V| - d)), d the volts that diodes lose.
fn power(
    name: &str,
    ends: (NodeId, NodeId),
    (watts, lag): (&str, &Lag),
    volts: Option<f64>,
    out: &mut String,
) {
    let [[p, m], [jp, jm]] = pairs(ends);
    let square = square(ends, volts);
    let over = if lag.lost_v > 0.0 {
        format!("({square} - {:e} * sqrt({square}))", lag.lost_v)
    } else {
        square
    };
    let q = lag.vars_per_watt;
    let _ = writeln!(
        out,
        "{name}R {p} {m} I = {watts} * (V({p},{m}) + {q:e} * V({jp},{jm})) / {over}\n\
         {name}J {jp} {jm} I = {watts} * (V({jp},{jm}) - {q:e} * V({p},{m})) / {over}"
    );
}
