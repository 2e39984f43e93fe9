//! The powers that feeding devices draw, beside the phasors: as in the real network (`feedback`),
//! with the real part of volts times conjugate amps as a source's power.

use num_complex::Complex64;

use crate::solve::element::Demand;
use crate::solve::feedback::solve_dense;
use crate::solve::network::Link;

use super::block::{Matrix, Pair, apply};
use super::system::{Follows, State, System};

/// Above this many feeds that act on one another none of them is followed.
const MOST_DENSE: usize = 256;

/// Returns the powers that the potentials ask for.
pub(super) fn powers(system: &System<'_>, state: &State, demand: Demand) -> Vec<f64> {
    if system.base.links.is_empty() {
        return Vec::new();
    }
    let (amps, _) = system.source_currents(|k| system.current(k, state, demand).0);
    let asked = |link: &Link| {
        let volts = system.elements[system.source(link.source)].volts(&state.x);
        demand.feeds * link.gain * (volts * amps[link.source].conj()).re
    };
    system.base.links.iter().map(asked).collect()
}

/// Finds the step of the powers and completes that of the potentials, which is given for powers
/// that stay; nothing if there is none.
pub(super) fn extend(
    system: &System<'_>,
    factor: &Matrix,
    step: &mut [Pair],
    (state, demand): (&State, Demand),
) -> Option<Vec<f64>> {
    let feeds = system.base.links.len();
    if feeds == 0 {
        return Some(Vec::new());
    }
    let here = Point::new(system, state, demand);
    let mut rest = here.differentiate(step, &vec![0.0; feeds]);
    for ((rest, asked), p) in rest
        .iter_mut()
        .zip(powers(system, state, demand))
        .zip(&state.p)
    {
        *rest += asked - p;
    }
    if system.base.coupled {
        solve_dense(here.matrix(factor)?, &mut rest)?;
        for (step, answer) in step.iter_mut().zip(here.answer(factor, &rest)) {
            step[0] += answer[0];
            step[1] += answer[1];
        }
    }
    Some(rest)
}

/// Whether the determinant of the feeds' own part of the derivative is over 0; nothing if it is 0.
pub(super) fn sign(
    system: &System<'_>,
    factor: &Matrix,
    (state, demand): (&State, Demand),
) -> Option<bool> {
    if !system.base.coupled {
        return Some(true);
    }
    let here = Point::new(system, state, demand);
    let mut unused = vec![0.0; system.base.links.len()];
    solve_dense(here.matrix(factor)?, &mut unused).map(|sign| sign > 0.0)
}

/// Where the derivatives are taken.
struct Point<'a> {
    system: &'a System<'a>,
    state: &'a State,
    demand: Demand,
    /// Of the sources.
    amps: Vec<Complex64>,
}

impl<'a> Point<'a> {
    fn new(system: &'a System<'a>, state: &'a State, demand: Demand) -> Self {
        let (amps, _) = system.source_currents(|k| system.current(k, state, demand).0);
        Self {
            system,
            state,
            demand,
            amps,
        }
    }

    /// The identity less how each feed's power follows from every other's, by columns.
    fn matrix(&self, factor: &Matrix) -> Option<Vec<f64>> {
        let feeds = self.system.base.links.len();
        if feeds > MOST_DENSE {
            return None;
        }
        let mut matrix = Vec::with_capacity(feeds * feeds);
        for feed in 0..feeds {
            let mut watt = vec![0.0; feeds];
            watt[feed] = 1.0;
            let answer = self.answer(factor, &watt);
            let column = self.differentiate(&answer, &watt);
            matrix.extend(watt.iter().zip(column).map(|(unit, change)| unit - change));
        }
        Some(matrix)
    }

    /// The answer of the potentials to more watts at the devices.
    fn answer(&self, factor: &Matrix, watts: &[f64]) -> Vec<Pair> {
        let (system, base) = (self.system, self.system.base);
        let mut answer = vec![[0.0; 2]; base.start.len()];
        for (feed, watts) in watts.iter().enumerate() {
            let k = system.feed(feed);
            let amps = system.per_watt(k, self.state) * *watts;
            let rows = system.elements[k].rows;
            for (row, sign) in [(rows.0, -1.0), (rows.1, 1.0)] {
                answer[row as usize][0] += sign * amps.re;
                answer[row as usize][1] += sign * amps.im;
            }
        }
        for row in &base.fixed {
            answer[*row as usize] = [0.0; 2];
        }
        factor.solve(&base.plan.symbolic, &mut answer);
        answer
    }

    /// The change of the powers asked for with a change of the potentials and of the powers.
    fn differentiate(&self, dx: &[Pair], dp: &[f64]) -> Vec<f64> {
        let system = self.system;
        let across = |k: usize| {
            let (a, b) = system.elements[k].rows;
            let (a, b) = (dx[a as usize], dx[b as usize]);
            [a[0] - b[0], a[1] - b[1]]
        };
        let (changes, _) = system.source_currents(|k| {
            let slope = system.current(k, self.state, self.demand).1;
            let [re, im] = apply(&slope, across(k));
            let more = match system.elements[k].follows {
                Follows::Feed(feed, _) => system.per_watt(k, self.state) * dp[feed],
                _ => Complex64::ZERO,
            };
            Complex64::new(re, im) + more
        });
        let change = |link: &Link| {
            let k = system.source(link.source);
            let [re, im] = across(k);
            let volts = system.elements[k].volts(&self.state.x);
            let change = Complex64::new(re, im) * self.amps[link.source].conj()
                + volts * changes[link.source].conj();
            self.demand.feeds * link.gain * change.re
        };
        system.base.links.iter().map(change).collect()
    }
}
