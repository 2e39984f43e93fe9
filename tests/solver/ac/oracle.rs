//! A second solver of phasors, slow and dense, written from the equations alone.
//!
//! The conductors, sources and resistances are linear: one factorization by a library gives the
//! volts without draws and what each ampere of each draw adds. What is left is one equation a draw,
//! volts times conjugate amps is its power, solved by Newton's iteration with derivatives by
//! differences, while the draws are raised from nothing in small steps.

use farend::circuit::{Circuit, Law};
use nalgebra::{Complex, DMatrix, DVector};

type C = Complex<f64>;

pub(super) enum Answer {
    /// Volts of each load, and watts of each feed.
    Point(Vec<C>, Vec<f64>),
    /// The factor at which the way ends.
    Ends(f64),
}

const STEPS: f64 = 25.0;

/// Volts of every node and amps of every source, without draws and by ampere of each.
struct Linear<'a> {
    circuit: &'a Circuit,
    bare: DVector<C>,
    /// Columns: the loads, then the feeds.
    per_amp: DMatrix<C>,
}

pub(super) fn solve(circuit: &Circuit) -> Answer {
    let linear = Linear::of(circuit);
    let mut amps = DVector::zeros(circuit.loads.len() + circuit.feeds.len());
    if !linear.newton(&mut amps, 0.0) || !linear.is_served(&amps, 0.0) {
        return Answer::Ends(0.0);
    }
    let (mut factor, mut step) = (0.0, 1.0 / STEPS);
    while factor < 1.0 {
        let next = f64::min(factor + step, 1.0);
        let mut there = amps.clone();
        if linear.newton(&mut there, next) && linear.is_served(&there, next) {
            (amps, factor) = (there, next);
        } else {
            step /= 2.0;
            if step < 1e-8 {
                return Answer::Ends(factor);
            }
        }
    }
    let state = linear.state(&amps);
    let loads = circuit.loads.iter();
    let volts = loads
        .map(|l| state[l.plus as usize] - state[l.minus as usize])
        .collect();
    let feeds = (0..circuit.feeds.len())
        .map(|f| linear.fed(f, &state))
        .collect();
    Answer::Point(volts, feeds)
}

impl<'a> Linear<'a> {
    fn of(circuit: &'a Circuit) -> Self {
        let (n, s) = (circuit.nodes, circuit.sources.len());
        let mut a: DMatrix<C> = DMatrix::zeros(n + s, n + s);
        let mut rhs: DVector<C> = DVector::zeros(n + s);
        let mut near: Vec<(u32, u32)> = Vec::new();
        let admit = |a: &mut DMatrix<C>, p: u32, m: u32, y: C| {
            let (p, m) = (p as usize, m as usize);
            a[(p, p)] += y;
            a[(m, m)] += y;
            a[(p, m)] -= y;
            a[(m, p)] -= y;
        };
        let ac = circuit.ac.as_ref().unwrap();
        for (branch, x) in circuit.branches.iter().zip(&ac.reactance_ohm) {
            if branch.resistance_ohm.is_finite() {
                let y = C::new(branch.resistance_ohm, *x).inv();
                admit(&mut a, branch.from, branch.to, y);
                near.push((branch.from, branch.to));
            }
        }
        for load in &circuit.loads {
            if let Law::Resistance(ohm) = load.law {
                admit(&mut a, load.plus, load.minus, C::from(1.0 / ohm));
                near.push((load.plus, load.minus));
            }
        }
        for (k, source) in circuit.sources.iter().enumerate() {
            let (p, m, row) = (source.plus as usize, source.minus as usize, n + k);
            if source.live {
                a[(p, row)] -= C::from(1.0);
                a[(m, row)] += C::from(1.0);
                a[(row, p)] += C::from(1.0);
                a[(row, m)] -= C::from(1.0);
                a[(row, row)] += C::from(source.resistance_ohm);
                rhs[row] = C::from(source.volts_v);
                near.push((source.plus, source.minus));
            } else {
                a[(row, row)] = C::from(1.0);
            }
        }
        // One node of each part that conducts is at 0 V.
        let mut part: Vec<usize> = (0..n).collect();
        for _ in 0..n {
            for (p, m) in &near {
                let least = part[*p as usize].min(part[*m as usize]);
                (part[*p as usize], part[*m as usize]) = (least, least);
            }
        }
        let zero = (0..n).filter(|node| part[*node] == *node);
        for node in zero {
            a.row_mut(node).fill(C::from(0.0));
            a[(node, node)] = C::from(1.0);
        }
        let loads = circuit.loads.iter().map(|l| (l.plus, l.minus));
        let feeds = circuit.feeds.iter().map(|f| (f.plus, f.minus));
        let ends: Vec<(u32, u32)> = loads.chain(feeds).collect();
        let mut unit: DMatrix<C> = DMatrix::zeros(n + s, ends.len());
        for (column, (p, m)) in ends.iter().enumerate() {
            for (node, sign) in [(*p as usize, -1.0), (*m as usize, 1.0)] {
                if part[node] != node {
                    unit[(node, column)] += C::from(sign);
                }
            }
        }
        let lu = a.lu();
        Self {
            circuit,
            bare: lu.solve(&rhs).unwrap(),
            per_amp: lu.solve(&unit).unwrap(),
        }
    }

    fn state(&self, amps: &DVector<C>) -> DVector<C> {
        &self.bare + &self.per_amp * amps
    }

    /// Watts that a feed takes, from what its source gives.
    fn fed(&self, feed: usize, state: &DVector<C>) -> f64 {
        let feed = &self.circuit.feeds[feed];
        let source = &self.circuit.sources[feed.source];
        let volts = state[source.plus as usize] - state[source.minus as usize];
        (volts * state[self.circuit.nodes + feed.source].conj()).re / feed.efficiency
    }

    /// What is left of each draw's equation.
    fn off(&self, (amps, state): (&DVector<C>, &DVector<C>), factor: f64) -> DVector<C> {
        let circuit = self.circuit;
        let ac = circuit.ac.as_ref().unwrap();
        let mut off = DVector::zeros(amps.len());
        let power = |volts: C, amps: C, watts: f64, lag: &farend::circuit::Lag| {
            let useful = 1.0 - lag.lost_v / volts.norm();
            volts * amps.conj() * useful - C::new(1.0, lag.vars_per_watt) * watts
        };
        for (k, load) in circuit.loads.iter().enumerate() {
            let volts = state[load.plus as usize] - state[load.minus as usize];
            off[k] = match load.law {
                Law::Power(watts) => power(volts, amps[k], watts * factor, &ac.loads[k]),
                Law::Current(drawn) => amps[k] - volts * (drawn * factor / volts.norm()),
                Law::Resistance(_) | Law::Off => amps[k],
            };
        }
        for (f, feed) in circuit.feeds.iter().enumerate() {
            let k = circuit.loads.len() + f;
            let volts = state[feed.plus as usize] - state[feed.minus as usize];
            off[k] = power(volts, amps[k], self.fed(f, state), &ac.feeds[f]);
        }
        off
    }

    fn newton(&self, amps: &mut DVector<C>, factor: f64) -> bool {
        let size = amps.len();
        let split = |v: &DVector<C>| {
            DVector::from_fn(
                2 * size,
                |i, _| if i < size { v[i].re } else { v[i - size].im },
            )
        };
        let mut last = f64::INFINITY;
        for _ in 0..30 {
            let state = self.state(amps);
            let here = split(&self.off((amps, &state), factor));
            let mut jacobian = DMatrix::zeros(2 * size, 2 * size);
            const BIT: f64 = 1e-6;
            for column in 0..2 * size {
                let change = if column < size {
                    C::new(BIT, 0.0)
                } else {
                    C::new(0.0, BIT)
                };
                let at = column % size;
                let moved = |sign: f64| {
                    let (mut amps, mut state) = (amps.clone(), state.clone());
                    amps[at] += change * sign;
                    state += self.per_amp.column(at) * (change * C::from(sign));
                    split(&self.off((&amps, &state), factor))
                };
                let slope = (moved(1.0) - moved(-1.0)) / (2.0 * BIT);
                jacobian.set_column(column, &slope);
            }
            let Some(step) = jacobian.lu().solve(&here) else {
                return false;
            };
            for k in 0..size {
                amps[k] -= C::new(step[k], step[size + k]);
            }
            let length = step.amax();
            if !length.is_finite() || length > 1e6 {
                return false;
            }
            if length < 1e-12 || (length < 1e-8 && length >= 0.5 * last) {
                return true;
            }
            last = length;
        }
        false
    }

    fn is_served(&self, amps: &DVector<C>, factor: f64) -> bool {
        let (circuit, state) = (self.circuit, self.state(amps));
        let ac = circuit.ac.as_ref().unwrap();
        let volts = |p: u32, m: u32| (state[p as usize] - state[m as usize]).norm();
        let loads = circuit
            .loads
            .iter()
            .zip(&ac.loads)
            .all(|(load, lag)| match load.law {
                Law::Off => true,
                Law::Current(drawn) | Law::Power(drawn) if drawn * factor == 0.0 => true,
                _ => volts(load.plus, load.minus) > lag.lost_v + 1e-8,
            });
        let feeds = circuit.feeds.iter().zip(&ac.feeds);
        loads
            && feeds
                .into_iter()
                .all(|(f, lag)| volts(f.plus, f.minus) > lag.lost_v + 1e-8)
    }
}
