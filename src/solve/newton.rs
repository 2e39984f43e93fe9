//! Newton's iteration on the nodal equations, kept where its root is the right one.
//!
//! With G the conductances, b the sources' currents and e the ends of a load of power P, the
//! equations F(x) = G x - b + Σ e P/v = 0 are the gradient of a function whose second derivative
//! is J = G - Σ P/v² e eᵀ. Since P/v² is convex in v, the set {v > 0, J positive definite} is
//! convex, and on it the function is strictly convex: it holds at most one root, the one that is
//! reached from no load. So a root with all pivots of J positive is the right root.
//!
//! Feeds whose power comes back to them add to J what is not symmetric, and move the cliff: the
//! whole derivative, of determinant |J| |I - M| (see `feedback`), may still be regular where J has
//! a negative eigenvalue, at most one for each feed. There a root is believed only next to one
//! known before, and if that determinant has not changed sign.

use super::element::{Demand, Draw, Flow, State, between};
use super::feedback::Feedback;
use super::ldl::Factor;
use super::network::Network;

/// Enough to halve a distance of 1 V down to rounding, as at the very cliff.
const MOST_STEPS: usize = 80;
/// A step is shortened so that no volts fall below this part of what they were.
const KEEP: f64 = 0.1;
/// Steps below this part of the source volts that no longer shrink are rounding.
const NOISE: f64 = 1e-9;
/// Steps below this part of the source volts need no successor.
const EXACT: f64 = 4e-16;
/// A step below [`NOISE`] that is this part of the one before it needs no successor either: what
/// is left shrinks at least as much again.
const FAST: f64 = 1e-3;

/// Volts next to those of a known root: as parts of them, for all that draws power.
const NEXT: std::ops::RangeInclusive<f64> = 0.8..=1.25;

/// What is known of the state an iteration starts from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Start {
    /// A guess.
    Guess,
    /// The right root for a demand nearby.
    Root,
}

/// Storage for one network's iterations.
#[derive(Debug)]
pub(super) struct Work {
    factor: Factor,
    /// Right-hand side, then step.
    step: Vec<f64>,
    feedback: Feedback,
}

impl Work {
    /// Makes room for a network.
    pub(super) fn new(network: &Network) -> Self {
        Self {
            factor: Factor::new(&network.plan.symbolic),
            step: vec![0.0; network.rows() + 1],
            feedback: Feedback::new(network.links.len()),
        }
    }

    /// Returns the state without power loads and feeds, one pass of theirs added if it can be.
    pub(super) fn cold(&mut self, network: &Network, demand: Demand) -> State {
        let symbolic = &network.plan.symbolic;
        let mut state = State {
            x: network.start.clone(),
            p: vec![0.0; network.links.len()],
        };
        let linear = |draw: &Draw| match draw.flow {
            Flow::Power(_) | Flow::Feed(_) => 0.0,
            _ => draw.current(&state, demand).0,
        };
        self.balance(network, &state.x, linear);
        self.factor.diagonal.copy_from_slice(&network.diagonal);
        self.factor.lower.copy_from_slice(&network.lower);
        self.fix(network);
        if self.factor.compute(symbolic, &mut self.step, 0).is_none() {
            return state;
        }
        self.factor.back(symbolic, &mut self.step);
        add(&mut state.x, self.rows(), 1.0);
        let without = state.x.clone();
        let both = |draw: &Draw| draw.current(&state, demand).0;
        self.balance(network, &state.x, both);
        self.fix(network);
        self.factor.solve(symbolic, &mut self.step);
        add(&mut state.x, self.rows(), 1.0);
        if smallest_power_volts(network, &state, demand) <= 0.0 {
            state.x = without;
        }
        self.feedback.refresh(network, &mut state, demand);
        state
    }

    /// Iterates to stagnation; false if that left the region or did not end.
    ///
    /// The state is then of no use.
    pub(super) fn newton(
        &mut self,
        network: &Network,
        state: &mut State,
        demand: Demand,
        start: Start,
    ) -> bool {
        let symbolic = &network.plan.symbolic;
        if smallest_power_volts(network, state, demand) <= 0.0 {
            return false;
        }
        let most = if start == Start::Root {
            self.feedback.most_negative(network)
        } else {
            0
        };
        let known = (most > 0).then(|| state.x.clone());
        // The first step alone does not tell how fast they shrink.
        let mut last = NOISE;
        for k in 0..MOST_STEPS {
            self.assemble(network, state, demand);
            let Some(negative) = self.factor.compute(symbolic, &mut self.step, most) else {
                return false;
            };
            self.factor.back(symbolic, &mut self.step);
            let Self {
                feedback,
                factor,
                step,
            } = self;
            if !feedback.extend(network, (factor, negative), step, (&*state, demand)) {
                return false;
            }
            let part = self.part(network, state, demand);
            add(&mut state.x, self.rows(), part);
            add(&mut state.p, self.feedback.step(), part);
            let size = self.size(network, state);
            if !size.is_finite() {
                return false;
            }
            // What links carry on from pass to pass shrinks in its own way.
            let fast = network.links.is_empty() && size < NOISE && size <= FAST * last;
            let stagnates = k > 0 && size < NOISE && size >= 0.5 * last;
            if part >= 1.0 && (size <= EXACT || fast || stagnates) {
                let near = negative == 0
                    || known.is_some_and(|known| is_next(network, state, &known, demand));
                let Self {
                    feedback, factor, ..
                } = self;
                return near
                    && feedback.is_right_branch(network, (factor, negative), (state, demand));
            }
            last = size;
        }
        false
    }

    /// The step without what concerns no row.
    fn rows(&self) -> &[f64] {
        &self.step[..self.step.len() - 1]
    }

    /// Fills in the matrix and, as right-hand side, minus the current left at each row.
    fn assemble(&mut self, network: &Network, state: &State, demand: Demand) {
        self.factor.diagonal.copy_from_slice(&network.diagonal);
        self.factor.lower.copy_from_slice(&network.lower);
        let (diagonal, lower) = (&mut self.factor.diagonal[..], &mut self.factor.lower[..]);
        let step = &mut self.step[..];
        step.fill(0.0);
        for wire in &network.wires {
            let amps = wire.current(&state.x);
            step[wire.rows.0 as usize] -= amps;
            step[wire.rows.1 as usize] += amps;
        }
        for draw in &network.draws {
            let (amps, siemens) = draw.current(state, demand);
            let (a, b) = (draw.rows.0 as usize, draw.rows.1 as usize);
            step[a] -= amps;
            step[b] += amps;
            // The matrix of the network has the resistances already.
            if matches!(draw.flow, Flow::Power(_) | Flow::Feed(_)) {
                diagonal[a] += siemens;
                diagonal[b] += siemens;
                lower[draw.slot as usize] -= siemens;
            }
        }
        self.fix(network);
    }

    /// Fills in the right-hand side alone.
    fn balance(&mut self, network: &Network, x: &[f64], current: impl Fn(&Draw) -> f64) {
        self.step.fill(0.0);
        for wire in &network.wires {
            let amps = wire.current(x);
            self.step[wire.rows.0 as usize] -= amps;
            self.step[wire.rows.1 as usize] += amps;
        }
        for draw in &network.draws {
            let amps = current(draw);
            self.step[draw.rows.0 as usize] -= amps;
            self.step[draw.rows.1 as usize] += amps;
        }
    }

    /// Holds the fixed rows where they are.
    fn fix(&mut self, network: &Network) {
        for row in &network.fixed {
            self.factor.diagonal[*row as usize] = 1.0;
            self.step[*row as usize] = 0.0;
        }
    }

    /// Returns the part of the step that keeps all powers at positive volts.
    fn part(&self, network: &Network, state: &State, demand: Demand) -> f64 {
        let mut part = 1.0_f64;
        for draw in powers(network, demand) {
            let volts = draw.volts(&state.x);
            let change = between(draw.rows, &self.step);
            if change < (KEEP - 1.0) * volts {
                part = part.min((KEEP - 1.0) * volts / change);
            }
        }
        part
    }

    /// Returns the size of the last step as a part of the source volts.
    fn size(&self, network: &Network, state: &State) -> f64 {
        let volts = self
            .rows()
            .iter()
            .fold(0.0_f64, |most, step| most.max(step.abs()));
        // The current of an ideal source is a sum over stout wires, and its noise no reason to go on.
        let noise = network.noise_a * network.scale_v;
        let most = state.p.iter().fold(1.0_f64, |most, p| most.max(p.abs()));
        let watts = self
            .feedback
            .step()
            .iter()
            .fold(0.0_f64, |most, step| most.max(step.abs()));
        let ratio = (watts - noise).max(0.0) / most;
        // `max` drops what is not a number, and a sum does not.
        if self.rows().iter().sum::<f64>().is_nan() {
            return f64::NAN;
        }
        (volts / network.scale_v).max(ratio)
    }
}

fn add(to: &mut [f64], step: &[f64], part: f64) {
    for (value, step) in to.iter_mut().zip(step) {
        *value += part * step;
    }
}

/// The loads and feeding devices that draw power.
fn powers(network: &Network, demand: Demand) -> impl Iterator<Item = &Draw> {
    let draws = network.draws.iter();
    draws.filter(move |draw| draw.draws_power(demand))
}

fn is_next(network: &Network, state: &State, known: &[f64], demand: Demand) -> bool {
    powers(network, demand).all(|draw| NEXT.contains(&(draw.volts(&state.x) / draw.volts(known))))
}

fn smallest_power_volts(network: &Network, state: &State, demand: Demand) -> f64 {
    powers(network, demand).fold(f64::INFINITY, |least, draw| least.min(draw.volts(&state.x)))
}
