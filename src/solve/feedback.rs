//! The powers that feeding devices draw: unknowns beside the potentials.
//!
//! Each power p obeys p = q(x, p), where q is the source's volts times amps over the efficiency.
//! With y the Newton step at fixed p, `a_g` = -J⁻¹ `e_g` / `v_g` the potentials' answer to a watt
//! at device g, and L the derivative of q, the full step is (I - M) dp = q - p + L(y, 0) and
//! dx = y + Σ `a_g` `dp_g`, where M has the columns L(`a_g`, `1_g`). When no power comes back to
//! its own feed M is nilpotent: leaving it out costs a pass for each link of the chain.

use super::ldl::Factor;
use super::network::{Demand, Element, Flow, Network, State};

/// Above this many feeds M is left out even when they are coupled.
const MOST_COUPLED: usize = 64;
/// M is made anew while steps are above this part of the source volts.
const NEAR: f64 = 1e-3;

/// Storage for the feeds' part of an iteration.
#[derive(Debug)]
pub(super) struct Feedback {
    step: Vec<f64>,
    /// Answers of the potentials to a watt at each device.
    answers: Vec<Vec<f64>>,
    /// I - M by columns; empty until made.
    matrix: Vec<f64>,
    stable: bool,
    left: Vec<f64>,
    amps: Vec<f64>,
    change: Vec<f64>,
}

impl Feedback {
    /// Makes room for that many feeds.
    pub(super) fn new(feeds: usize) -> Self {
        Self {
            step: vec![0.0; feeds],
            answers: Vec::new(),
            matrix: Vec::new(),
            stable: true,
            left: Vec::new(),
            amps: Vec::new(),
            change: Vec::new(),
        }
    }

    /// Returns the last step of the powers.
    pub(super) fn step(&self) -> &[f64] {
        &self.step
    }

    /// Returns whether the feeds, all together, are on the branch that starts from no power.
    ///
    /// There the determinant of I - M is 1, and it does not pass 0 before the cliff.
    pub(super) fn is_stable(&self) -> bool {
        self.stable
    }

    /// Drops what is known of another state.
    pub(super) fn forget(&mut self) {
        self.matrix.clear();
        self.stable = true;
    }

    /// Sets the powers to what the potentials ask for.
    pub(super) fn refresh(&mut self, network: &Network, state: &mut State, demand: Demand) {
        if network.links.is_empty() {
            return;
        }
        self.currents(network, |element| element.current(state, demand).0);
        for (k, link) in network.links.iter().enumerate() {
            let volts = network.volts(network.source(link.source), &state.x);
            state.p[k] = demand.feeds * link.gain * volts * self.amps[link.source];
        }
    }

    /// Finds the step of the powers and completes that of the potentials; false if there is none.
    pub(super) fn extend(
        &mut self,
        network: &Network,
        factor: &Factor,
        dx: &mut [f64],
        at: (&State, Demand),
    ) -> bool {
        let feeds = network.links.len();
        if feeds == 0 {
            return true;
        }
        let (state, demand) = at;
        let mut wanted = State {
            x: Vec::new(),
            p: vec![0.0; feeds],
        };
        self.currents(network, |element| element.current(state, demand).0);
        let amps = self.amps.clone();
        for (k, link) in network.links.iter().enumerate() {
            let volts = network.volts(network.source(link.source), &state.x);
            wanted.p[k] = demand.feeds * link.gain * volts * amps[link.source] - state.p[k];
        }
        self.differentiate(network, at, &amps, (dx, None));
        for (step, change) in wanted.p.iter_mut().zip(&self.change) {
            *step += change;
        }
        self.step.copy_from_slice(&wanted.p);
        if !network.coupled || feeds > MOST_COUPLED {
            return true;
        }
        let largest = dx.iter().fold(0.0_f64, |most, step| most.max(step.abs()));
        if self.matrix.is_empty() || largest > NEAR * network.scale_v {
            self.respond(network, factor, at, &amps);
        }
        let Some(determinant) = solve_dense(self.matrix.clone(), &mut self.step) else {
            return false;
        };
        self.stable = determinant > 0.0;
        for (answer, watts) in self.answers.iter().zip(&self.step) {
            for (to, from) in dx.iter_mut().zip(answer) {
                *to += from * watts;
            }
        }
        true
    }

    fn currents(&mut self, network: &Network, current: impl Fn(&Element) -> f64) {
        network.source_currents(current, &mut self.left, &mut self.amps);
    }

    /// Makes the answers and I - M.
    fn respond(&mut self, network: &Network, factor: &Factor, at: (&State, Demand), amps: &[f64]) {
        let feeds = network.links.len();
        self.matrix.clear();
        self.answers.resize(feeds, Vec::new());
        for g in 0..feeds {
            let mut answer = std::mem::take(&mut self.answers[g]);
            answer.clear();
            answer.resize(network.fixed.len(), 0.0);
            let device = &network.elements[network.feed(g)];
            if matches!(device.flow, Flow::Feed(_)) {
                let amps_per_watt = device.volts(&at.0.x).recip();
                answer[device.rows.0 as usize] -= amps_per_watt;
                answer[device.rows.1 as usize] += amps_per_watt;
                for row in [device.rows.0 as usize, device.rows.1 as usize] {
                    if network.fixed[row] {
                        answer[row] = 0.0;
                    }
                }
                factor.solve(&network.plan.symbolic, &mut answer);
            }
            self.differentiate(network, at, amps, (&answer, Some(g)));
            let column = self.change.iter().enumerate();
            self.matrix
                .extend(column.map(|(f, change)| f64::from(u8::from(f == g)) - change));
            self.answers[g] = answer;
        }
    }

    /// Finds the change of q for a change of the potentials and, if given, one watt at a feed.
    fn differentiate(
        &mut self,
        network: &Network,
        (state, demand): (&State, Demand),
        amps: &[f64],
        (dx, watt): (&[f64], Option<usize>),
    ) {
        self.currents(network, |element| {
            let siemens = element.current(state, demand).1;
            let change = siemens * (element.volts(dx) - element.shift_v);
            match element.flow {
                Flow::Feed(feed) if Some(feed) == watt => change + element.volts(&state.x).recip(),
                _ => change,
            }
        });
        self.change.clear();
        for link in &network.links {
            let source = &network.elements[network.source(link.source)];
            let change = (source.volts(dx) - source.shift_v) * amps[link.source]
                + source.volts(&state.x) * self.amps[link.source];
            self.change.push(demand.feeds * link.gain * change);
        }
    }
}

/// Solves a small system given by columns, in place, by elimination with row exchange; returns
/// the sign of the determinant, or nothing if it is 0.
fn solve_dense(mut matrix: Vec<f64>, rhs: &mut [f64]) -> Option<f64> {
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
