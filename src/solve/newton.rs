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

use std::ops::Range;

use super::element::{Demand, Draw, Flow, State, between};
use super::feedback::Feedback;
use super::ldl::Factor;
use super::network::Network;
use super::plan::Block;

/// Enough to halve a distance of 1 V down to rounding, as at the very cliff.
pub(super) const MOST_STEPS: usize = 80;
/// In so many steps their size at least halves, or they go nowhere: next to the very cliff every
/// single one halves it.
const PATIENCE: usize = 16;
/// A step is shortened so that no volts fall below this part of what they were.
const KEEP: f64 = 0.1;
/// Steps below this part of the source volts that no longer shrink are rounding.
const NOISE: f64 = 1e-9;
/// Steps below this part of the source volts need no successor.
const EXACT: f64 = 4e-16;
/// A step below [`NOISE`] that is this part of the one before it needs no successor either: what
/// is left shrinks at least as much again.
const FAST: f64 = 1e-3;

/// What rounding leaves at a row, as a part of its conductance times the source volts.
const REST: f64 = 16.0 * f64::EPSILON;
/// Amperes over which what is left at a row is never rest: next to a stout leg rounding is more, but
/// so would be what a load changed there, and at 100 ohm this is 1e-9 V.
const MOST_REST_A: f64 = 1e-11;

/// Volts next to those of a known root: as parts of them, for all that draws power.
const NEXT: std::ops::RangeInclusive<f64> = 0.8..=1.25;

/// What is known of the state an iteration starts from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Start {
    /// A guess.
    Guess,
    /// A solution of a circuit that may differ in a few blocks, or in none.
    Near,
    /// The right root for a demand nearby.
    Root,
    /// The right root of every block that has not changed, a guess elsewhere.
    Settled,
}

/// Whether steps of an iteration shrink as those on the way to a root do.
#[derive(Debug)]
pub(super) struct Shrinking {
    before: f64,
    steps: usize,
}

impl Shrinking {
    pub(super) fn new() -> Self {
        Self {
            before: f64::INFINITY,
            steps: 0,
        }
    }

    /// Takes the size of the next step; false where they have not halved for long.
    pub(super) fn goes_on(&mut self, size: f64) -> bool {
        self.steps += 1;
        if self.steps < PATIENCE {
            return true;
        }
        self.steps = 0;
        let halved = size <= 0.5 * self.before;
        self.before = size;
        halved
    }
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
        let mut state = State {
            x: network.start.clone(),
            p: vec![0.0; network.links.len()],
        };
        for block in 0..network.plan.blocks.len() {
            self.cold_block(network, block, &mut state, demand);
        }
        self.feedback.refresh(network, &mut state, demand);
        state
    }

    fn cold_block(&mut self, network: &Network, block: usize, state: &mut State, demand: Demand) {
        let symbolic = &network.plan.symbolic;
        let rows = &network.plan.blocks[block].rows;
        self.take_matrix(network, rows);
        self.balance(network, block, &state.x, |draw| match draw.flow {
            Flow::Power(_) | Flow::Feed(_) => 0.0,
            _ => draw.current(state, demand).0,
        });
        self.fix(network, block);
        if self
            .factor
            .compute(symbolic, rows, &mut self.step, 0)
            .is_none()
        {
            return;
        }
        self.factor.back(symbolic, rows, &mut self.step);
        add(&mut state.x[rows.clone()], &self.step[rows.clone()], 1.0);
        let draws = &network.draws[network.plan.blocks[block].draws.clone()];
        if !draws.iter().any(|draw| draw.draws_power(demand)) {
            return;
        }
        self.balance(network, block, &state.x, |draw| {
            draw.current(state, demand).0
        });
        self.fix(network, block);
        self.factor.solve(symbolic, rows, &mut self.step);
        add(&mut state.x[rows.clone()], &self.step[rows.clone()], 1.0);
        if smallest_power_volts(draws, state, demand) <= 0.0 {
            add(&mut state.x[rows.clone()], &self.step[rows.clone()], -1.0);
        }
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
        (0..network.plan.blocks.len()).all(|block| {
            let settled = start == Start::Settled && !network.changed[block];
            settled || self.newton_block(network, block, state, (demand, start))
        })
    }

    fn newton_block(
        &mut self,
        network: &Network,
        block: usize,
        state: &mut State,
        (demand, start): (Demand, Start),
    ) -> bool {
        let symbolic = &network.plan.symbolic;
        let Block { rows, draws, .. } = &network.plan.blocks[block];
        let draws = &network.draws[draws.clone()];
        if smallest_power_volts(draws, state, demand) <= 0.0 {
            return false;
        }
        if start == Start::Near && self.rests(network, block, state, demand) {
            return true;
        }
        let most = if start == Start::Root {
            self.feedback.most_negative(network)
        } else {
            0
        };
        let known = (most > 0).then(|| state.x.clone());
        // The first step alone does not tell how fast they shrink.
        let mut last = NOISE;
        let mut shrinking = Shrinking::new();
        for k in 0..MOST_STEPS {
            self.assemble(network, block, state, demand);
            let Some(negative) = self.factor.compute(symbolic, rows, &mut self.step, most) else {
                return false;
            };
            self.factor.back(symbolic, rows, &mut self.step);
            let Self {
                feedback,
                factor,
                step,
            } = self;
            if !feedback.extend(network, (factor, negative), step, (&*state, demand)) {
                return false;
            }
            let part = part(draws, state, step, demand);
            add(&mut state.x[rows.clone()], &step[rows.clone()], part);
            add(&mut state.p, feedback.step(), part);
            let size = self.size(network, rows, state);
            if !size.is_finite() {
                return false;
            }
            // What links carry on from pass to pass shrinks in its own way.
            let fast = network.links.is_empty() && size < NOISE && size <= FAST * last;
            let stagnates = k > 0 && size < NOISE && size >= 0.5 * last;
            if part >= 1.0 && (size <= EXACT || fast || stagnates) {
                let near = negative == 0
                    || known.is_some_and(|known| is_next(draws, state, &known, demand));
                let Self {
                    feedback, factor, ..
                } = self;
                return near
                    && feedback.is_right_branch(network, (factor, negative), (state, demand));
            }
            if !shrinking.goes_on(size) {
                return false;
            }
            last = size;
        }
        false
    }

    /// Whether no current but rounding is left over at any row of a block: a solution that is one
    /// of this circuit, too.
    fn rests(&mut self, network: &Network, block: usize, state: &State, demand: Demand) -> bool {
        if !network.links.is_empty() {
            return false;
        }
        self.balance(network, block, &state.x, |draw| {
            draw.current(state, demand).0
        });
        for row in network.fixed_in(block) {
            self.step[*row as usize] = 0.0;
        }
        let rows = &network.plan.blocks[block].rows;
        let mut left = self.step[rows.clone()]
            .iter()
            .zip(&network.diagonal[rows.clone()]);
        left.all(|(amps, siemens)| amps.abs() <= MOST_REST_A.min(REST * siemens * network.scale_v))
    }

    /// Takes what does not change with the potentials as the matrix.
    fn take_matrix(&mut self, network: &Network, rows: &Range<usize>) {
        let entries = network.plan.symbolic.entries_of(rows);
        let diagonal = &network.diagonal[rows.clone()];
        self.factor.diagonal[rows.clone()].copy_from_slice(diagonal);
        self.factor.lower[entries.clone()].copy_from_slice(&network.lower[entries]);
    }

    /// Fills in the matrix and, as right-hand side, minus the current left at each row.
    fn assemble(&mut self, network: &Network, block: usize, state: &State, demand: Demand) {
        self.take_matrix(network, &network.plan.blocks[block].rows);
        let mut factor = std::mem::take(&mut self.factor);
        let (diagonal, lower) = (&mut factor.diagonal[..], &mut factor.lower[..]);
        self.balance(network, block, &state.x, |draw| {
            let (amps, siemens) = draw.current(state, demand);
            // The matrix of the network has the resistances already.
            if matches!(draw.flow, Flow::Power(_) | Flow::Feed(_)) {
                diagonal[draw.rows.0 as usize] += siemens;
                diagonal[draw.rows.1 as usize] += siemens;
                lower[draw.slot as usize] -= siemens;
            }
            amps
        });
        self.factor = factor;
        self.fix(network, block);
    }

    /// Fills in the right-hand side alone.
    fn balance(
        &mut self,
        network: &Network,
        block: usize,
        x: &[f64],
        mut current: impl FnMut(&Draw) -> f64,
    ) {
        let Block { rows, wires, draws } = &network.plan.blocks[block];
        let step = &mut self.step[..];
        step[rows.clone()].fill(0.0);
        // The row of what has none takes what enters and gives it back, but no infinite current of
        // a failed attempt.
        step[network.rows()] = 0.0;
        for wire in &network.wires[wires.clone()] {
            let amps = wire.current(x);
            step[wire.rows.0 as usize] -= amps;
            step[wire.rows.1 as usize] += amps;
        }
        for draw in &network.draws[draws.clone()] {
            let amps = current(draw);
            step[draw.rows.0 as usize] -= amps;
            step[draw.rows.1 as usize] += amps;
        }
    }

    /// Holds the fixed rows where they are.
    fn fix(&mut self, network: &Network, block: usize) {
        for row in network.fixed_in(block) {
            self.factor.diagonal[*row as usize] = 1.0;
            self.step[*row as usize] = 0.0;
        }
    }

    /// Returns the size of the last step as a part of the source volts.
    fn size(&self, network: &Network, rows: &Range<usize>, state: &State) -> f64 {
        let (mut volts, mut sum) = (0.0_f64, 0.0);
        for step in &self.step[rows.clone()] {
            volts = volts.max(step.abs());
            sum += step;
        }
        // `max` drops what is not a number, and a sum does not.
        sum += self.feedback.step().iter().sum::<f64>();
        if f64::is_nan(sum) {
            return f64::NAN;
        }
        // The current of an ideal source is a sum over stout wires, and its noise no reason to go on.
        let noise = network.noise_a * network.scale_v;
        let most = state.p.iter().fold(1.0_f64, |most, p| most.max(p.abs()));
        let watts = self
            .feedback
            .step()
            .iter()
            .fold(0.0_f64, |most, step| most.max(step.abs()));
        let ratio = (watts - noise).max(0.0) / most;
        (volts / network.scale_v).max(ratio)
    }
}

fn add(to: &mut [f64], step: &[f64], part: f64) {
    for (value, step) in to.iter_mut().zip(step) {
        *value += part * step;
    }
}

/// Returns the part of the step that keeps all powers at positive volts.
fn part(draws: &[Draw], state: &State, step: &[f64], demand: Demand) -> f64 {
    let mut part = 1.0_f64;
    for draw in powers(draws, demand) {
        let volts = draw.volts(&state.x);
        let change = between(draw.rows, step);
        if change < (KEEP - 1.0) * volts {
            part = part.min((KEEP - 1.0) * volts / change);
        }
    }
    part
}

/// The loads and feeding devices that draw power.
fn powers(draws: &[Draw], demand: Demand) -> impl Iterator<Item = &Draw> {
    draws.iter().filter(move |draw| draw.draws_power(demand))
}

fn is_next(draws: &[Draw], state: &State, known: &[f64], demand: Demand) -> bool {
    powers(draws, demand).all(|draw| NEXT.contains(&(draw.volts(&state.x) / draw.volts(known))))
}

fn smallest_power_volts(draws: &[Draw], state: &State, demand: Demand) -> f64 {
    powers(draws, demand).fold(f64::INFINITY, |least, draw| least.min(draw.volts(&state.x)))
}
