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

use super::element::{Demand, Element, Flow, State};
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
    diagonal: Vec<f64>,
    upper: Vec<f64>,
    factor: Factor,
    /// Right-hand side, then step.
    step: Vec<f64>,
    feedback: Feedback,
}

impl Work {
    /// Makes room for a network.
    pub(super) fn new(network: &Network) -> Self {
        let symbolic = &network.plan.symbolic;
        Self {
            diagonal: vec![0.0; symbolic.rows()],
            upper: vec![0.0; symbolic.entries()],
            factor: Factor::new(symbolic),
            step: vec![0.0; symbolic.rows()],
            feedback: Feedback::new(network.links.len()),
        }
    }

    /// Returns the state without power loads and feeds, one pass of theirs added if it can be.
    pub(super) fn cold(&mut self, network: &Network, demand: Demand) -> State {
        let mut state = State {
            x: network.start.clone(),
            p: vec![0.0; network.links.len()],
        };
        self.assemble(network, |element| match element.flow {
            Flow::Power(_) | Flow::Feed(_) => (0.0, 0.0),
            _ => element.current(&state, demand),
        });
        let (diagonal, upper) = (&self.diagonal, &self.upper);
        let factored = self
            .factor
            .compute(&network.plan.symbolic, diagonal, upper, 0);
        if factored.is_none() {
            return state;
        }
        self.factor.solve(&network.plan.symbolic, &mut self.step);
        add(&mut state.x, &self.step, 1.0);
        let with_powers = state.x.clone();
        self.balance(network, |element| element.current(&state, demand).0);
        self.factor.solve(&network.plan.symbolic, &mut self.step);
        add(&mut state.x, &self.step, 1.0);
        if smallest_power_volts(network, &state, demand) <= 0.0 {
            state.x = with_powers;
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
        let known = state.x.clone();
        let most = if start == Start::Root {
            self.feedback.most_negative(network)
        } else {
            0
        };
        let mut last = f64::INFINITY;
        for _ in 0..MOST_STEPS {
            self.assemble(network, |element| element.current(state, demand));
            let (diagonal, upper) = (&self.diagonal, &self.upper);
            let Some(negative) = self.factor.compute(symbolic, diagonal, upper, most) else {
                return false;
            };
            self.factor.solve(symbolic, &mut self.step);
            let Self {
                feedback,
                factor,
                step,
                ..
            } = self;
            if !feedback.extend(network, (factor, negative), step, (&*state, demand)) {
                return false;
            }
            let part = self.part(network, state, demand);
            add(&mut state.x, &self.step, part);
            add(&mut state.p, self.feedback.step(), part);
            let size = self.size(network, state);
            if !size.is_finite() {
                return false;
            }
            let stagnates = size < NOISE && size >= 0.5 * last;
            if part >= 1.0 && (size <= EXACT || stagnates) {
                let near = negative == 0 || is_next(network, state, &known, demand);
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

    /// Fills in the matrix and, as right-hand side, minus the current left at each row.
    fn assemble(&mut self, network: &Network, current: impl Fn(&Element) -> (f64, f64)) {
        self.diagonal.fill(0.0);
        self.upper.fill(0.0);
        self.step.fill(0.0);
        for (element, &slot) in network.elements.iter().zip(&network.plan.slots) {
            let (amps, siemens) = current(element);
            let (a, b) = (element.rows.0 as usize, element.rows.1 as usize);
            if a == b {
                continue;
            }
            self.step[a] -= amps;
            self.step[b] += amps;
            self.diagonal[a] += siemens;
            self.diagonal[b] += siemens;
            if !(network.fixed[a] || network.fixed[b]) {
                self.upper[slot as usize] -= siemens;
            }
        }
        for (row, _) in network
            .fixed
            .iter()
            .enumerate()
            .filter(|(_, fixed)| **fixed)
        {
            self.diagonal[row] = 1.0;
            self.step[row] = 0.0;
        }
    }

    /// Fills in the right-hand side alone.
    fn balance(&mut self, network: &Network, current: impl Fn(&Element) -> f64) {
        self.step.fill(0.0);
        for element in &network.elements {
            let amps = current(element);
            self.step[element.rows.0 as usize] -= amps;
            self.step[element.rows.1 as usize] += amps;
        }
        for (row, _) in network
            .fixed
            .iter()
            .enumerate()
            .filter(|(_, fixed)| **fixed)
        {
            self.step[row] = 0.0;
        }
    }

    /// Returns the part of the step that keeps all powers at positive volts.
    fn part(&self, network: &Network, state: &State, demand: Demand) -> f64 {
        let mut part = 1.0_f64;
        for element in powers(network, demand) {
            let volts = element.volts(&state.x);
            let change = element.volts(&self.step) - element.shift_v;
            if change < (KEEP - 1.0) * volts {
                part = part.min((KEEP - 1.0) * volts / change);
            }
        }
        part
    }

    /// Returns the size of the last step as a part of the source volts.
    fn size(&self, network: &Network, state: &State) -> f64 {
        let volts = self
            .step
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
        if self.step.iter().sum::<f64>().is_nan() {
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

/// The elements that draw power: loads and feeding devices.
fn powers(network: &Network, demand: Demand) -> impl Iterator<Item = &Element> {
    let from = network.load(0);
    network.elements[from..]
        .iter()
        .filter(move |element| match element.flow {
            Flow::Power(watts) => watts * demand.loads != 0.0,
            Flow::Feed(_) => true,
            _ => false,
        })
}

fn is_next(network: &Network, state: &State, known: &[f64], demand: Demand) -> bool {
    powers(network, demand)
        .all(|element| NEXT.contains(&(element.volts(&state.x) / element.volts(known))))
}

fn smallest_power_volts(network: &Network, state: &State, demand: Demand) -> f64 {
    powers(network, demand).fold(f64::INFINITY, |least, element| {
        least.min(element.volts(&state.x))
    })
}
