//! A second solver, slow and dense, written from the equations alone.
//!
//! Unknowns: the potential of every node, the current of every live source, the power of every
//! feed. Equations: Kirchhoff's current law at every node but one in each separate network, where
//! the potential is 0 instead; v+ - v- + r i = E for each source; p η = (v+ - v-) i for each feed.
//! The common factor on Current and Power loads is raised from 0 in small steps, so the root found
//! is the one that hangs together with no load.

use farend::circuit::{Circuit, Law};
use nalgebra::{DMatrix, DVector};

pub(super) enum Answer {
    Point(Point),
    /// The factor at which the way ends.
    Ends(f64),
}

pub(super) struct Point {
    pub(super) node_v: Vec<f64>,
    /// 0 for dead sources.
    pub(super) source_a: Vec<f64>,
    pub(super) feed_w: Vec<f64>,
}

const STEPS: f64 = 40.0;

pub(super) fn solve(circuit: &Circuit) -> Answer {
    let size = circuit.nodes + circuit.sources.len() + circuit.feeds.len();
    let zero = references(circuit);
    let mut at = DVector::zeros(size);
    // Feeds divide by their volts, so they start from the network without them.
    let mut bare = circuit.clone();
    for k in 0..circuit.feeds.len() {
        bare.feeds[k].efficiency = f64::INFINITY;
    }
    if !newton(&bare, &zero, &mut at, 0.0) || !served(circuit, &at, 0.0) {
        return Answer::Ends(0.0);
    }
    if !newton(circuit, &zero, &mut at, 0.0) || !served(circuit, &at, 0.0) {
        return Answer::Ends(0.0);
    }
    let (mut factor, mut step) = (0.0, 1.0 / STEPS);
    while factor < 1.0 {
        let next = f64::min(factor + step, 1.0);
        let mut there = at.clone();
        if newton(circuit, &zero, &mut there, next) && served(circuit, &there, next) {
            (at, factor) = (there, next);
        } else {
            step /= 2.0;
            if step < 1e-8 {
                return Answer::Ends(factor);
            }
        }
    }
    let (nodes, sources) = (circuit.nodes, circuit.sources.len());
    Answer::Point(Point {
        node_v: at.as_slice()[..nodes].to_vec(),
        source_a: at.as_slice()[nodes..nodes + sources].to_vec(),
        feed_w: at.as_slice()[nodes + sources..].to_vec(),
    })
}

fn served(circuit: &Circuit, at: &DVector<f64>, factor: f64) -> bool {
    let volts = |plus: u32, minus: u32| at[plus as usize] - at[minus as usize];
    let loads = circuit.loads.iter().all(|load| match load.law {
        Law::Off => true,
        Law::Current(drawn) | Law::Power(drawn) if drawn * factor == 0.0 => true,
        _ => volts(load.plus, load.minus) > 1e-8,
    });
    loads
        && circuit
            .feeds
            .iter()
            .all(|feed| volts(feed.plus, feed.minus) > 1e-8)
}

/// One node of each network that conducts: the first.
fn references(circuit: &Circuit) -> Vec<bool> {
    let mut island: Vec<usize> = (0..circuit.nodes).collect();
    let mut pairs = Vec::new();
    for branch in circuit
        .branches
        .iter()
        .filter(|branch| branch.resistance_ohm.is_finite())
    {
        pairs.push((branch.from, branch.to));
    }
    for source in circuit.sources.iter().filter(|source| source.live) {
        pairs.push((source.plus, source.minus));
    }
    for load in &circuit.loads {
        if matches!(load.law, Law::Resistance(_)) {
            pairs.push((load.plus, load.minus));
        }
    }
    for _ in 0..circuit.nodes {
        for &(a, b) in &pairs {
            let least = island[a as usize].min(island[b as usize]);
            island[a as usize] = least;
            island[b as usize] = least;
        }
    }
    (0..circuit.nodes)
        .map(|node| island[node] == node)
        .collect()
}

fn newton(circuit: &Circuit, zero: &[bool], at: &mut DVector<f64>, factor: f64) -> bool {
    let mut last = f64::INFINITY;
    for _ in 0..25 {
        let (residual, jacobian) = equations(circuit, zero, at, factor);
        let Some(step) = jacobian.lu().solve(&residual) else {
            return false;
        };
        *at -= &step;
        if !step.amax().is_finite() || at.amax() > 1e6 {
            return false;
        }
        // Next to the cliff rounding is magnified, and steps end in it.
        let stagnates = step.amax() < 1e-8 && step.amax() >= 0.5 * last;
        if step.amax() < 1e-11 || stagnates {
            return true;
        }
        last = step.amax();
    }
    false
}

/// Residual and its derivative.
struct System {
    f: DVector<f64>,
    j: DMatrix<f64>,
}

impl System {
    /// Lets a current pass from one node to another: its value, its derivative by the volts.
    fn pass(&mut self, from: u32, to: u32, amps: f64, siemens: f64) {
        let (a, b) = (from as usize, to as usize);
        self.f[a] += amps;
        self.f[b] -= amps;
        self.j[(a, a)] += siemens;
        self.j[(b, b)] += siemens;
        self.j[(a, b)] -= siemens;
        self.j[(b, a)] -= siemens;
    }
}

fn equations(
    circuit: &Circuit,
    zero: &[bool],
    at: &DVector<f64>,
    factor: f64,
) -> (DVector<f64>, DMatrix<f64>) {
    let mut system = System {
        f: DVector::zeros(at.len()),
        j: DMatrix::zeros(at.len(), at.len()),
    };
    let volts = |plus: u32, minus: u32| at[plus as usize] - at[minus as usize];
    for branch in circuit
        .branches
        .iter()
        .filter(|branch| branch.resistance_ohm.is_finite())
    {
        let g = 1.0 / branch.resistance_ohm;
        system.pass(branch.from, branch.to, g * volts(branch.from, branch.to), g);
    }
    for load in &circuit.loads {
        let v = volts(load.plus, load.minus);
        let (amps, siemens) = match load.law {
            Law::Current(amps) => (factor * amps, 0.0),
            Law::Power(watts) if factor * watts != 0.0 => {
                (factor * watts / v, -factor * watts / (v * v))
            }
            Law::Resistance(ohm) => (v / ohm, 1.0 / ohm),
            Law::Off | Law::Power(_) => (0.0, 0.0),
        };
        system.pass(load.plus, load.minus, amps, siemens);
    }
    sources_and_feeds(circuit, at, &mut system);
    for node in (0..circuit.nodes).filter(|node| zero[*node]) {
        system.f[node] = at[node];
        system.j.row_mut(node).fill(0.0);
        system.j[(node, node)] = 1.0;
    }
    (system.f, system.j)
}

fn sources_and_feeds(circuit: &Circuit, at: &DVector<f64>, system: &mut System) {
    let System { f, j } = system;
    for (k, source) in circuit.sources.iter().enumerate() {
        let (row, p, m) = (
            circuit.nodes + k,
            source.plus as usize,
            source.minus as usize,
        );
        if !source.live {
            f[row] = at[row];
            j[(row, row)] = 1.0;
            continue;
        }
        f[p] -= at[row];
        j[(p, row)] -= 1.0;
        f[m] += at[row];
        j[(m, row)] += 1.0;
        f[row] = at[p] - at[m] + source.resistance_ohm * at[row] - source.volts_v;
        j[(row, p)] += 1.0;
        j[(row, m)] -= 1.0;
        j[(row, row)] += source.resistance_ohm;
    }
    for (k, feed) in circuit.feeds.iter().enumerate() {
        let row = circuit.nodes + circuit.sources.len() + k;
        let (p, m) = (feed.plus as usize, feed.minus as usize);
        let v = at[p] - at[m];
        if feed.efficiency.is_infinite() {
            f[row] = at[row];
            j[(row, row)] = 1.0;
            continue;
        }
        f[p] += at[row] / v;
        f[m] -= at[row] / v;
        for (node, sign) in [(p, 1.0), (m, -1.0)] {
            j[(node, row)] += sign / v;
            j[(node, p)] -= sign * at[row] / (v * v);
            j[(node, m)] += sign * at[row] / (v * v);
        }
        let source = &circuit.sources[feed.source];
        let (sp, sm, amps) = (
            source.plus as usize,
            source.minus as usize,
            circuit.nodes + feed.source,
        );
        let out_v = at[sp] - at[sm];
        f[row] = at[row] - out_v * at[amps] / feed.efficiency;
        j[(row, row)] += 1.0;
        j[(row, amps)] -= out_v / feed.efficiency;
        j[(row, sp)] -= at[amps] / feed.efficiency;
        j[(row, sm)] += at[amps] / feed.efficiency;
    }
}
