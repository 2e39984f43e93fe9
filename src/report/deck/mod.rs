//! The network of one case and corner as a deck for a circuit simulator (SPICE).
//!
//! Constant power is a current source P / V that follows its volts. Below the volts at which this
//! program found the load it turns into a straight line, so that the simulator starts on the high
//! side and stays there. A network of phasors stands in `ac`, supplies with a diode or a limiter
//! in `restrained`.

mod ac;
mod restrained;

use std::fmt::Write as _;

use crate::circuit::{Circuit, Law, NodeId};
use crate::joined::Joined;
use crate::results::{Results, Row};
use crate::site::{Site, Thing};

/// A resistance below this stands for none, and its two ends are written as one node: as a
/// resistor, rounding would keep the simulator from settling.
const LEAST_RESISTOR_OHM: f64 = 5e-7;

/// The deck of a row; run in batch it prints one line `v_NAME = VOLTS` for each device.
pub fn deck(site: &Site, results: &Results, row: &Row) -> String {
    let case = &results.cases[row.case];
    let live = &results.live[row.case];
    let mut circuit = results.template.circuit(site, case, row.corner, live);
    let node = merge(&mut circuit);
    restrained::settle(&mut circuit, row.solution());
    let angled = circuit.ac.is_some();
    let mut out = format!(
        "* {}: case {}, corner {}\n",
        one_line(&site.name),
        one_line(&case.name),
        row.corner.as_str()
    );
    match circuit.ac.take() {
        Some(ac) => ac::write(&circuit, &ac, row.solution(), &live.island, &mut out),
        None => plain(&circuit, row, &live.island, &mut out),
    }
    out += ".options reltol=1e-7 abstol=1e-8 vntol=1e-8 gmin=1e-15 itl1=2000\n.control\nset numdgt=10\nop\n";
    for (i, device) in site.devices.iter().enumerate() {
        let [p, m] = results.template.terminals.devices[i].map(|n| node[n as usize]);
        let name = identifier(&device.name);
        let reached = live.devices[i];
        let value = if !reached || p == m {
            format!("0 * v(n{p})")
        } else if angled {
            format!("sqrt((v(n{p}) - v(n{m}))^2 + (v(j{p}) - v(j{m}))^2)")
        } else if results.on_ac(row, Thing::Device(i)) {
            format!("abs(v(n{p}) - v(n{m}))")
        } else {
            format!("v(n{p}) - v(n{m})")
        };
        let _ = writeln!(out, "let v_{name} = {value}\nprint v_{name}");
    }
    out += "quit\n.endc\n.end\n";
    out
}

/// A network without angles.
fn plain(circuit: &Circuit, row: &Row, island: &[u32], out: &mut String) {
    network(circuit, island, out);
    for (i, load) in circuit.loads.iter().enumerate() {
        let volts = row.solution().map(|s| s.load_v[i]);
        load_lines(i, (load.plus, load.minus), load.law, volts, out);
    }
    for (i, feed) in circuit.feeds.iter().enumerate() {
        let source = &circuit.sources[feed.source];
        if source.live {
            let (p, m) = (feed.plus, feed.minus);
            let watts = format!(
                "-I(VS{}) * V(n{},n{}) / {:e}",
                feed.source, source.plus, source.minus, feed.efficiency
            );
            let volts = row
                .solution()
                .map(|s| s.node_v[p as usize] - s.node_v[m as usize]);
            power_line(&format!("BF{i}"), (p, m), &watts, volts, out);
        }
    }
}

/// A name in which every character but letters and digits is `_`.
pub fn identifier(name: &str) -> String {
    name.chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() {
                c.to_ascii_lowercase()
            } else {
                '_'
            }
        })
        .collect()
}

fn one_line(text: &str) -> String {
    crate::diagnostic::clean(text)
}

/// Makes one node of the ends of every branch of no resistance; returns what became of each node.
fn merge(circuit: &mut Circuit) -> Vec<NodeId> {
    let mut joined = Joined::apart(circuit.nodes);
    for b in &circuit.branches {
        if b.resistance_ohm < LEAST_RESISTOR_OHM {
            joined.join(b.from, b.to);
        }
    }
    let node = joined.roots();
    let branches = circuit
        .branches
        .iter_mut()
        .map(|b| [&mut b.from, &mut b.to]);
    let sources = circuit
        .sources
        .iter_mut()
        .map(|s| [&mut s.plus, &mut s.minus]);
    let loads = circuit
        .loads
        .iter_mut()
        .map(|l| [&mut l.plus, &mut l.minus]);
    let feeds = circuit
        .feeds
        .iter_mut()
        .map(|f| [&mut f.plus, &mut f.minus]);
    for end in branches.chain(sources).chain(loads).chain(feeds).flatten() {
        *end = node[*end as usize];
    }
    node
}

fn network(circuit: &Circuit, island: &[u32], out: &mut String) {
    for (i, b) in circuit
        .branches
        .iter()
        .enumerate()
        .filter(|(_, b)| b.resistance_ohm.is_finite() && b.from != b.to)
    {
        let _ = writeln!(out, "R{i} n{} n{} {:e}", b.from, b.to, b.resistance_ohm);
    }
    // An ideal source stands alone: behind a very small resistance its current would be mostly
    // rounding. Only where ideal sources close a loop does one get a resistance, as in the solver.
    let mut tied = Joined::apart(circuit.nodes);
    for (i, s) in circuit.sources.iter().enumerate().filter(|(_, s)| s.live) {
        if s.held.is_some() {
            restrained::held(i, s, out);
            continue;
        }
        let (plus, minus, volts) = (s.plus, s.minus, s.volts_v);
        let closes = tied.root(plus) == tied.root(minus);
        let _ = if s.resistance_ohm > 0.0 || closes {
            let ohms = s.resistance_ohm.max(1e-6);
            writeln!(
                out,
                "VS{i} x{i} n{minus} {volts:e}\nRS{i} x{i} n{plus} {ohms:e}"
            )
        } else {
            tied.join(plus, minus);
            writeln!(out, "VS{i} n{plus} n{minus} {volts:e}")
        };
    }
    // One node of each island is the reference.
    for (node, root) in island.iter().enumerate() {
        if node == *root as usize {
            let _ = writeln!(out, "VG{node} n{node} 0 0");
        }
    }
}

fn load_lines(i: usize, (p, m): (u32, u32), law: Law, volts: Option<f64>, out: &mut String) {
    let _ = match law {
        Law::Off => Ok(()),
        Law::Current(amps) => writeln!(out, "IL{i} n{p} n{m} {amps:e}"),
        Law::Resistance(ohms) => writeln!(out, "RL{i} n{p} n{m} {ohms:e}"),
        Law::Power(watts) => {
            let watts = format!("{watts:e}");
            power_line(&format!("BL{i}"), (p, m), &watts, volts, out);
            Ok(())
        }
    };
}

/// A draw of constant power that turns into a straight line below the volts it is looked for at.
fn power_line(name: &str, (p, m): (u32, u32), watts: &str, volts: Option<f64>, out: &mut String) {
    let floor = floor(volts);
    let square = floor * floor;
    let _ = writeln!(
        out,
        "{name} n{p} n{m} I = V(n{p},n{m}) > {floor:e} ? {watts} / V(n{p},n{m}) : {watts} * V(n{p},n{m}) / {square:e}"
    );
}

/// The volts under which a draw is not looked for.
fn floor(volts: Option<f64>) -> f64 {
    volts.map_or(1.0, |v| v * 0.99).max(1e-3)
}
