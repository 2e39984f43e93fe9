//! The operating point of a circuit with phase angles: phasors instead of numbers.
//!
//! Layout, order and feeds are those of the real network; each node has two unknowns (`block`),
//! each element its angle (`system`), and the right root is recognised by other means (`newton`).
//! `pulse` is the one part in the time domain: what a rectifier makes of its sine.

mod block;
mod feeds;
mod newton;
mod pulse;
mod system;

use num_complex::Complex64;

pub use pulse::{Pulse, Pulsed};

use super::continuation::{Until, follow, served};
use super::element::Demand;
use super::network::Network;
use super::{HEADROOM, Outcome, Phasors, Solution, Unserved};
use crate::circuit::Circuit;
use newton::{Witness, Work};
use system::{Element, Follows, State, System};

const NOTHING: Demand = Demand {
    loads: 0.0,
    feeds: 1.0,
};

/// Finds the operating point, or how much of the loads can be served.
///
/// What is served of them is told exactly where it is under `exact_under`.
pub(super) fn solve(
    network: &Network,
    circuit: &Circuit,
    near: Option<&Solution>,
    exact_under: f64,
) -> Outcome {
    let system = System::new(network, circuit);
    let mut work = Work::new(&system);
    let start = near.and_then(|at| state_of(&system, at));
    match operate(&system, &mut work, start, exact_under) {
        Ok(state) => Outcome::Solved(solution(circuit, &system, &state)),
        Err((served, state)) => Outcome::Unserved(unserved(circuit, &system, &state, served)),
    }
}

/// Whether there is an operating point.
pub(super) fn serves(network: &Network, circuit: &Circuit, start: Option<&Solution>) -> bool {
    let system = System::new(network, circuit);
    let mut work = Work::new(&system);
    let start = start.and_then(|at| state_of(&system, at));
    operate(&system, &mut work, start, 0.0).is_ok()
}

/// The factor, from 1 to `cap`, by which one load's current or power alone can grow.
pub(super) fn headroom(
    network: &Network,
    (circuit, at): (&Circuit, &Solution),
    load: usize,
    cap: f64,
) -> f64 {
    let mut system = System::new(network, circuit);
    let mut work = Work::new(&system);
    let mut state = state_of(&system, at).unwrap_or_else(|| work.cold(&system, Demand::FULL));
    let element = system.load(load);
    let own = system.elements[element].follows;
    follow(
        &mut state,
        (1.0, cap, Until::Cliff(HEADROOM)),
        |next, factor| {
            system.elements[element].follows = match own {
                Follows::Current(amps) => Follows::Current(amps * factor),
                Follows::Power(watts, angle) => Follows::Power(watts * factor, angle),
                other => other,
            };
            step(&system, &mut work, next, Demand::FULL)
        },
    )
}

/// The volts at each load's terminals that currents drawn at some loads cost there, through
/// conductors, sources and resistances; nothing where these do not settle the volts.
pub(super) fn cost(
    network: &Network,
    circuit: &Circuit,
    currents: &[(usize, Complex64)],
) -> Option<Vec<Complex64>> {
    let system = System::new(network, circuit);
    let at: Vec<(usize, Complex64)> = currents
        .iter()
        .map(|(load, amps)| (system.load(*load), *amps))
        .collect();
    let rows = Work::new(&system).cost(&system, &at)?;
    let across = |load: &Element| rows[load.rows.0 as usize] - rows[load.rows.1 as usize];
    Some(system.loads().iter().map(across).collect())
}

/// Takes a known root to a demand nearby.
fn step(system: &System<'_>, work: &mut Work, state: &mut State, demand: Demand) -> bool {
    let known = state.clone();
    if work.newton(system, state, demand, Witness::Monotone) && system.is_served(&state.x, demand) {
        return true;
    }
    *state = known;
    work.newton(system, state, demand, Witness::Tracked) && system.is_served(&state.x, demand)
}

/// The operating point, or the served factor and the point there.
fn operate(
    system: &System<'_>,
    work: &mut Work,
    start: Option<State>,
    exact_under: f64,
) -> Result<State, (f64, State)> {
    let full = Demand::FULL;
    // As in the real network: where feeds feed themselves, or give power back, no start counts.
    if let Some(mut state) = start.filter(|_| !system.base.coupled)
        && work.newton(system, &mut state, full, Witness::Monotone)
        && system.is_served(&state.x, full)
        && !system.base.gives_back(&state.p)
    {
        return Ok(state);
    }
    let mut state = work.cold(system, full);
    if work.newton(system, &mut state, full, Witness::Monotone) && system.is_served(&state.x, full)
    {
        return Ok(state);
    }
    let mut state = work.cold(system, NOTHING);
    let mut found = work.newton(system, &mut state, NOTHING, Witness::Monotone);
    if !found {
        state = work.cold(
            system,
            Demand {
                loads: 0.0,
                feeds: 0.0,
            },
        );
        let feeds = |next: &mut State, factor| {
            let demand = Demand {
                loads: 0.0,
                feeds: factor,
            };
            step(system, work, next, demand)
        };
        found = follow(&mut state, (0.0, 1.0, Until::end(exact_under)), feeds) >= 1.0;
    }
    if !found || system.base.is_torn() || !system.is_served(&state.x, NOTHING) {
        return Err((0.0, state));
    }
    let mut loads = |next: &mut State, factor| {
        let demand = Demand {
            loads: factor,
            feeds: 1.0,
        };
        step(system, work, next, demand)
    };
    match served(&mut state, exact_under, |state, range| {
        follow(state, range, &mut loads)
    }) {
        served if served >= 1.0 => Ok(state),
        served => Err((served, state)),
    }
}

/// A solution as a state of the system, if it is one of this circuit.
fn state_of(system: &System<'_>, at: &Solution) -> Option<State> {
    let phasors = at.phasors.as_ref()?;
    let nodes = system.base.merge.group.len();
    if phasors.node_v.len() != nodes || at.feed_w.len() != system.base.links.len() {
        return None;
    }
    let mut x: Vec<Complex64> = system.base.start.iter().map(|v| (*v).into()).collect();
    for node in 0..nodes {
        let (row, over_v) = system.base.row(node);
        if !system.base.is_fixed[row] {
            x[row] = phasors.node_v[node] - over_v;
        }
    }
    Some(State {
        x,
        p: at.feed_w.clone(),
    })
}

fn solution(circuit: &Circuit, system: &System<'_>, state: &State) -> Solution {
    let current = |k: usize| system.current(k, state, Demand::FULL).0;
    let (source_a, left) = system.source_currents(current);
    let potential = |node: usize| {
        let (row, over_v) = system.base.row(node);
        state.x[row] + over_v
    };
    let phasors = Phasors {
        node_v: (0..circuit.nodes).map(potential).collect(),
        branch_a: (0..circuit.branches.len()).map(current).collect(),
        source_a,
        load_a: (0..circuit.loads.len())
            .map(|i| current(system.load(i)))
            .collect(),
        feed_a: (0..circuit.feeds.len())
            .map(|i| current(system.feed(i)))
            .collect(),
    };
    let out = |(amps, source): (&Complex64, &crate::circuit::Source)| {
        let volts = phasors.node_v[source.plus as usize] - phasors.node_v[source.minus as usize];
        amps.norm().copysign((volts * amps.conj()).re)
    };
    let size = |amps: &[Complex64]| amps.iter().map(|a| a.norm()).collect();
    Solution {
        node_v: phasors.node_v.iter().map(|v| v.re).collect(),
        branch_a: phasors
            .branch_a
            .iter()
            .map(|a| a.norm().copysign(a.re))
            .collect(),
        source_a: phasors
            .source_a
            .iter()
            .zip(&circuit.sources)
            .map(out)
            .collect(),
        load_a: size(&phasors.load_a),
        load_v: load_volts(system, state),
        feed_w: state.p.clone(),
        feed_a: size(&phasors.feed_a),
        imbalance_a: left.iter().fold(0.0, |most, amps| amps.norm().max(most)),
        phasors: Some(Box::new(phasors)),
        regimes: Vec::new(),
    }
}

fn load_volts(system: &System<'_>, state: &State) -> Vec<f64> {
    let size = |load: &Element| load.volts(&state.x).norm();
    system.loads().iter().map(size).collect()
}

fn unserved(circuit: &Circuit, system: &System<'_>, state: &State, served: f64) -> Unserved {
    let feed_v = |feed: usize| system.elements[system.feed(feed)].volts(&state.x).norm();
    Unserved {
        served,
        load_v: load_volts(system, state),
        feed_v: (0..circuit.feeds.len()).map(feed_v).collect(),
        overdrawn: Vec::new(),
    }
}
