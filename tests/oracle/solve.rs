//! Nodal analysis with every source current an unknown, and draws raised from nothing in small
//! steps.
//!
//! The conductors, sources and resistive draws are linear, so every voltage is that of the network
//! without the other draws plus what each ampere of theirs adds (superposition). What is left is
//! one equation a draw: volts times amps is its power.

use super::dense;
use super::network::{Law, Net};

/// Volts of every node and amps of every source.
pub(crate) struct Point {
    pub(crate) volts: Vec<f64>,
    pub(crate) sources: Vec<f64>,
    /// Amps of each wire, in the order of the network's wires.
    pub(crate) wires: Vec<f64>,
    /// Amps of each draw.
    pub(crate) loads: Vec<f64>,
    /// Which nodes are joined by wires or sources.
    pub(crate) group: Vec<usize>,
}

/// Least ohms of a wire that enters by its conductance; below it, its amps are an unknown too.
const CONDUCTANCE_FROM: f64 = 1e-3;

/// Everything is a column of unknowns: node volts, then source amps, then amps of wires of next to
/// no ohms.
struct Linear {
    nodes: usize,
    /// Without draws.
    bare: Vec<f64>,
    /// Added by one ampere of each draw.
    per_amp: Vec<Vec<f64>>,
    group: Vec<usize>,
}

/// The equations of a network without its sources' volts and its draws.
fn matrix(net: &Net) -> Vec<Vec<f64>> {
    let (n, s) = (net.len(), net.sources.len());
    let small = net.wires.values().filter(|w| w.ohms < CONDUCTANCE_FROM);
    let size = n + s + small.count();
    let mut a = vec![vec![0.0; size]; size];
    let conductance = |a: &mut Vec<Vec<f64>>, x: usize, y: usize, ohms: f64| {
        a[x][x] += 1.0 / ohms;
        a[x][y] -= 1.0 / ohms;
        a[y][y] += 1.0 / ohms;
        a[y][x] -= 1.0 / ohms;
    };
    let mut row = n + s;
    for wire in net.wires.values() {
        if wire.ohms >= CONDUCTANCE_FROM {
            conductance(&mut a, wire.a, wire.b, wire.ohms);
            continue;
        }
        a[wire.a][row] += 1.0;
        a[wire.b][row] -= 1.0;
        a[row][wire.a] += 1.0;
        a[row][wire.b] -= 1.0;
        a[row][row] -= wire.ohms;
        row += 1;
    }
    for (i, source) in net.sources.iter().enumerate() {
        let row = n + i;
        if !source.live {
            a[row][row] = 1.0;
            continue;
        }
        a[source.plus][row] -= 1.0;
        a[source.minus][row] += 1.0;
        a[row][source.plus] += 1.0;
        a[row][source.minus] -= 1.0;
        a[row][row] += source.ohms;
    }
    for load in &net.loads {
        if let Law::Ohms(ohms) = load.law {
            conductance(&mut a, load.plus, load.minus, ohms);
        }
    }
    a
}

/// Nodes joined by wires and live sources, each by the least of its group.
fn groups(net: &Net) -> Vec<usize> {
    let wires = net.wires.values().map(|w| (w.a, w.b));
    let sources = net.sources.iter().filter(|s| s.live);
    let mut group: Vec<usize> = (0..net.len()).collect();
    for (x, y) in wires.chain(sources.map(|s| (s.plus, s.minus))) {
        let (keep, gone) = (group[x].min(group[y]), group[x].max(group[y]));
        for g in group.iter_mut().filter(|g| **g == gone) {
            *g = keep;
        }
    }
    group
}

fn linear(net: &Net) -> Linear {
    let n = net.len();
    let mut a = matrix(net);
    let size = a.len();
    let mut columns = Vec::new();
    for load in &net.loads {
        let mut column = vec![0.0; size];
        if !matches!(load.law, Law::Ohms(_)) {
            column[load.plus] -= 1.0;
            column[load.minus] += 1.0;
        }
        columns.push(column);
    }
    let mut volts = vec![0.0; size];
    for (i, source) in net.sources.iter().enumerate().filter(|(_, s)| s.live) {
        volts[n + i] = source.volts;
    }
    columns.push(volts);
    // One node of each separate part is the zero of its volts.
    let group = groups(net);
    for node in (0..n).filter(|node| group[*node] == *node) {
        a[node] = vec![0.0; size];
        a[node][node] = 1.0;
        columns.iter_mut().for_each(|column| column[node] = 0.0);
    }
    let (mut per_amp, _) = dense::solve(a, columns).expect("a network has one solution");
    Linear {
        nodes: n,
        bare: per_amp.pop().unwrap(),
        per_amp,
        group,
    }
}

impl Linear {
    fn everything(&self, amps: &[f64]) -> Vec<f64> {
        let mut x = self.bare.clone();
        for (column, amps) in self.per_amp.iter().zip(amps) {
            x.iter_mut().zip(column).for_each(|(x, c)| *x += c * amps);
        }
        x
    }
}

/// The draws at some factors: the amps of each, and the sign of the equations' determinant.
struct Trace<'n> {
    net: &'n Net,
    linear: Linear,
}

impl Trace<'_> {
    fn volts(&self, x: &[f64], load: usize) -> f64 {
        let load = &self.net.loads[load];
        x[load.plus] - x[load.minus]
    }

    fn of_source(&self, x: &[f64], i: usize) -> (f64, f64) {
        let source = &self.net.sources[i];
        let amps = x[self.linear.nodes + i];
        (x[source.plus] - x[source.minus], amps)
    }

    /// One residual for each draw, and its slope in the amps of each other.
    fn equations(&self, amps: &[f64], own: f64, fed: f64) -> (Vec<f64>, Vec<Vec<f64>>) {
        let x = self.linear.everything(amps);
        let mut residual = Vec::new();
        let mut slopes = Vec::new();
        for (i, load) in self.net.loads.iter().enumerate() {
            let volts = self.volts(&x, i);
            let mut row = vec![0.0; amps.len()];
            match load.law {
                Law::Ohms(_) => {
                    row[i] = 1.0;
                    residual.push(amps[i]);
                }
                Law::Amps(drawn) => {
                    row[i] = 1.0;
                    residual.push(amps[i] - own * drawn);
                }
                Law::Watts(watts) => {
                    residual.push(amps[i] * volts - own * watts);
                    for (slope, column) in row.iter_mut().zip(&self.linear.per_amp) {
                        *slope = amps[i] * self.volts(column, i);
                    }
                    row[i] += volts;
                }
                Law::Feed(source, efficiency) => {
                    let (out, through) = self.of_source(&x, source);
                    residual.push(amps[i] * volts * efficiency - fed * out * through);
                    for (slope, column) in row.iter_mut().zip(&self.linear.per_amp) {
                        let (d_out, d_through) = self.of_source(column, source);
                        *slope = amps[i] * self.volts(column, i) * efficiency
                            - fed * (d_out * through + out * d_through);
                    }
                    row[i] += volts * efficiency;
                }
            }
            slopes.push(row);
        }
        (residual, slopes)
    }

    /// Whether every draw and every feeding device has volts over zero.
    fn is_served(&self, amps: &[f64]) -> bool {
        let x = self.linear.everything(amps);
        (0..amps.len()).all(|i| self.volts(&x, i) > 0.0)
    }

    fn sign(&self, amps: &[f64], own: f64, fed: f64) -> Option<f64> {
        let (_, slopes) = self.equations(amps, own, fed);
        Some(dense::solve(slopes, Vec::new())?.1)
    }

    /// Newton's iteration from near by.
    fn newton(&self, start: &[f64], own: f64, fed: f64) -> Option<Vec<f64>> {
        let mut amps = start.to_vec();
        for _ in 0..20 {
            let (residual, slopes) = self.equations(&amps, own, fed);
            let (mut step, _) = dense::solve(slopes, vec![residual])?;
            let step = step.pop()?;
            amps.iter_mut().zip(&step).for_each(|(a, s)| *a -= s);
            let close = |(a, s): (&f64, &f64)| s.abs() <= 1e-12 * (1.0 + a.abs());
            if amps.iter().zip(&step).all(close) {
                return Some(amps);
            }
        }
        None
    }

    /// Raises a factor from 0 as far as `goal`; returns how far it came.
    fn raise(&self, amps: &mut Vec<f64>, goal: f64, factors: impl Fn(f64) -> (f64, f64)) -> f64 {
        let (own, fed) = factors(0.0);
        let Some(sign) = self.sign(amps, own, fed) else {
            return 0.0;
        };
        let (mut at, mut step) = (0.0, 0.05 * goal);
        while at < goal {
            let next = if at + step >= goal { goal } else { at + step };
            let (own, fed) = factors(next);
            let found = self.newton(amps, own, fed).filter(|found| {
                self.is_served(found) && self.sign(found, own, fed).is_some_and(|s| s * sign > 0.0)
            });
            if let Some(found) = found {
                *amps = found;
                at = next;
                step = (step * 1.5).min(0.05 * goal);
            } else {
                step /= 2.0;
                if step < 1e-7 * goal {
                    return at;
                }
            }
        }
        goal
    }
}

/// The operating point, with the A and W draws raised to `goal` times what they are; or the
/// factor that they reach.
pub(crate) fn solve(net: &Net, goal: f64) -> Result<Point, f64> {
    let trace = Trace {
        net,
        linear: linear(net),
    };
    let mut amps = vec![0.0; net.loads.len()];
    if !trace.is_served(&amps) {
        return Err(0.0);
    }
    if trace.raise(&mut amps, 1.0, |fed| (0.0, fed)) < 1.0 {
        return Err(0.0);
    }
    let reached = trace.raise(&mut amps, goal, |own| (own, 1.0));
    if reached < goal {
        return Err(reached);
    }
    let x = trace.linear.everything(&amps);
    for (i, load) in net.loads.iter().enumerate() {
        if let Law::Ohms(ohms) = load.law {
            amps[i] = trace.volts(&x, i) / ohms;
        }
    }
    let n = trace.linear.nodes;
    let mut small = x[n + net.sources.len()..].iter();
    let wires = net.wires.values().map(|wire| {
        if wire.ohms >= CONDUCTANCE_FROM {
            (x[wire.a] - x[wire.b]) / wire.ohms
        } else {
            *small.next().unwrap()
        }
    });
    Ok(Point {
        wires: wires.collect(),
        volts: x[..n].to_vec(),
        sources: x[n..].to_vec(),
        loads: amps,
        group: trace.linear.group,
    })
}
