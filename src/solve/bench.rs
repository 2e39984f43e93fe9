//! A circuit on the bench: solved again and again while its values change.

use super::element::{Demand, State};
use super::newton::Start;
use super::{Outcome, Solution, Solver, operate, solution, unserved};
use crate::circuit::Circuit;

/// A circuit that is solved many times with other values.
///
/// Change anything in [`Bench::circuit`], call [`Bench::settle`], read volts and amps. What the
/// shape alone decides (order, pattern) is kept while the shape stays, and the last operating
/// point is the first guess for the next; which point is found does not hang on that guess.
#[derive(Debug)]
pub struct Bench {
    /// The circuit; any of its values may be changed between two calls of [`Bench::settle`].
    pub circuit: Circuit,
    solver: Solver,
    at: Option<State>,
    /// Where the circuit has angles: its last operating point.
    angled: Option<Solution>,
}

impl Bench {
    /// Puts a circuit on the bench.
    pub fn new(circuit: Circuit) -> Self {
        Self {
            circuit,
            solver: Solver::new(),
            at: None,
            angled: None,
        }
    }

    /// Finds the operating point of the circuit as it stands; false if it has none.
    pub fn settle(&mut self) -> bool {
        if self.is_whole() {
            return matches!(self.solve_angled(), Outcome::Solved(_));
        }
        self.angled = None;
        let (laid, state) = self.solver.lay(&self.circuit, &[], self.at.take());
        let start = state.map(|state| (state, Start::Settled));
        self.at = operate(&mut laid.network, &mut laid.work, start, f64::INFINITY).ok();
        self.at.is_some()
    }

    /// Solves the circuit as it stands, in full.
    pub fn solve(&mut self) -> Outcome {
        if self.is_whole() {
            return self.solve_angled();
        }
        self.angled = None;
        let (laid, state) = self.solver.lay(&self.circuit, &[], self.at.take());
        let start = state.map(|state| (state, Start::Settled));
        match operate(&mut laid.network, &mut laid.work, start, f64::INFINITY) {
            Ok(state) => {
                let solved = Outcome::Solved(solution(&self.circuit, &laid.network, &state));
                self.at = Some(state);
                solved
            }
            Err((served, state)) => {
                Outcome::Unserved(unserved(&self.circuit, &laid.network, &state, served))
            }
        }
    }

    /// Whether a solve takes the circuit as a whole, with angles or with restraints.
    fn is_whole(&self) -> bool {
        self.circuit.ac.is_some() || !self.circuit.restraints.is_empty()
    }

    fn solve_angled(&mut self) -> Outcome {
        self.at = None;
        let last = self.angled.take();
        let outcome = self.solver.solve_from(&self.circuit, last.as_ref());
        if let Outcome::Solved(solution) = &outcome {
            self.angled = Some(solution.clone());
        }
        outcome
    }

    /// Volts of a node where the circuit last settled; `None` if it did not. With angles the real
    /// part, from which no magnitude follows: see [`Bench::across`].
    pub fn node_v(&self, node: usize) -> Option<f64> {
        if let Some(solution) = &self.angled {
            return Some(solution.node_v[node]);
        }
        let (network, at) = (&self.solver.laid.as_ref()?.network, self.at.as_ref()?);
        let (row, over_v) = network.row(node);
        Some(at.x[row] + over_v)
    }

    /// Volts between two nodes where the circuit last settled, as [`Solution::across`] tells them.
    pub fn across(&self, plus: u32, minus: u32) -> Option<f64> {
        if let Some(solution) = &self.angled {
            return Some(solution.across(plus, minus));
        }
        Some(self.node_v(plus as usize)? - self.node_v(minus as usize)?)
    }

    /// Volts of a load where the circuit last settled.
    pub fn load_v(&self, load: usize) -> Option<f64> {
        if let Some(solution) = &self.angled {
            return Some(solution.load_v[load]);
        }
        let (network, at) = (&self.solver.laid.as_ref()?.network, self.at.as_ref()?);
        Some(network.load(load).volts(&at.x))
    }

    /// Amperes through a load where the circuit last settled.
    pub fn load_a(&self, load: usize) -> Option<f64> {
        if let Some(solution) = &self.angled {
            return Some(solution.load_a[load]);
        }
        let (network, at) = (&self.solver.laid.as_ref()?.network, self.at.as_ref()?);
        Some(network.load(load).current(at, Demand::FULL).0)
    }

    /// Amperes through a branch where the circuit last settled.
    pub fn branch_a(&self, branch: usize) -> Option<f64> {
        if let Some(solution) = &self.angled {
            return Some(solution.branch_a[branch]);
        }
        let (network, at) = (&self.solver.laid.as_ref()?.network, self.at.as_ref()?);
        Some(network.branch(branch).current(&at.x))
    }

    /// Amperes out of the plus of every source where the circuit last settled, written to `amps`;
    /// false, and `amps` empty, if it did not.
    pub fn source_a(&self, amps: &mut Vec<f64>) -> bool {
        amps.clear();
        if let Some(solution) = &self.angled {
            amps.extend(&solution.source_a);
            return true;
        }
        let (Some(laid), Some(at)) = (&self.solver.laid, &self.at) else {
            return false;
        };
        laid.network.source_currents(
            |wire| wire.current(&at.x),
            |draw| draw.current(at, Demand::FULL).0,
            &mut Vec::new(),
            amps,
        );
        true
    }
}
