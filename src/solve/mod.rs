//! The operating point of a circuit: potentials, currents, and how far the loads can grow.
//!
//! Ideal sources are merged away (`plan`), the rest is solved by Newton's iteration with a sparse
//! factorization (`newton`, `ldl`, `ordering`), feeding devices are carried along as unknowns
//! (`feedback`), and where that fails the loads are raised from nothing (`continuation`).
//! Nothing here knows names or units other than SI.

mod continuation;
mod element;
mod feedback;
mod ldl;
mod network;
mod newton;
mod ordering;
mod plan;

use std::sync::Arc;

use continuation::{CLIFF, Knob, climb};
use element::{Demand, Flow, State};
use network::Network;
use newton::{Start, Work};
use plan::{Merge, Plan};

use crate::circuit::Circuit;

/// Shapes of circuit kept: the normal case, and those with a supply dead or a wire taken out.
const PLANS: usize = 8;
/// Relative width to which [`Solver::headroom`] is found.
const HEADROOM: f64 = 1e-4;

/// Solves circuits, and remembers the elimination order of the last few shapes.
#[derive(Debug, Default)]
pub struct Solver {
    /// Most recently used last.
    plans: Vec<Arc<Plan>>,
}

/// What came of solving a circuit.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// The operating point.
    Solved(Solution),
    /// There is no operating point.
    Unserved(Unserved),
}

/// The operating point of a circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Volts of each node; 0 is the minus of the first live source of each separate network.
    pub node_v: Vec<f64>,
    /// Amperes through each branch, positive from `from` to `to`; 0 if open.
    pub branch_a: Vec<f64>,
    /// Amperes out of the plus of each source; 0 if dead.
    pub source_a: Vec<f64>,
    /// Amperes through each load from plus to minus.
    pub load_a: Vec<f64>,
    /// Volts of each load, plus over minus.
    pub load_v: Vec<f64>,
    /// Watts each feed draws from its device's terminals.
    pub feed_w: Vec<f64>,
    /// Amperes each feed draws from its device's terminals.
    pub feed_a: Vec<f64>,
    /// Largest sum of currents, in amperes, left at any node.
    pub imbalance_a: f64,
}

/// Where the loads of a circuit without operating point stop being served.
#[derive(Clone, Debug, PartialEq)]
pub struct Unserved {
    /// Largest common factor on all Current and Power loads, below 1, that still has an operating
    /// point; 0 if none has.
    pub served: f64,
    /// Volts of each load there.
    pub load_v: Vec<f64>,
    /// Volts at the terminals of each feeding device there.
    pub feed_v: Vec<f64>,
}

impl Solver {
    /// Makes a solver that has seen nothing.
    pub fn new() -> Self {
        Self::default()
    }

    /// Finds the operating point of a circuit, or how much of its loads can be served.
    ///
    /// Of the two roots of a constant power the one at the higher volts is meant. An operating
    /// point needs volts over 0 at all that draws and at every device that feeds a live source.
    ///
    /// # Source
    /// Kirchhoff's laws; the choice of root is explained in the module `newton`.
    pub fn solve(&mut self, circuit: &Circuit) -> Outcome {
        let mut network = self.network(circuit, &[]);
        let mut work = Work::new(&network);
        match operate(&mut network, &mut work, None) {
            Ok(state) => Outcome::Solved(solution(circuit, &network, &state)),
            Err((served, state)) => Outcome::Unserved(unserved(circuit, &network, &state, served)),
        }
    }

    /// Returns the factor, from 1 to `cap`, by which one load's current or power alone can grow.
    ///
    /// `at` is the circuit's own solution. The factor is found to 1e-4 of itself from below; a
    /// load without current or power of its own has `cap`.
    pub fn headroom(&mut self, circuit: &Circuit, at: &Solution, load: usize, cap: f64) -> f64 {
        let mut network = self.network(circuit, &[]);
        let mut work = Work::new(&network);
        let flow = network.elements[network.load(load)].flow;
        if !matches!(flow, Flow::Current(drawn) | Flow::Power(drawn) if drawn != 0.0) {
            return cap;
        }
        let mut state = state_of(&network, at).unwrap_or_else(|| work.cold(&network, Demand::FULL));
        climb(
            &mut network,
            &mut work,
            Knob::Load(load, flow),
            &mut state,
            (1.0, cap, HEADROOM),
        )
    }

    /// Returns whether there is an operating point with each load's current or power multiplied.
    ///
    /// `scale` has a factor for each load; `start` may be a solution of the circuit with other
    /// factors, which is then the first guess.
    pub fn serves(&mut self, circuit: &Circuit, scale: &[f64], start: Option<&Solution>) -> bool {
        let mut network = self.network(circuit, scale);
        let mut work = Work::new(&network);
        let start = start.and_then(|at| state_of(&network, at));
        operate(&mut network, &mut work, start).is_ok()
    }

    fn network(&mut self, circuit: &Circuit, scale: &[f64]) -> Network {
        let merge = Merge::new(circuit);
        let ends = plan::ends(circuit, &merge);
        let known = self
            .plans
            .iter()
            .position(|plan| plan.fits(merge.groups, &ends));
        let plan = match known {
            Some(at) => self.plans.remove(at),
            None => Arc::new(Plan::new(merge.groups, ends)),
        };
        if self.plans.len() == PLANS {
            self.plans.remove(0);
        }
        self.plans.push(Arc::clone(&plan));
        Network::new(circuit, merge, plan, scale)
    }
}

/// Returns the operating point, or the served factor and the point there.
fn operate(
    network: &mut Network,
    work: &mut Work,
    start: Option<State>,
) -> Result<State, (f64, State)> {
    let full = Demand::FULL;
    if let Some(mut state) = start
        && work.newton(network, &mut state, full, Start::Guess)
        && network.is_served(&state.x, full)
    {
        return Ok(state);
    }
    let mut state = work.cold(network, full);
    if work.newton(network, &mut state, full, Start::Guess) && network.is_served(&state.x, full) {
        return Ok(state);
    }
    let nothing = Demand {
        loads: 0.0,
        feeds: 1.0,
    };
    let mut state = work.cold(network, nothing);
    let mut found = work.newton(network, &mut state, nothing, Start::Guess);
    if !found {
        state = work.cold(
            network,
            Demand {
                loads: 0.0,
                feeds: 0.0,
            },
        );
        found = climb(network, work, Knob::Feeds, &mut state, (0.0, 1.0, CLIFF)) >= 1.0;
    }
    if !found || network.is_torn() || !network.is_served(&state.x, nothing) {
        return Err((0.0, state));
    }
    match climb(network, work, Knob::Loads, &mut state, (0.0, 1.0, CLIFF)) {
        served if served >= 1.0 => Ok(state),
        served => Err((served, state)),
    }
}

/// Returns a solution as a state of the network, if it is one of this circuit.
fn state_of(network: &Network, at: &Solution) -> Option<State> {
    let nodes = network.merge.group.len();
    if at.node_v.len() != nodes || at.feed_w.len() != network.links.len() {
        return None;
    }
    let mut x = network.start.clone();
    for node in 0..nodes {
        let row = network.plan.row[network.merge.group[node] as usize] as usize;
        if !network.fixed[row] {
            x[row] = at.node_v[node] - network.merge.offset[node];
        }
    }
    Some(State {
        x,
        p: at.feed_w.clone(),
    })
}

fn solution(circuit: &Circuit, network: &Network, state: &State) -> Solution {
    let amps = |element: usize| network.elements[element].current(state, Demand::FULL).0;
    let (mut left, mut source_a) = (Vec::new(), Vec::new());
    let current = |element: &element::Element| element.current(state, Demand::FULL).0;
    network.source_currents(current, &mut left, &mut source_a);
    let potential = |node: usize| {
        let row = network.plan.row[network.merge.group[node] as usize] as usize;
        state.x[row] + network.merge.offset[node]
    };
    Solution {
        node_v: (0..circuit.nodes).map(potential).collect(),
        branch_a: (0..circuit.branches.len()).map(amps).collect(),
        source_a,
        load_a: (0..circuit.loads.len())
            .map(|load| amps(network.load(load)))
            .collect(),
        load_v: network
            .loads()
            .iter()
            .map(|load| load.volts(&state.x))
            .collect(),
        feed_a: (0..circuit.feeds.len())
            .map(|feed| amps(network.feed(feed)))
            .collect(),
        feed_w: state.p.clone(),
        imbalance_a: left.iter().fold(0.0, |most, amps| amps.abs().max(most)),
    }
}

fn unserved(circuit: &Circuit, network: &Network, state: &State, served: f64) -> Unserved {
    let feed_v = |feed: usize| network.volts(network.feed(feed), &state.x);
    Unserved {
        served,
        load_v: network
            .loads()
            .iter()
            .map(|load| load.volts(&state.x))
            .collect(),
        feed_v: (0..circuit.feeds.len()).map(feed_v).collect(),
    }
}

/// Narrows a count of nodes or entries, of which there are far fewer than four thousand million.
fn index(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
