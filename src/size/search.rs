//! The cheapest design that passes, with proof: branch and bound over the choices left.
//!
//! Every node has choices left to each run and a bound below which none of its designs passes
//! (see `relax`). Its cheapest design that might pass is tried by the solver in every row. Where
//! it passes, nothing in the node is cheaper; where not, the node is parted at a run whose choice
//! decides, and the parts bind more tightly. A single design left is tried as it is, so the
//! answer rests on trials alone and the bounds only save work.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::size::bounds::Left;
use crate::size::duct::{Full, full, parted};
use crate::size::options::Open;
use crate::size::pareto::slack;
use crate::size::relax::{Known, Model, Relaxed};
use crate::size::ties::MOST_TIED;
use crate::size::trial::{Bench, Fault, Trial};

/// What is known while the search goes on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Cost of the best design so far.
    pub cost: Option<f64>,
    /// No passing design costs less.
    pub bound: f64,
    /// Designs tried by the solver.
    pub tried: u64,
}

/// Who looks on: says whether to go on, and is told how far it is.
pub struct Watch<'a> {
    /// Whether there is time left and nobody wants it to end.
    pub goes_on: &'a dyn Fn() -> bool,
    /// Takes what is known so far.
    pub tell: &'a dyn Fn(&Progress),
}

impl Watch<'_> {
    /// Nobody looks on: the search ends when it has its proof.
    pub const NOBODY: Watch<'static> = Watch {
        goes_on: &|| true,
        tell: &|_| {},
    };
}

/// A design that passes.
#[derive(Clone, Debug)]
pub(crate) struct Best {
    pub(crate) design: Vec<usize>,
    pub(crate) cost: f64,
    pub(crate) margin_v: f64,
}

/// What a search ends with.
#[derive(Debug)]
pub(crate) struct End {
    pub(crate) best: Option<Best>,
    /// No passing design costs less; infinite where none passes.
    pub(crate) bound: f64,
    /// It was told to stop before it had its proof.
    pub(crate) interrupted: bool,
}

/// Choices left, with their bound.
#[derive(Debug)]
struct Node {
    bound: f64,
    /// Later ones first where the bound is the same: deeper.
    number: u64,
    left: Left,
    known: Known,
}

impl PartialEq for Node {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Node {}

impl PartialOrd for Node {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Node {
    fn cmp(&self, other: &Self) -> Ordering {
        other
            .bound
            .total_cmp(&self.bound)
            .then(self.number.cmp(&other.number))
    }
}

pub(crate) struct Search<'a> {
    pub(crate) bench: &'a mut Bench,
    pub(crate) model: &'a Model,
    /// The same with every mesh cut open into a tree, for good designs soon.
    pub(crate) opened: &'a Model,
    pub(crate) watch: &'a Watch<'a>,
    pub(crate) best: Option<Best>,
    /// Trials so far.
    pub(crate) tried: u64,
    /// What all choices together come to, on sites where ties are looked through.
    pub(crate) first: Option<(Left, Relaxed)>,
}

impl<'a> Search<'a> {
    /// A search that knows nothing yet; `opened` is the model with meshes cut open, where there
    /// are some.
    pub(crate) fn of(
        bench: &'a mut Bench,
        model: &'a Model,
        opened: Option<&'a Model>,
        watch: &'a Watch<'a>,
    ) -> Self {
        Self {
            bench,
            model,
            opened: opened.unwrap_or(model),
            watch,
            best: None,
            tried: 0,
            first: None,
        }
    }

    /// Searches to the end, or until told to stop.
    pub(crate) fn run(&mut self) -> End {
        let all: Left = self
            .bench
            .options
            .open
            .iter()
            .map(|o| (0..o.choices.len()).collect())
            .collect();
        let mut bound = self.least();
        let mut waiting = BinaryHeap::from([Node {
            bound,
            number: 0,
            left: all,
            known: self.model.nothing_known(self.bench),
        }]);
        let mut number = 0;
        while let Some(node) = waiting.pop() {
            bound = bound.max(node.bound);
            if self.beats(bound) {
                break;
            }
            (self.watch.tell)(&Progress {
                cost: self.best.as_ref().map(|b| b.cost),
                bound,
                tried: self.tried,
            });
            if !(self.watch.goes_on)() {
                if self.best.is_none() {
                    self.thickest();
                }
                return self.end(bound, true);
            }
            for mut part in self.open(node) {
                number += 1;
                part.number = number;
                waiting.push(part);
            }
        }
        if self.best.is_some() {
            self.ties();
        }
        let bound = self.best.as_ref().map_or(f64::INFINITY, |b| b.cost);
        self.end(bound, false)
    }

    /// Cost of the cheapest choice in every run.
    fn least(&self) -> f64 {
        let least = |open: &Open| {
            let costs = open.choices.iter().map(|c| c.cost);
            costs.fold(f64::INFINITY, f64::min)
        };
        let options = &self.bench.options;
        options.fixed + options.open.iter().map(least).sum::<f64>()
    }

    fn end(&self, bound: f64, interrupted: bool) -> End {
        let best = self.best.clone();
        let most = best.as_ref().map_or(f64::INFINITY, |b| b.cost);
        End {
            best,
            bound: bound.min(most),
            interrupted,
        }
    }

    /// Whether the best design so far is no dearer than a bound.
    fn beats(&self, bound: f64) -> bool {
        self.best
            .as_ref()
            .is_some_and(|best| best.cost <= bound + slack(best.cost))
    }

    /// Bounds a node and tries its design; the parts that remain.
    fn open(&mut self, mut node: Node) -> Vec<Node> {
        let goes_on = self.watch.goes_on;
        loop {
            let known = (&mut node.left, &node.known);
            let Some(relaxed) = self.model.relax(self.bench, known, goes_on) else {
                return Vec::new();
            };
            if node.number == 0 && node.left.len() <= MOST_TIED {
                self.first = Some((node.left.clone(), relaxed.clone()));
            }
            let bound = node.bound.max(relaxed.bound);
            if self.beats(bound) {
                return Vec::new();
            }
            let trial = self.attempt(&relaxed.design);
            if trial.passes() && self.beats(bound) {
                return Vec::new();
            }
            if self.best.is_none() || node.number == 0 {
                self.improve(&relaxed, &trial);
                if self.beats(bound) {
                    return Vec::new();
                }
            }
            let most = self.best.as_ref().map(|b| b.cost);
            let fewer = most.is_some_and(|most| {
                let known = (&mut node.left, &mut node.known);
                self.model
                    .drop_dear(self.bench, known, &relaxed, (most, goes_on))
            });
            node.bound = bound;
            node.number = node.number.max(1);
            if !fewer || !goes_on() {
                return self.part(&node, &relaxed, &trial);
            }
        }
    }

    /// Tries a design and keeps it where it passes and is the cheapest so far.
    pub(crate) fn attempt(&mut self, design: &[usize]) -> Trial {
        self.tried += 1;
        let full = full(&self.bench.ducts, design);
        if !full.is_empty() {
            return self.unsolved(full);
        }
        let trial = self.bench.trial(design);
        let cost = self.bench.options.cost(design);
        let better = self.best.as_ref().is_none_or(|best| {
            let same = (cost - best.cost).abs() <= slack(cost);
            (!same && cost < best.cost) || (same && trial.margin_v > best.margin_v)
        });
        if trial.passes() && better {
            self.best = Some(Best {
                design: design.to_vec(),
                cost,
                margin_v: trial.margin_v,
            });
        }
        trial
    }

    /// What is known of a design that does not go into its raceways.
    fn unsolved(&self, full: Vec<Full>) -> Trial {
        Trial {
            full,
            solutions: vec![None; self.bench.rows.len()],
            ..Trial::default()
        }
    }

    /// Parts the choices left at the run that has most to do with what fails.
    fn part(&self, node: &Node, relaxed: &Relaxed, trial: &Trial) -> Vec<Node> {
        let left = &node.left;
        let part = |left: Left| Node {
            bound: node.bound,
            number: 0,
            left,
            known: Known::clone(&node.known),
        };
        if !trial.full.is_empty()
            && let Some(parts) = parted(&self.bench.ducts, left, &relaxed.design)
        {
            return parts.map(part).into();
        }
        let worst = trial
            .faults
            .iter()
            .max_by(|a, b| severity(a.1).total_cmp(&severity(b.1)));
        let row = worst.map_or(0, |(row, _)| *row);
        let run = (0..left.len())
            .filter(|e| left[*e].len() > 1)
            .map(|e| (self.weight(e, left, row, trial, worst.map(|w| w.1)), e))
            .reduce(|a, b| if b.0 > a.0 { b } else { a });
        let Some((_, e)) = run else {
            return Vec::new();
        };
        let ohm = |k: usize| {
            self.bench.rows[row].ohms[e][k]
                .iter()
                .filter(|r| r.is_finite())
                .sum::<f64>()
        };
        let here = relaxed.design[e];
        let (mut thick, mut thin): (Vec<usize>, Vec<usize>) =
            left[e].iter().partition(|k| ohm(**k) < ohm(here));
        if thick.is_empty() {
            (thick, thin) = left[e].iter().partition(|k| **k == here);
        }
        [thick, thin]
            .into_iter()
            .map(|own| {
                let mut left = left.clone();
                left[e] = own;
                part(left)
            })
            .collect()
    }

    /// Volts that the choices left to a run may make or lose where a design fails.
    fn weight(&self, e: usize, left: &Left, r: usize, trial: &Trial, fault: Option<Fault>) -> f64 {
        let row = &self.bench.rows[r];
        let amps = |branch: usize| {
            trial.solutions[r]
                .as_ref()
                .map_or(1.0, |s| s.branch_a[branch].abs())
        };
        let mut weight = 0.0;
        for (slot, branch) in self.bench.branches[e].iter().enumerate() {
            let Some(branch) = branch else { continue };
            let ohms = || {
                left[e]
                    .iter()
                    .map(|k| row.ohms[e][*k][slot])
                    .filter(|r| r.is_finite())
            };
            let span = ohms().fold(0.0, f64::max) - ohms().fold(f64::INFINITY, f64::min);
            weight += span.max(0.0) * amps(*branch);
        }
        // What lies on the failing device's way counts before anything beside it.
        let device = match fault {
            Some(Fault::Low(d, ..) | Fault::High(d, ..)) => Some(d),
            _ => None,
        };
        let on_way =
            device.is_some_and(|d| self.model.wiring[r].passes(d, &self.bench.branches[e]));
        if on_way { 1e3 * weight + 1e-9 } else { weight }
    }
}

/// How grave a fault is, in volts or amperes.
pub(crate) fn severity(fault: Fault) -> f64 {
    match fault {
        Fault::NoPoint => f64::INFINITY,
        Fault::Low(_, value, limit)
        | Fault::High(_, value, limit)
        | Fault::Supply(_, value, limit)
        | Fault::Carries(_, value, limit) => (value - limit).abs(),
    }
}
