//! The cheapest design that might pass, judged by what it must lose at least: no passing design
//! within some choices is cheaper.

use crate::size::bounds::{Bounds, Left, Wiring};
use crate::size::forest::{Asked, AtLeast, Carried, Forest};
use crate::size::pareto::{Found, Least, Problem, Sought, slack};
use crate::size::trial::{Bench, TOLERANCE};

/// Most rows that one tree is held against at once; the others are left to trials.
const MOST_ROWS: usize = 4;
/// Volts by which rounding may miss.
const ROUNDING_V: f64 = 1e-10;

/// What the wiring of all rows says once and for all.
#[derive(Debug)]
pub(crate) struct Model {
    pub(crate) wiring: Vec<Wiring>,
    pub(crate) forest: Forest,
    pub(crate) carried: Vec<Carried>,
}

/// The cheapest design that might pass, and what was asked of it.
#[derive(Debug)]
pub(crate) struct Relaxed {
    /// No passing design costs less.
    pub(crate) bound: f64,
    /// A choice for every open run.
    pub(crate) design: Vec<usize>,
    /// What every row asks.
    pub(crate) asked: Vec<Asked>,
    /// By root: cost of its tree, and the rows that it was held against.
    trees: Vec<(f64, Vec<usize>)>,
}

impl Model {
    pub(crate) fn of(bench: &Bench) -> Self {
        let wiring: Vec<Wiring> = bench.rows.iter().map(|r| Wiring::of(bench, r)).collect();
        let forest = Forest::of(bench, &wiring);
        let rows = bench.rows.iter().zip(&wiring);
        let carried = rows.map(|(r, w)| forest.carried(bench, r, w)).collect();
        Self {
            wiring,
            forest,
            carried,
        }
    }

    /// Narrows the choices left and finds the cheapest design that might pass; `None` where none
    /// can.
    pub(crate) fn relax(
        &self,
        bench: &Bench,
        left: &mut Left,
        goes_on: &dyn Fn() -> bool,
    ) -> Option<Relaxed> {
        loop {
            if left.iter().any(Vec::is_empty) {
                return None;
            }
            let mut asked = Vec::with_capacity(bench.rows.len());
            let mut fewer = false;
            for ((row, wiring), carried) in bench.rows.iter().zip(&self.wiring).zip(&self.carried) {
                let bounds = Bounds::of(bench, row, wiring, left)?;
                if row.amps {
                    fewer |= carry(bench, &bounds, left);
                }
                let flow = AtLeast {
                    row,
                    wiring,
                    bounds: &bounds,
                };
                asked.push(self.forest.asked(row, carried, &flow, |_| 0.0));
            }
            if !fewer {
                return self.cheapest(bench, left, asked, goes_on);
            }
        }
    }

    /// The cheapest design that keeps what is asked, tree by tree.
    pub(crate) fn cheapest(
        &self,
        bench: &Bench,
        left: &Left,
        asked: Vec<Asked>,
        goes_on: &dyn Fn() -> bool,
    ) -> Option<Relaxed> {
        let options = &bench.options;
        let cost = |e: usize, k: usize| options.open[e].choices[k].cost;
        let least = |e: usize| {
            let better = |a: usize, b: usize| if cost(e, b) < cost(e, a) { b } else { a };
            left[e].iter().copied().reduce(better)
        };
        let mut design: Vec<usize> = (0..left.len()).map(least).collect::<Option<_>>()?;
        let mut bound = options.fixed;
        for e in (0..left.len()).filter(|e| !self.forest.used[*e]) {
            bound += cost(e, design[e]);
        }
        let mut trees = Vec::with_capacity(self.forest.roots.len());
        for root in &self.forest.roots {
            let tree = self.forest.tree(*root);
            let mut rows: Vec<usize> = Vec::new();
            let mut known: f64 = tree.iter().map(|e| cost(*e, design[*e])).sum();
            while rows.len() < MOST_ROWS {
                let Some(worst) = self.worst(&tree, &asked, &design) else {
                    break;
                };
                rows.retain(|row| !covers(&tree, &asked[worst], &asked[*row]));
                rows.push(worst);
                let problem = Problem {
                    options,
                    forest: &self.forest,
                    left,
                    rows: rows.iter().map(|r| &asked[*r]).collect(),
                    goes_on,
                };
                let found = match problem.cheapest(*root) {
                    Sought::Nothing => return None,
                    Sought::Cheapest(found) => found,
                    Sought::AtLeast(least, some) => {
                        known = known.max(least);
                        pick(&mut design, some.as_ref());
                        rows.pop();
                        break;
                    }
                };
                known = found.cost;
                pick(&mut design, Some(&found));
            }
            bound += known;
            trees.push((known, rows));
        }
        Some(Relaxed {
            bound,
            design,
            asked,
            trees,
        })
    }

    /// The row of which a design of a tree is furthest short, if of any.
    fn worst(&self, tree: &[usize], asked: &[Asked], design: &[usize]) -> Option<usize> {
        let mut worst = (ROUNDING_V, None);
        let mut need = vec![f64::NEG_INFINITY; design.len()];
        for (r, row) in asked.iter().enumerate() {
            for e in tree {
                need[*e] = row.need_v[*e];
            }
            for e in tree.iter().rev() {
                let whole = need[*e] + row.lost_v[*e][design[*e]];
                match self.forest.above[*e] {
                    Some(above) => need[above] = need[above].max(whole),
                    None if whole > worst.0 => worst = (whole, Some(r)),
                    None => {}
                }
            }
        }
        worst.1
    }

    /// Takes away the choices with which no design costs `most` or less; whether any went.
    pub(crate) fn drop_dear(
        &self,
        bench: &Bench,
        left: &mut Left,
        relaxed: &Relaxed,
        (most, goes_on): (f64, &dyn Fn() -> bool),
    ) -> bool {
        let spare = most - relaxed.bound;
        let cost = |e: usize, k: usize| bench.options.open[e].choices[k].cost;
        let mut least: Least = left
            .iter()
            .enumerate()
            .map(|(e, _)| vec![0.0; bench.options.open[e].choices.len()])
            .collect();
        let mut limit = vec![f64::INFINITY; left.len()];
        for (root, (known, rows)) in self.forest.roots.iter().zip(&relaxed.trees) {
            let tree = self.forest.tree(*root);
            for e in &tree {
                limit[*e] = known + spare + slack(most);
            }
            if rows.is_empty() {
                for e in &tree {
                    let other = known - cost(*e, relaxed.design[*e]);
                    for k in &left[*e] {
                        least[*e][*k] = other + cost(*e, *k);
                    }
                }
                continue;
            }
            let problem = Problem {
                options: &bench.options,
                forest: &self.forest,
                left,
                rows: rows.iter().map(|r| &relaxed.asked[*r]).collect(),
                goes_on,
            };
            problem.least_with_each(*root, limit[*root], &mut least);
        }
        for e in (0..left.len()).filter(|e| !self.forest.used[*e]) {
            limit[e] = cost(e, relaxed.design[e]) + spare + slack(most);
            for k in &left[e] {
                least[e][*k] = cost(e, *k);
            }
        }
        let before: usize = left.iter().map(Vec::len).sum();
        for (e, choices) in left.iter_mut().enumerate() {
            choices.retain(|k| least[e][*k] <= limit[e]);
        }
        left.iter().map(Vec::len).sum::<usize>() < before
    }
}

/// Takes away the choices that must be overdrawn; whether any went.
fn carry(bench: &Bench, bounds: &Bounds, left: &mut Left) -> bool {
    let mut fewer = false;
    for (e, choices) in left.iter_mut().enumerate() {
        let before = choices.len();
        choices.retain(|k| {
            let legs = bench.branches[e].iter().zip(bench.allowed_a(e, *k));
            let over = |(branch, amps): (&Option<usize>, f64)| {
                branch.is_some_and(|b| bounds.at_least(b) > amps + TOLERANCE)
            };
            !legs.into_iter().any(over)
        });
        fewer |= choices.len() < before;
    }
    fewer
}

/// Whether one row asks at least as much as another, everywhere in a tree.
fn covers(tree: &[usize], one: &Asked, other: &Asked) -> bool {
    tree.iter().all(|e| {
        let lost = one.lost_v[*e].iter().zip(&other.lost_v[*e]);
        one.need_v[*e] >= other.need_v[*e] && lost.into_iter().all(|(a, b)| a >= b)
    })
}

fn pick(design: &mut [usize], found: Option<&Found>) {
    for (e, k) in found.iter().flat_map(|f| &f.picks) {
        design[*e] = *k;
    }
}
