//! The cheapest design that passes, with proof: branch and bound over the choices left.
//!
//! Every node has choices left to each run and a bound below which none of its designs passes
//! (see `relax`). Its cheapest design that might pass is tried by the solver in every row. Where
//! it passes, nothing in the node is cheaper; where not, the node is parted at a run whose choice
//! decides, and the parts bind more tightly. A single design left is tried as it is, so the
//! answer rests on trials alone and the bounds only save work.

use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::rc::Rc;

use crate::size::bounds::Left;
use crate::size::duct::{Full, full};
use crate::size::options::Open;
use crate::size::pareto::slack;
use crate::size::relax::{Known, Model, Pursuit, Relaxed};
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
pub(crate) struct Node {
    pub(crate) bound: f64,
    /// Later ones first where the bound is the same: deeper.
    pub(crate) number: u64,
    pub(crate) left: Left,
    pub(crate) known: Known,
    /// What each tree may cost when the best costs so much, once draws are followed.
    pub(crate) shares: Option<(f64, Vec<f64>)>,
}

impl Node {
    /// What each tree may cost in a design that costs no more than the best.
    fn shares_of(&self, most: f64) -> Option<Vec<f64>> {
        let (then, shares) = self.shares.as_ref()?;
        Some(shares.iter().map(|share| share + most - then).collect())
    }
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

/// Times that lines are laid anew where the last design lies.
const AGAIN: usize = 3;

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
            shares: None,
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
        let mut again = 0;
        let mut last: Option<Vec<usize>> = None;
        loop {
            let most = self.best.as_ref().map(|b| b.cost);
            let shares = most.and_then(|most| node.shares_of(most));
            let pursuit = shares.as_deref().map_or(Pursuit::Flat, Pursuit::Within);
            let known = (&mut node.left, &node.known);
            let Some(relaxed) = self.model.relax(self.bench, known, (pursuit, goes_on)) else {
                return Vec::new();
            };
            if node.number == 0 && node.left.len() <= MOST_TIED {
                self.first = Some((node.left.clone(), relaxed.clone()));
            }
            let bound = node.bound.max(relaxed.bound);
            let trial = self.attempt(&relaxed.design);
            if self.beats(bound) {
                return Vec::new();
            }
            self.note(&mut node.known, &trial);
            if self.best.is_none() || node.number == 0 {
                if self.model.follows && !trial.passes() {
                    self.lead(&mut node);
                }
                if self.best.is_none() || !self.model.follows {
                    self.improve(&relaxed, &trial);
                }
                if self.beats(bound) {
                    return Vec::new();
                }
            }
            node.bound = bound;
            node.number = node.number.max(1);
            let same = last.as_ref() == Some(&relaxed.design);
            last = Some(relaxed.design.clone());
            if shares.is_some() && !trial.passes() && !same && again < AGAIN && goes_on() {
                // Lines that touch where this design lies see that it fails.
                again += 1;
                continue;
            }
            again = 0;
            let most = self.best.as_ref().map(|b| b.cost);
            let fewer = most.is_some_and(|most| {
                let known = (&mut node.left, &mut node.known);
                self.model
                    .drop_dear(self.bench, known, &relaxed, (most, goes_on))
            });
            if !goes_on() {
                return self.part(&node, &relaxed, &trial);
            }
            if shares.is_none() && self.model.follows {
                node.shares = most.map(|most| (most, self.model.shares(&relaxed, most)));
                if node.shares.is_some() {
                    continue;
                }
            }
            if !fewer {
                return self.part(&node, &relaxed, &trial);
            }
        }
    }

    /// Looks for a good design among the most hopeful, with lines that touch where the last one
    /// lies.
    fn lead(&mut self, node: &mut Node) {
        let mut last: Option<Vec<usize>> = None;
        for _ in 0..AGAIN {
            let known = (&mut node.left, &node.known);
            let how = (Pursuit::Beam, self.watch.goes_on);
            let Some(relaxed) = self.model.relax(self.bench, known, how) else {
                return;
            };
            let trial = self.attempt(&relaxed.design);
            if trial.passes() {
                return;
            }
            self.note(&mut node.known, &trial);
            if last.replace(relaxed.design.clone()) == Some(relaxed.design) {
                return;
            }
        }
    }

    /// Notes the volts of a design tried: the cheapest may be near.
    fn note(&self, known: &mut Known, trial: &Trial) {
        let near_v = Rc::make_mut(&mut known.near_v);
        for (near_v, solution) in near_v.iter_mut().zip(&trial.solutions) {
            if let Some(solution) = solution {
                let devices = self.bench.devices.iter();
                *near_v = devices
                    .map(|[plus, minus]| solution.across(*plus, *minus))
                    .collect();
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
