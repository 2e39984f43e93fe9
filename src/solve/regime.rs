//! Sources with a diode or a limiter: which of them conduct, and which are held at their limit.
//!
//! In every pattern of regimes the circuit is an ordinary one: a source that gives stands behind
//! its ohms, one that is blocked is dead, one at its limit gives amperes instead of volts. A
//! pattern is right where its own solution contradicts none of it: nothing flows back through a
//! diode, a blocked source is not over the volts it faces, no limit is passed, and a held source
//! stands under the volts at which its limiter begins.
//!
//! Where all draws are ohms these conditions are a linear complementarity problem with a positive
//! definite matrix: one pattern is right, and to turn the first source that contradicts finds it
//! in finitely many turns (Murty, 1974: the least-index rule); all contradictions are turned at
//! once as long as that leads to patterns not yet seen. With constant powers more than one may be
//! right. The one at the higher volts is meant, as everywhere here, so the search starts from the
//! pattern that is right with nothing drawn. Where it finds none, all patterns of a few restrained
//! sources are tried.

use std::collections::HashSet;

use super::continuation::FLOOR;
use super::{HEADROOM, Outcome, Overdrawn, Solution, Solver, Unserved};
use crate::circuit::{Circuit, Law, Manner, Restraint, Source};

/// How a restrained source stands in a solution.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Regime {
    /// It gives what its ohms let through.
    Gives,
    /// Its diode blocks.
    Blocked,
    /// Its limiter holds it.
    Limited,
}

/// Volts or amperes that contradict nothing, as a part of the source's volts or of one ampere.
const TIE: f64 = 1e-10;
/// The same for the amperes of an ideal source, which are a sum over stout wires.
const IDEAL_TIE: f64 = 1e-7;
/// Turns of sources before the search gives up, for each restrained source and over all.
const TURNS: (usize, usize) = (8, 40);
/// Times that a point next to the cliff is looked for with all means: that takes a while.
const THOROUGH: usize = 3;
/// Times that the volts may collapse on the way.
const COLLAPSES: usize = 2;
/// Up to so many patterns are all tried.
const FEW: usize = 243;
/// Width to which the served part of the draws is found.
const SERVED: f64 = 1e-7;

/// What was found for some demand.
enum Found {
    /// The operating point.
    Settled(Pattern, Solution),
    /// All is as it must be, but that sources without a steady state there give more than their
    /// limit.
    Overdrawn(Pattern, Solution, Vec<Overdrawn>),
    /// No pattern is right.
    Nothing,
}

/// By restraint.
type Pattern = Vec<Regime>;

/// Finds the operating point of a circuit with restraints.
pub(super) fn solve(solver: &mut Solver, circuit: &Circuit, near: Option<&Solution>) -> Outcome {
    let mut search = Search::new(solver, circuit);
    let unloaded = search.unloaded();
    let first = unloaded.0.clone();
    match search.settle(1.0, first, near) {
        Found::Settled(_, solution) => Outcome::Solved(solution),
        Found::Overdrawn(.., overdrawn) => Outcome::Unserved(search.served(unloaded, overdrawn)),
        Found::Nothing => {
            let overdrawn = over_all(search.solver, circuit);
            let mut search = Search::new(solver, circuit);
            Outcome::Unserved(search.served(unloaded, overdrawn))
        }
    }
}

/// What would have to give more than its limit, if there is a point without any limiter.
fn over_all(solver: &mut Solver, circuit: &Circuit) -> Vec<Overdrawn> {
    if circuit.restraints.iter().all(|r| r.limiter.is_none()) {
        return Vec::new();
    }
    let mut free = circuit.clone();
    for restraint in &mut free.restraints {
        restraint.limiter = None;
    }
    let mut search = Search::new(solver, &free);
    let (first, _) = search.unloaded();
    match search.settle(1.0, first, None) {
        Found::Settled(_, solution) => overdrawn(&circuit.restraints, &solution),
        Found::Overdrawn(..) | Found::Nothing => Vec::new(),
    }
}

/// The sources of a solution that give more than their limit.
fn overdrawn<'a>(
    restraints: impl IntoIterator<Item = &'a Restraint>,
    solution: &Solution,
) -> Vec<Overdrawn> {
    let over = |restraint: &Restraint| {
        let limit_a = restraint.limiter?.amps_a;
        let amps_a = solution.source_a[restraint.source];
        (amps_a > limit_a + IDEAL_TIE).then_some(Overdrawn {
            source: restraint.source,
            amps_a,
            limit_a,
        })
    };
    restraints.into_iter().filter_map(over).collect()
}

/// Whether there is an operating point with each load's current or power multiplied.
pub(super) fn serves(solver: &mut Solver, circuit: &Circuit, scale: &[f64]) -> bool {
    let mut scaled = circuit.clone();
    for (load, factor) in scaled.loads.iter_mut().zip(scale) {
        load.law = times(load.law, *factor);
    }
    let mut search = Search::new(solver, &scaled);
    let (first, _) = search.unloaded();
    matches!(search.settle(1.0, first, None), Found::Settled(..))
}

/// The factor, from 1 to `cap`, by which one load's current or power alone can grow.
pub(super) fn headroom(solver: &mut Solver, circuit: &Circuit, load: usize, cap: f64) -> f64 {
    let mut scale = vec![1.0; circuit.loads.len()];
    let mut can = |factor: f64| {
        scale[load] = factor;
        serves(solver, circuit, &scale)
    };
    if can(cap) {
        return cap;
    }
    let (mut low, mut high) = (1.0, cap);
    while high - low > HEADROOM * low {
        let middle = f64::midpoint(low, high);
        *(if can(middle) { &mut low } else { &mut high }) = middle;
    }
    low
}

/// A law with its current or power multiplied.
fn times(law: Law, factor: f64) -> Law {
    match law {
        Law::Current(amps) => Law::Current(amps * factor),
        Law::Power(watts) => Law::Power(watts * factor),
        Law::Off | Law::Resistance(_) => law,
    }
}

struct Search<'a> {
    solver: &'a mut Solver,
    circuit: &'a Circuit,
    /// The circuit without restraints, in the pattern and demand last asked for.
    plain: Circuit,
}

impl<'a> Search<'a> {
    fn new(solver: &'a mut Solver, circuit: &'a Circuit) -> Self {
        let mut plain = circuit.clone();
        plain.restraints.clear();
        Self {
            solver,
            circuit,
            plain,
        }
    }

    /// The pattern with no A and W draws, and its solution where there is one.
    ///
    /// Without diodes every source gives there, unless ohms alone pass its limit.
    fn unloaded(&mut self) -> (Pattern, Option<Solution>) {
        let all = vec![Regime::Gives; self.circuit.restraints.len()];
        if (self.circuit.restraints.iter()).all(|r| r.diode_v.is_none()) {
            return (all, None);
        }
        match self.settle(0.0, all.clone(), None) {
            Found::Settled(pattern, solution) | Found::Overdrawn(pattern, solution, _) => {
                (pattern, Some(solution))
            }
            Found::Nothing => (all, None),
        }
    }

    /// Looks for the right pattern at a demand on all A and W draws, from a pattern on; among all
    /// patterns where that does not find it.
    fn settle(&mut self, demand: f64, first: Pattern, near: Option<&Solution>) -> Found {
        match self.turn((demand, THOROUGH), first, near) {
            Found::Nothing => self.any(demand),
            found => found,
        }
    }

    /// Turns what contradicts until nothing does; so often it looks next to the cliff as well.
    fn turn(
        &mut self,
        (demand, mut thorough): (f64, usize),
        first: Pattern,
        near: Option<&Solution>,
    ) -> Found {
        let mut pattern = first;
        let mut seen = HashSet::from([pattern.clone()]);
        let mut one_by_one = false;
        let mut collapses = 0;
        let mut near = near.cloned();
        for _ in 0..TURNS.0 * pattern.len() + TURNS.1 {
            let mut found = self.attempt((demand, false), &pattern, near.as_ref());
            if found.is_none() && thorough > 0 {
                thorough -= 1;
                found = self.attempt((demand, true), &pattern, near.as_ref());
            }
            let turned = match found {
                Some(solution) => {
                    let wrong = self.contradictions(&pattern, &solution);
                    if wrong.is_empty() {
                        return self.judged(pattern, solution);
                    }
                    near = Some(solution);
                    wrong
                }
                // The volts collapse, and the sources that they held back come in.
                None if collapses < COLLAPSES => {
                    collapses += 1;
                    blocked(&pattern).collect()
                }
                None => break,
            };
            if turned.is_empty() {
                break;
            }
            let count = if one_by_one { 1 } else { turned.len() };
            for (k, regime) in &turned[..count] {
                pattern[*k] = *regime;
            }
            one_by_one |= !seen.insert(pattern.clone());
        }
        Found::Nothing
    }

    /// Tries all patterns of a few sources; of those that are right, the one at the higher volts.
    fn any(&mut self, demand: f64) -> Found {
        let choices: Vec<Vec<Regime>> = (self.circuit.restraints.iter()).map(possible).collect();
        let count = choices
            .iter()
            .try_fold(1_usize, |n, some| n.checked_mul(some.len()));
        let Some(count) = count.filter(|count| *count <= FEW) else {
            return Found::Nothing;
        };
        let mut best: Option<(f64, Pattern, Solution)> = None;
        for number in 0..count {
            let mut rest = number;
            let pattern: Pattern = choices
                .iter()
                .map(|some| {
                    let regime = some[rest % some.len()];
                    rest /= some.len();
                    regime
                })
                .collect();
            let Some(solution) = self.attempt((demand, false), &pattern, None) else {
                continue;
            };
            let volts: f64 = solution.load_v.iter().sum();
            if self.contradictions(&pattern, &solution).is_empty()
                && best.as_ref().is_none_or(|(most, ..)| volts > *most)
            {
                best = Some((volts, pattern, solution));
            }
        }
        match best {
            Some((_, pattern, solution)) => self.judged(pattern, solution),
            None => Found::Nothing,
        }
    }

    /// The operating point of one pattern, right or not.
    fn attempt(
        &mut self,
        (demand, thorough): (f64, bool),
        pattern: &[Regime],
        near: Option<&Solution>,
    ) -> Option<Solution> {
        self.plain.sources.clone_from(&self.circuit.sources);
        for (restraint, regime) in self.circuit.restraints.iter().zip(pattern) {
            let source = &mut self.plain.sources[restraint.source];
            let knee_v = knee_v(restraint, source);
            source.volts_v = restraint.open_v(source.volts_v);
            match regime {
                Regime::Gives => {}
                Regime::Blocked => source.live = false,
                Regime::Limited => {
                    source.held = restraint.limiter.and_then(|limiter| limiter.held(knee_v));
                }
            }
        }
        for (load, own) in self.plain.loads.iter_mut().zip(&self.circuit.loads) {
            load.law = times(own.law, demand);
        }
        self.solver.point(&self.plain, near, thorough)
    }

    /// The sources that a solution contradicts, each with the regime it should be in.
    fn contradictions(&self, pattern: &[Regime], solution: &Solution) -> Vec<(usize, Regime)> {
        let all = self.circuit.restraints.iter().zip(pattern).enumerate();
        let wrong = all.filter_map(|(k, (restraint, regime))| {
            let source = &self.circuit.sources[restraint.source];
            if !source.live {
                return None;
            }
            let amps = solution.source_a[restraint.source];
            let volts = solution.across(source.plus, source.minus);
            let open_v = restraint.open_v(source.volts_v);
            let tie_v = TIE * open_v.max(1.0);
            let own = if source.resistance_ohm > 0.0 {
                TIE
            } else {
                IDEAL_TIE
            };
            let tie_a = own * amps.abs().max(1.0);
            let right = match regime {
                Regime::Gives if restraint.diode_v.is_some() && amps < -tie_a => Regime::Blocked,
                Regime::Gives if is_over(restraint, source, amps - tie_a) => Regime::Limited,
                Regime::Blocked if volts < open_v - tie_v => Regime::Gives,
                Regime::Limited if volts > knee_v(restraint, source) + tie_v => Regime::Gives,
                _ => *regime,
            };
            (right != *regime).then_some((k, right))
        });
        wrong.collect()
    }

    /// A pattern that is right, with what has no steady state in it.
    fn judged(&self, pattern: Pattern, mut solution: Solution) -> Found {
        let hiccup =
            |r: &&Restraint| (r.limiter).is_some_and(|limiter| limiter.manner == Manner::Hiccup);
        let overdrawn = overdrawn(self.circuit.restraints.iter().filter(hiccup), &solution);
        let sources = self.circuit.restraints.iter().map(|r| r.source);
        solution.regimes = sources.zip(pattern.iter().copied()).collect();
        if overdrawn.is_empty() {
            Found::Settled(pattern, solution)
        } else {
            Found::Overdrawn(pattern, solution, overdrawn)
        }
    }

    /// How much of all A and W draws can be served, where all of them cannot.
    fn served(
        &mut self,
        (mut pattern, mut at): (Pattern, Option<Solution>),
        overdrawn: Vec<Overdrawn>,
    ) -> Unserved {
        let (mut low, mut high) = (0.0_f64, 1.0_f64);
        match self.settle(0.0, pattern.clone(), at.as_ref()) {
            Found::Settled(found, solution) => (pattern, at) = (found, Some(solution)),
            Found::Overdrawn(_, solution, _) => (at, high) = (Some(solution), 0.0),
            Found::Nothing => high = 0.0,
        }
        // Whether it is under what has to be told exactly comes first.
        let enough = self.solver.exact_under.unwrap_or(f64::INFINITY);
        let mut next = Some(enough).filter(|factor| *factor < high);
        while low < enough && high - low > SERVED * high.max(FLOOR) {
            let middle = next.take().unwrap_or_else(|| f64::midpoint(low, high));
            match self.turn((middle, 0), pattern.clone(), at.as_ref()) {
                Found::Settled(found, solution) => {
                    (pattern, at, low) = (found, Some(solution), middle);
                }
                Found::Overdrawn(..) | Found::Nothing => high = middle,
            }
        }
        let volts = |plus, minus| at.as_ref().map_or(0.0, |at| at.across(plus, minus));
        Unserved {
            served: low,
            load_v: (self.circuit.loads.iter())
                .map(|load| volts(load.plus, load.minus))
                .collect(),
            feed_v: (self.circuit.feeds.iter())
                .map(|feed| volts(feed.plus, feed.minus))
                .collect(),
            overdrawn,
        }
    }
}

/// The regimes that a restraint allows.
fn possible(restraint: &Restraint) -> Vec<Regime> {
    let limiter = restraint.limiter.filter(|l| l.manner != Manner::Hiccup);
    let all = [
        Some(Regime::Gives),
        restraint.diode_v.map(|_| Regime::Blocked),
        limiter.map(|_| Regime::Limited),
    ];
    all.into_iter().flatten().collect()
}

/// The sources that a pattern blocks, each as one that gives.
fn blocked(pattern: &[Regime]) -> impl Iterator<Item = (usize, Regime)> {
    let all = pattern.iter().enumerate();
    all.filter_map(|(k, regime)| (*regime == Regime::Blocked).then_some((k, Regime::Gives)))
}

/// Volts at the terminals at which a source's limiter begins to hold; without one none are so low.
fn knee_v(restraint: &Restraint, source: &Source) -> f64 {
    let open_v = restraint.open_v(source.volts_v);
    restraint.limiter.map_or(f64::NEG_INFINITY, |limiter| {
        limiter.knee_v(open_v, source.resistance_ohm)
    })
}

/// Whether so many amperes are over a limit at which the source can be held.
fn is_over(restraint: &Restraint, source: &Source, amps: f64) -> bool {
    let knee_v = knee_v(restraint, source);
    restraint
        .limiter
        .is_some_and(|l| amps > l.amps_a && l.held(knee_v).is_some())
}
