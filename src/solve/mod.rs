//! The operating point of a circuit: potentials, currents, and how far the loads can grow.
//!
//! Ideal sources are merged away (`plan`), the rest is solved by Newton's iteration with a sparse
//! factorization (`newton`, `ldl`, `ordering`), feeding devices are carried along as unknowns
//! (`feedback`), and where that fails the loads are raised from nothing (`continuation`). Where
//! volts and amps are not in phase they are phasors (`ac`). Sources with a diode or a limiter are
//! put into their regimes first (`regime`).
//! Nothing here knows names or units other than SI.

mod ac;
mod bench;
mod continuation;
mod element;
mod feedback;
mod ldl;
mod network;
mod newton;
mod ordering;
mod outcome;
mod plan;
mod regime;

pub use ac::{Pulse, Pulsed};
pub use bench::Bench;
pub use outcome::{Outcome, Overdrawn, Phasors, Solution, Unserved};
pub use regime::Regime;

use num_complex::Complex64;

use continuation::{Knob, Until, climb, served};
use element::{Demand, Draw, Flow, State, Wire};
use network::Network;
use newton::{Start, Work};
use plan::Plans;

use crate::circuit::{Circuit, Law};

/// Relative width to which [`Solver::headroom`] is found.
const HEADROOM: f64 = 1e-4;

/// Solves circuits, and remembers the elimination order of the last few shapes.
#[derive(Debug, Default)]
pub struct Solver {
    plans: Plans,
    /// The last circuit's; its values are taken anew for every circuit.
    laid: Option<Laid>,
    /// For work on two threads.
    second: Option<Box<Self>>,
    /// Served factors that are not under this need not be told exactly.
    exact_under: Option<f64>,
}

/// A circuit laid out, and storage for iterations on it.
#[derive(Debug)]
struct Laid {
    network: Network,
    work: Work,
}

impl Solver {
    /// Makes a solver that has seen nothing.
    pub fn new() -> Self {
        Self::default()
    }

    /// Does something with two solvers, of which the second is kept, too.
    pub fn with_second<T>(&mut self, work: impl FnOnce(&mut Self, &mut Self) -> T) -> T {
        let mut second = self.second.take().unwrap_or_default();
        let done = work(self, &mut second);
        self.second = Some(second);
        done
    }

    /// From now on tells exactly how much of the loads can be served only where that is under a
    /// factor; elsewhere any factor from that one up to the exact one.
    pub fn tell_under(&mut self, factor: f64) {
        self.exact_under = Some(factor);
    }

    /// From now on tells exactly how much of the loads can be served.
    pub fn tell_all(&mut self) {
        self.exact_under = None;
    }

    /// Finds the operating point of a circuit and nothing besides.
    pub fn operating_point(&mut self, circuit: &Circuit) -> Option<Solution> {
        self.point_from(circuit, None)
    }

    fn point_from(&mut self, circuit: &Circuit, near: Option<&Solution>) -> Option<Solution> {
        let before = self.exact_under.replace(0.0);
        let outcome = self.solve_from(circuit, near);
        self.exact_under = before;
        match outcome {
            Outcome::Solved(solution) => Some(solution),
            Outcome::Unserved(_) => None,
        }
    }

    /// Finds the operating point of a circuit, or how much of its loads can be served.
    ///
    /// Of the two roots of a constant power the one at the higher volts is meant. An operating
    /// point needs volts over 0 at all that draws and at every device that feeds a live source.
    ///
    /// # Source
    /// Kirchhoff's laws; the choice of root is explained in the module `newton`.
    pub fn solve(&mut self, circuit: &Circuit) -> Outcome {
        self.solve_from(circuit, None)
    }

    /// Finds the same operating point as [`Solver::solve`], sooner where `near` is close to it.
    ///
    /// `near` may be the solution of any circuit with as many nodes and feeds.
    pub fn solve_from(&mut self, circuit: &Circuit, near: Option<&Solution>) -> Outcome {
        if !circuit.restraints.is_empty() {
            return regime::solve(self, circuit, near);
        }
        let exact_under = self.exact_under.unwrap_or(f64::INFINITY);
        let (Laid { network, work }, _) = self.lay(circuit, &[], None);
        if circuit.ac.is_some() {
            return ac::solve(network, circuit, near, exact_under);
        }
        let start = near.and_then(|near| Some((state_of(network, near)?, Start::Near)));
        match operate(network, work, start, exact_under) {
            Ok(state) => Outcome::Solved(solution(circuit, network, &state)),
            Err((served, state)) => Outcome::Unserved(unserved(circuit, network, &state, served)),
        }
    }

    /// Finds the operating point of a circuit without restraints, and nothing besides; unless
    /// `thorough`, one next to the cliff may be missed.
    fn point(
        &mut self,
        circuit: &Circuit,
        near: Option<&Solution>,
        thorough: bool,
    ) -> Option<Solution> {
        if thorough || circuit.ac.is_some() {
            return self.point_from(circuit, near);
        }
        let (Laid { network, work }, _) = self.lay(circuit, &[], None);
        let start = near.and_then(|near| Some((state_of(network, near)?, Start::Near)));
        let state = at_once(network, work, start)?;
        Some(solution(circuit, network, &state))
    }

    /// Returns the factor, from 1 to `cap`, by which one load's current or power alone can grow.
    ///
    /// `at` is the circuit's own solution. The factor is found to 1e-4 of itself from below; a
    /// load without current or power of its own has `cap`.
    pub fn headroom(&mut self, circuit: &Circuit, at: &Solution, load: usize, cap: f64) -> f64 {
        let drawn = matches!(circuit.loads[load].law, Law::Current(x) | Law::Power(x) if x != 0.0);
        if drawn && !circuit.restraints.is_empty() {
            return regime::headroom(self, circuit, load, cap);
        }
        let (Laid { network, work }, _) = self.lay(circuit, &[], None);
        let flow = network.load(load).flow;
        if !matches!(flow, Flow::Current(drawn) | Flow::Power(drawn) if drawn != 0.0) {
            return cap;
        }
        if circuit.ac.is_some() {
            return ac::headroom(network, (circuit, at), load, cap);
        }
        let mut state = state_of(network, at).unwrap_or_else(|| work.cold(network, Demand::FULL));
        let search = (1.0, cap, Until::Cliff(HEADROOM));
        climb(network, work, Knob::Load(load, flow), &mut state, search)
    }

    /// Returns whether there is an operating point with each load's current or power multiplied.
    ///
    /// `scale` has a factor for each load; `start` may be a solution of the circuit with other
    /// factors, which is then the first guess.
    pub fn serves(&mut self, circuit: &Circuit, scale: &[f64], start: Option<&Solution>) -> bool {
        if !circuit.restraints.is_empty() {
            return regime::serves(self, circuit, scale);
        }
        let (Laid { network, work }, _) = self.lay(circuit, scale, None);
        if circuit.ac.is_some() {
            return ac::serves(network, circuit, start);
        }
        let start = start.and_then(|at| Some((state_of(network, at)?, Start::Near)));
        operate(network, work, start, 0.0).is_ok()
    }

    /// Returns the rms volts at each load that currents drawn at some loads cost there, through
    /// conductors, sources and resistive loads: what would come back if they ceased.
    ///
    /// `currents` are loads and their amperes from plus to minus; nothing where conductors, sources
    /// and resistances do not settle the volts.
    pub fn cost(
        &mut self,
        circuit: &Circuit,
        currents: &[(usize, Complex64)],
    ) -> Option<Vec<Complex64>> {
        let (Laid { network, .. }, _) = self.lay(circuit, &[], None);
        ac::cost(network, circuit, currents)
    }

    /// Lays a circuit out, on the last one's plan if that has its shape; only then is a state of
    /// the last one handed back.
    fn lay(
        &mut self,
        circuit: &Circuit,
        scale: &[f64],
        state: Option<State>,
    ) -> (&mut Laid, Option<State>) {
        let last = self.laid.take();
        let refilled = last.and_then(|mut last| {
            let fits = last.network.refill(circuit, scale);
            fits.then_some(last)
        });
        let mut kept = state.filter(|_| refilled.is_some());
        let laid = refilled.unwrap_or_else(|| {
            let network = Network::new(circuit, &mut self.plans, scale);
            let work = Work::new(&network);
            Laid { network, work }
        });
        let laid = self.laid.insert(laid);
        if let Some(state) = &mut kept {
            for row in &laid.network.fixed {
                state.x[*row as usize] = laid.network.start[*row as usize];
            }
        }
        (laid, kept)
    }
}

/// Returns the operating point where Newton's iteration finds it from a start or from no power.
fn at_once(network: &mut Network, work: &mut Work, start: Option<(State, Start)>) -> Option<State> {
    let full = Demand::FULL;
    // Where feeds feed themselves, or give power back, more than one point may look right from a
    // start of its own.
    if let Some((mut state, start)) = start.filter(|_| !network.coupled)
        && work.newton(network, &mut state, full, start)
        && network.is_served(&state.x, full)
        && !network.gives_back(&state.p)
    {
        return Some(state);
    }
    let mut state = work.cold(network, full);
    if work.newton(network, &mut state, full, Start::Guess) && network.is_served(&state.x, full) {
        return Some(state);
    }
    None
}

/// Returns the operating point, or the served factor and the point there.
fn operate(
    network: &mut Network,
    work: &mut Work,
    start: Option<(State, Start)>,
    exact_under: f64,
) -> Result<State, (f64, State)> {
    if let Some(state) = at_once(network, work, start) {
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
        found = climb(
            network,
            work,
            Knob::Feeds,
            &mut state,
            (0.0, 1.0, Until::end(exact_under)),
        ) >= 1.0;
    }
    if !found || network.is_torn() || !network.is_served(&state.x, nothing) {
        return Err((0.0, state));
    }
    match served(&mut state, exact_under, |state, range| {
        climb(network, work, Knob::Loads, state, range)
    }) {
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
        let (row, over_v) = network.row(node);
        if !network.is_fixed[row] {
            x[row] = at.node_v[node] - over_v;
        }
    }
    Some(State {
        x,
        p: at.feed_w.clone(),
    })
}

fn solution(circuit: &Circuit, network: &Network, state: &State) -> Solution {
    let amps = |draw: &Draw| draw.current(state, Demand::FULL).0;
    let wire = |wire: &Wire| wire.current(&state.x);
    let (mut left, mut source_a) = (Vec::new(), Vec::new());
    network.source_currents(wire, amps, &mut left, &mut source_a);
    let potential = |node: usize| {
        let (row, over_v) = network.row(node);
        state.x[row] + over_v
    };
    let loads = || (0..circuit.loads.len()).map(|load| network.load(load));
    Solution {
        node_v: (0..circuit.nodes).map(potential).collect(),
        branch_a: (0..circuit.branches.len())
            .map(|branch| wire(network.branch(branch)))
            .collect(),
        source_a,
        load_a: loads().map(amps).collect(),
        load_v: loads().map(|load| load.volts(&state.x)).collect(),
        feed_a: (0..circuit.feeds.len())
            .map(|feed| amps(network.feed(feed)))
            .collect(),
        feed_w: state.p.clone(),
        imbalance_a: left.iter().fold(0.0, |most, amps| amps.abs().max(most)),
        phasors: None,
        regimes: Vec::new(),
    }
}

fn unserved(circuit: &Circuit, network: &Network, state: &State, served: f64) -> Unserved {
    let feed_v = |feed: usize| network.feed(feed).volts(&state.x);
    Unserved {
        served,
        load_v: (0..circuit.loads.len())
            .map(|load| network.load(load).volts(&state.x))
            .collect(),
        feed_v: (0..circuit.feeds.len()).map(feed_v).collect(),
        overdrawn: Vec::new(),
    }
}

/// Narrows a count of nodes or entries, of which there are far fewer than four thousand million.
fn index(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

/// Turns counts into starts, in place; the last element becomes the total.
fn accumulate(counts: &mut [u32]) {
    let mut total = 0;
    for count in counts {
        total += std::mem::replace(count, total);
    }
}
