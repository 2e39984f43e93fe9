//! The powers that feeding devices draw: unknowns beside the potentials.
//!
//! Each power p obeys p = q(x, p), where q is the source's volts times amps over the efficiency.
//! With y the Newton step at fixed p, A dp = -J⁻¹ Σ e `dp_g` / `v_g` the potentials' answer to
//! watts at the devices, and L the derivative of q, the full step is (I - M) dp = q - p + L(y, 0)
//! and dx = y + A dp, where M dp = L(A dp, dp). Applying M costs one solution with the factor, so
//! dp is summed as the series Σ Mᵏ r; feeds usually feel little of their own power and few terms
//! do. Where they do not, and there are few feeds, I - M is made and solved. When no power comes
//! back to its own feed M is nilpotent: leaving it out costs a pass for each link of the chain.

use super::element::{Demand, Draw, Flow, State, Wire, between};
use super::index;
use super::ldl::Factor;
use super::network::{Link, Network};

/// Above this many feeds I - M is never made.
const MOST_DENSE: usize = 64;
/// Most terms of the series where I - M can be made instead, and where it cannot.
const FEW_TERMS: usize = 16;
const MOST_TERMS: usize = 200;
/// The part of the sum below which a term ends the series.
const SMALL_TERM: f64 = 1e-5;
/// The series is given up if in this many terms it does not shrink to this part.
const PATIENCE: (usize, f64) = (8, 0.7);

/// Storage for the feeds' part of an iteration.
#[derive(Debug)]
pub(super) struct Feedback {
    step: Vec<f64>,
    left: Vec<f64>,
    amps: Vec<f64>,
}

impl Feedback {
    /// Makes room for that many feeds.
    pub(super) fn new(feeds: usize) -> Self {
        Self {
            step: vec![0.0; feeds],
            left: Vec::new(),
            amps: Vec::new(),
        }
    }

    /// Returns the last step of the powers.
    pub(super) fn step(&self) -> &[f64] {
        &self.step
    }

    /// Returns whether the feeds, all together, are on the branch that starts from no power.
    ///
    /// There the determinant |J| |I - M| is over 0, and it does not pass 0 before the cliff. A
    /// series that converges from a vector with a part in every direction shows that |I - M| is.
    pub(super) fn is_right_branch(
        &mut self,
        network: &Network,
        (factor, negative): (&Factor, usize),
        at: (&State, Demand),
    ) -> bool {
        if !network.coupled {
            return true;
        }
        let feeds = network.links.len();
        let here = self.point(network, factor, at);
        let mut generic: Vec<f64> = (0..index(feeds))
            .map(|k| f64::from(k).cos() + 1.5)
            .collect();
        if negative == 0 && self.series(&here, &generic).is_some() {
            return true;
        }
        if feeds > MOST_DENSE {
            return false;
        }
        let sign = solve_dense(self.matrix(&here), &mut generic);
        sign.is_some_and(|sign| (sign > 0.0) == negative.is_multiple_of(2))
    }

    /// Returns how many negative eigenvalues of J the feedback may make up for.
    pub(super) fn most_negative(&self, network: &Network) -> usize {
        let feeds = network.links.len();
        if network.coupled && feeds <= MOST_DENSE {
            feeds
        } else {
            0
        }
    }

    /// Sets the powers to what the potentials ask for.
    pub(super) fn refresh(&mut self, network: &Network, state: &mut State, demand: Demand) {
        if network.links.is_empty() {
            return;
        }
        self.currents_at(network, state, demand);
        for (k, link) in network.links.iter().enumerate() {
            let volts = network.source_volts(link.source, &state.x);
            state.p[k] = demand.feeds * link.gain * volts * self.amps[link.source];
        }
    }

    /// Given the factor of J and its number of negative eigenvalues, finds the step of the powers
    /// and completes that of the potentials; false if there is none.
    pub(super) fn extend(
        &mut self,
        network: &Network,
        (factor, negative): (&Factor, usize),
        dx: &mut [f64],
        at: (&State, Demand),
    ) -> bool {
        let feeds = network.links.len();
        if feeds == 0 {
            return true;
        }
        let (state, demand) = at;
        let here = self.point(network, factor, at);
        let mut rest = self.differentiate(&here, dx, &vec![0.0; feeds]);
        for (k, link) in network.links.iter().enumerate() {
            let volts = network.source_volts(link.source, &state.x);
            rest[k] += demand.feeds * link.gain * volts * here.amps[link.source] - state.p[k];
        }
        self.step.copy_from_slice(&rest);
        if !network.coupled {
            return true;
        }
        // Next to a singular J the series is of no use.
        if negative == 0
            && let Some((dp, answer)) = self.series(&here, &rest)
        {
            self.step = dp;
            add(dx, &answer);
            return true;
        }
        if feeds > MOST_DENSE {
            return false;
        }
        let matrix = self.matrix(&here);
        if solve_dense(matrix, &mut self.step).is_none() {
            return false;
        }
        add(dx, &here.answer(&self.step));
        true
    }

    /// Sums Σ Mᵏ r and the potentials' answer to it; nothing if that does not converge.
    ///
    /// Where it does, the spectral radius of M is below 1 and the determinant of I - M over 0.
    fn series(&mut self, here: &Point<'_>, rest: &[f64]) -> Option<(Vec<f64>, Vec<f64>)> {
        let mut sum = rest.to_vec();
        let mut term = rest.to_vec();
        let terms = if rest.len() > MOST_DENSE {
            MOST_TERMS
        } else {
            FEW_TERMS
        };
        let mut before = f64::INFINITY;
        for k in 0..terms {
            if k % PATIENCE.0 == 0 {
                let now = largest(&term);
                if now > PATIENCE.1 * before {
                    return None;
                }
                before = now;
            }
            let answer = here.answer(&term);
            term = self.differentiate(here, &answer, &term);
            add(&mut sum, &term);
            if largest(&term) <= SMALL_TERM * largest(&sum) {
                let answer = here.answer(&sum);
                return Some((sum, answer));
            }
        }
        None
    }

    fn point<'a>(
        &mut self,
        network: &'a Network,
        factor: &'a Factor,
        (state, demand): (&'a State, Demand),
    ) -> Point<'a> {
        self.currents_at(network, state, demand);
        Point {
            network,
            factor,
            state,
            demand,
            amps: self.amps.clone(),
        }
    }

    /// Makes I - M, by columns.
    fn matrix(&mut self, here: &Point<'_>) -> Vec<f64> {
        let feeds = here.network.links.len();
        let mut matrix = Vec::with_capacity(feeds * feeds);
        for g in 0..feeds {
            let mut watt = vec![0.0; feeds];
            watt[g] = 1.0;
            let answer = here.answer(&watt);
            let column = self.differentiate(here, &answer, &watt);
            matrix.extend(watt.iter().zip(column).map(|(unit, change)| unit - change));
        }
        matrix
    }

    fn currents_at(&mut self, network: &Network, state: &State, demand: Demand) {
        let wire = |wire: &Wire| wire.current(&state.x);
        let draw = |draw: &Draw| draw.current(state, demand).0;
        network.source_currents(wire, draw, &mut self.left, &mut self.amps);
    }

    /// Returns the change of q for a change of the potentials and of the powers.
    fn differentiate(&mut self, here: &Point<'_>, dx: &[f64], dp: &[f64]) -> Vec<f64> {
        let network = here.network;
        let wire = |wire: &Wire| wire.siemens * between(wire.rows, dx);
        let draw = |draw: &Draw| {
            let siemens = draw.current(here.state, here.demand).1;
            let change = siemens * between(draw.rows, dx);
            match draw.flow {
                Flow::Feed(feed) => change + dp[feed] / draw.volts(&here.state.x),
                _ => change,
            }
        };
        network.source_currents(wire, draw, &mut self.left, &mut self.amps);
        let change = |link: &Link| {
            let change = between(network.source(link.source).rows, dx) * here.amps[link.source]
                + network.source_volts(link.source, &here.state.x) * self.amps[link.source];
            here.demand.feeds * link.gain * change
        };
        network.links.iter().map(change).collect()
    }
}

/// Where the derivatives are taken.
struct Point<'a> {
    network: &'a Network,
    factor: &'a Factor,
    state: &'a State,
    demand: Demand,
    /// Of the sources.
    amps: Vec<f64>,
}

impl Point<'_> {
    /// Returns the answer of the potentials to more watts at the devices.
    fn answer(&self, watts: &[f64]) -> Vec<f64> {
        let mut answer = vec![0.0; self.network.rows() + 1];
        for (k, watts) in watts.iter().enumerate() {
            let device = self.network.feed(k);
            if matches!(device.flow, Flow::Feed(_)) {
                let amps = watts / device.volts(&self.state.x);
                answer[device.rows.0 as usize] -= amps;
                answer[device.rows.1 as usize] += amps;
            }
        }
        for row in &self.network.fixed {
            answer[*row as usize] = 0.0;
        }
        let rows = 0..self.network.rows();
        self.factor
            .solve(&self.network.plan.symbolic, &rows, &mut answer);
        answer
    }
}

fn add(to: &mut [f64], step: &[f64]) {
    for (value, step) in to.iter_mut().zip(step) {
        *value += step;
    }
}

fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |most, value| value.abs().max(most))
}

/// Solves a small system given by columns, in place, by elimination with row exchange; returns
/// the sign of the determinant, or nothing if it is 0.
pub(super) fn solve_dense(mut matrix: Vec<f64>, rhs: &mut [f64]) -> Option<f64> {
    let size = rhs.len();
    let mut sign = 1.0;
    for k in 0..size {
        let by_size = |a: &usize, b: &usize| {
            matrix[k * size + a]
                .abs()
                .total_cmp(&matrix[k * size + b].abs())
        };
        let best = (k..size).max_by(by_size)?;
        if best != k {
            sign = -sign;
            rhs.swap(k, best);
            for column in k..size {
                matrix.swap(column * size + k, column * size + best);
            }
        }
        let pivot = matrix[k * size + k];
        if pivot == 0.0 || !pivot.is_finite() {
            return None;
        }
        sign *= pivot.signum();
        for row in k + 1..size {
            let factor = matrix[k * size + row] / pivot;
            for column in k + 1..size {
                matrix[column * size + row] -= factor * matrix[column * size + k];
            }
            rhs[row] -= factor * rhs[k];
        }
    }
    for k in (0..size).rev() {
        let above = (k + 1..size)
            .map(|column| matrix[column * size + k] * rhs[column])
            .sum::<f64>();
        rhs[k] = (rhs[k] - above) / matrix[k * size + k];
    }
    Some(sign)
}
