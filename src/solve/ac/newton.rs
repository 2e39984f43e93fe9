//! Newton's iteration on phasors, and how its root is recognised as the right one.
//!
//! Two witnesses stand for the definiteness that the real network has.
//!
//! *Monotone*: let u be the direction of a draw's volts at the root found and r their size. Where
//! Re(v ū) >= r at every draw, a convex set, the derivative of the currents has a symmetric part
//! of at least G - Σ w e eᵀ in each of its two halves, G the real parts of the admittances and w
//! from [`weight`]. Where that matrix is positive definite the currents are strongly monotone on
//! the set, and it holds one root at most. At power factor 1 and without reactance this is the
//! criterion of the real network, word for word.
//!
//! *Tracked*: reactance moves the cliff further out than that. There a root counts that was
//! reached from a known one nearby, in steps that change no draw's volts by more than a quarter,
//! and with the determinant of the whole derivative over 0 all the way: it is over 0 without
//! draws, as that of a passive network, and passes 0 first at the cliff.

use num_complex::Complex64;

use crate::solve::element::Demand;
use crate::solve::ldl;
use crate::solve::newton::{MOST_STEPS, Shrinking};

use super::block::{Matrix, ONE, Pair, plus};
use super::feeds;
use super::system::{Angle, Element, Follows, State, System, weight};

/// A step is shortened so that no volts fall below this part of what they were.
const KEEP: f64 = 0.1;
/// Steps below this part of the source volts that no longer shrink are rounding.
const NOISE: f64 = 1e-9;
/// Steps below this part of the source volts need no successor.
const EXACT: f64 = 4e-16;
/// Volts next to those of a known root: as parts of them, for all that draws.
const NEXT: std::ops::RangeInclusive<f64> = 0.8..=1.25;

/// How a root is recognised.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Witness {
    /// By itself.
    Monotone,
    /// By the root that the iteration starts from.
    Tracked,
}

/// Storage for one system's iterations.
#[derive(Debug)]
pub(super) struct Work {
    matrix: Matrix,
    /// Right-hand side, then step, of the rows and of what has none.
    step: Vec<Pair>,
    /// Step of the feeds' powers.
    watts: Vec<f64>,
}

impl Work {
    /// Makes room for a system.
    pub(super) fn new(system: &System<'_>) -> Self {
        let symbolic = &system.base.plan.symbolic;
        Self {
            matrix: Matrix::new(symbolic),
            step: vec![[0.0; 2]; symbolic.rows() + 1],
            watts: Vec::new(),
        }
    }

    /// Returns the state without draws, one pass of theirs added if it can be.
    pub(super) fn cold(&mut self, system: &System<'_>, demand: Demand) -> State {
        let rest = |system: &System<'_>| State {
            x: system
                .base
                .start
                .iter()
                .map(|v| Complex64::from(*v))
                .collect(),
            p: vec![0.0; system.base.links.len()],
        };
        let mut state = rest(system);
        if self.linear(system, &state).is_none() {
            return state;
        }
        add(&mut state.x, &self.step, 1.0);
        let unloaded = state.x.clone();
        self.balance(system, |k| system.current(k, &state, demand).0);
        self.matrix
            .solve(&system.base.plan.symbolic, &mut self.step);
        add(&mut state.x, &self.step, 1.0);
        let reversed = |element: &Element| {
            let along = (element.volts(&state.x) * element.volts(&unloaded).conj()).re;
            along <= 0.0 || element.useful(&state.x) <= 0.0
        };
        if system.draws(demand).any(reversed) {
            state.x = unloaded;
        }
        state.p = feeds::powers(system, &state, demand);
        state
    }

    /// Volts that currents into the positive rows and out of the negative ones cost at each row,
    /// through conductors, sources and resistances alone.
    pub(super) fn cost(
        &mut self,
        system: &System<'_>,
        currents: &[(usize, Complex64)],
    ) -> Option<Vec<Complex64>> {
        let start = State {
            x: vec![Complex64::ZERO; system.base.start.len()],
            p: vec![0.0; system.base.links.len()],
        };
        self.linear(system, &start)?;
        self.step.fill([0.0; 2]);
        for (k, amps) in currents {
            let rows = system.elements[*k].rows;
            put(&mut self.step, rows, *amps, 1.0);
        }
        self.hold(system);
        self.matrix
            .solve(&system.base.plan.symbolic, &mut self.step);
        Some(
            self.step
                .iter()
                .map(|[re, im]| Complex64::new(*re, *im))
                .collect(),
        )
    }

    /// Factors the network without draws, and solves for the step to its potentials.
    fn linear(&mut self, system: &System<'_>, state: &State) -> Option<bool> {
        let nothing = Demand {
            loads: 0.0,
            feeds: 0.0,
        };
        self.assemble(system, state, nothing);
        let found = self.matrix.factor(&system.base.plan.symbolic)?;
        self.matrix
            .solve(&system.base.plan.symbolic, &mut self.step);
        Some(found)
    }

    /// Iterates to stagnation; false if that left the region, did not end, or found a root that is
    /// not the right one. The state is then of no use.
    pub(super) fn newton(
        &mut self,
        system: &System<'_>,
        state: &mut State,
        demand: Demand,
        witness: Witness,
    ) -> bool {
        if system
            .draws(demand)
            .any(|draw| draw.useful(&state.x) <= 0.0)
        {
            return false;
        }
        let known = state.x.clone();
        let symbolic = &system.base.plan.symbolic;
        let mut last = f64::INFINITY;
        let mut shrinking = Shrinking::new();
        for _ in 0..MOST_STEPS {
            self.assemble(system, state, demand);
            let Some(positive) = self.matrix.factor(symbolic) else {
                return false;
            };
            self.matrix.solve(symbolic, &mut self.step);
            let at = (&*state, demand);
            let Some(dp) = feeds::extend(system, &self.matrix, &mut self.step, at) else {
                return false;
            };
            self.watts = dp;
            let part = self.part(system, state, demand);
            add(&mut state.x, &self.step, part);
            for (p, step) in state.p.iter_mut().zip(&self.watts) {
                *p += part * step;
            }
            let size = self.size(system, state);
            if !size.is_finite() {
                return false;
            }
            let stagnates = size < NOISE && size >= 0.5 * last;
            if part >= 1.0 && (size <= EXACT || stagnates) {
                let whole = || {
                    feeds::sign(system, &self.matrix, (state, demand))
                        .is_some_and(|feeds| feeds == positive)
                };
                return match witness {
                    Witness::Monotone => is_monotone(system, state, demand) && whole(),
                    Witness::Tracked => {
                        let near = |draw: &Element| {
                            NEXT.contains(&(draw.useful(&state.x) / draw.useful(&known)))
                        };
                        system.draws(demand).all(near) && whole()
                    }
                };
            }
            if !shrinking.goes_on(size) {
                return false;
            }
            last = size;
        }
        false
    }

    /// Fills in the matrix and, as right-hand side, minus the current left at each row.
    fn assemble(&mut self, system: &System<'_>, state: &State, demand: Demand) {
        self.matrix.clear();
        self.step.fill([0.0; 2]);
        for (k, element) in system.elements.iter().enumerate() {
            let (a, b) = (element.rows.0 as usize, element.rows.1 as usize);
            if a == b {
                continue;
            }
            let (amps, slope) = system.current(k, state, demand);
            put(&mut self.step, element.rows, amps, -1.0);
            plus(&mut self.matrix.diagonal[a], &slope, 1.0);
            plus(&mut self.matrix.diagonal[b], &slope, 1.0);
            let slot = element.slot as usize;
            plus(&mut self.matrix.upper[slot], &slope, -1.0);
            plus(&mut self.matrix.lower[slot], &slope, -1.0);
        }
        self.hold(system);
    }

    /// Fills in the right-hand side alone.
    fn balance(&mut self, system: &System<'_>, current: impl Fn(usize) -> Complex64) {
        self.step.fill([0.0; 2]);
        for (k, element) in system.elements.iter().enumerate() {
            put(&mut self.step, element.rows, current(k), -1.0);
        }
        self.hold(system);
    }

    /// Keeps the given potentials where they are.
    fn hold(&mut self, system: &System<'_>) {
        for row in &system.base.fixed {
            self.matrix.diagonal[*row as usize] = ONE;
            self.step[*row as usize] = [0.0; 2];
        }
    }

    /// Returns the part of the step that keeps all draws' volts from falling to nothing at once.
    fn part(&self, system: &System<'_>, state: &State, demand: Demand) -> f64 {
        let mut part = 1.0_f64;
        for draw in system.draws(demand) {
            let volts = draw.volts(&state.x);
            let [a, b] = [draw.rows.0, draw.rows.1].map(|row| {
                let [re, im] = self.step[row as usize];
                Complex64::new(re, im)
            });
            let along = ((a - b) * volts.conj()).re / volts.norm();
            let least = (KEEP - 1.0) * draw.useful(&state.x);
            if along < least {
                part = part.min(least / along);
            }
        }
        part
    }

    /// Returns the size of the last step as a part of the source volts.
    fn size(&self, system: &System<'_>, state: &State) -> f64 {
        let volts = self
            .step
            .iter()
            .flatten()
            .fold(0.0_f64, |most, step| most.max(step.abs()));
        let noise = system.base.noise_a * system.base.scale_v;
        let most = state.p.iter().fold(1.0_f64, |most, p| most.max(p.abs()));
        let watts = self
            .watts
            .iter()
            .fold(0.0_f64, |most, step| most.max(step.abs()));
        // `max` drops what is not a number, and a sum does not.
        if self.step.iter().flatten().sum::<f64>().is_nan() {
            return f64::NAN;
        }
        (volts / system.base.scale_v).max((watts - noise).max(0.0) / most)
    }
}

/// Whether the currents are strongly monotone around a state; see the module.
fn is_monotone(system: &System<'_>, state: &State, demand: Demand) -> bool {
    let symbolic = &system.base.plan.symbolic;
    let mut real = ldl::Factor::new(symbolic);
    for element in &system.elements {
        let (a, b) = (element.rows.0 as usize, element.rows.1 as usize);
        if a == b {
            continue;
        }
        let size = element.volts(&state.x).norm();
        let siemens = match element.follows {
            Follows::Admittance(y, _) => y.re,
            Follows::Power(watts, Angle { unit, lost_v }) => {
                -weight(unit * watts * demand.loads, lost_v, size)
            }
            Follows::Feed(feed, Angle { unit, lost_v }) => {
                -weight(unit * state.p[feed], lost_v, size)
            }
            Follows::Held(_, siemens) => -siemens,
            Follows::Open | Follows::Current(_) => 0.0,
        };
        real.diagonal[a] += siemens;
        real.diagonal[b] += siemens;
        real.lower[element.slot as usize] -= siemens;
    }
    for row in &system.base.fixed {
        real.diagonal[*row as usize] = 1.0;
    }
    let rows = symbolic.rows();
    let mut unused = vec![0.0; rows + 1];
    real.compute(symbolic, &(0..rows), &mut unused, 0).is_some()
}

/// Adds a current that flows out of one row and into the other.
fn put(to: &mut [Pair], rows: (u32, u32), amps: Complex64, sign: f64) {
    for (row, sign) in [(rows.0, sign), (rows.1, -sign)] {
        to[row as usize][0] += sign * amps.re;
        to[row as usize][1] += sign * amps.im;
    }
}

fn add(to: &mut [Complex64], step: &[Pair], part: f64) {
    for (value, [re, im]) in to.iter_mut().zip(step) {
        *value += Complex64::new(*re, *im) * part;
    }
}
