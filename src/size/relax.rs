//! The cheapest design that might pass, judged by what it must lose at least: no passing design
//! within some choices is cheaper.

use std::rc::Rc;

use crate::size::bounds::{Bounds, Left, Range, Wiring};
use crate::size::duct::narrow;
use crate::size::forest::{Asked, AtLeast, Carried, Forest};
use crate::size::guide::Guides;
use crate::size::hub::Hub;
use crate::size::options::Options;
use crate::size::pareto::{Found, Least, MOST_ROWS, Problem, ROUNDING_V, Sought, slack};
use crate::size::trial::{Bench, TOLERANCE};

/// By row, by device: volts between which it lies in every passing design that costs no more
/// than the best known one.
pub(crate) type Known = Rc<Vec<Vec<Range>>>;

/// Volts narrowed by less than this change nothing worth another turn.
const STILL_V: f64 = 0.02;

/// What the wiring of all rows says once and for all.
#[derive(Debug)]
pub(crate) struct Model {
    pub(crate) wiring: Vec<Wiring>,
    pub(crate) forest: Forest,
    pub(crate) carried: Vec<Rc<Carried>>,
    /// Hubs of which more is known than what is lost at least.
    hubs: Vec<Hub>,
}

/// The cheapest design that might pass, and what was asked of it.
#[derive(Clone, Debug)]
pub(crate) struct Relaxed {
    /// No passing design costs less.
    pub(crate) bound: f64,
    /// A choice for every open run.
    pub(crate) design: Vec<usize>,
    /// What every row asks.
    pub(crate) asked: Vec<Asked>,
    /// What keeps that costs at least, where nothing is known of hubs.
    asks_cost: f64,
    /// By root: cost of its tree, and the rows that it was held against.
    trees: Vec<(f64, Vec<usize>)>,
    /// By row, by device that the trees carry: volts lost on the rest of its way.
    rests: Vec<Vec<Range>>,
}

impl Model {
    pub(crate) fn of(bench: &Bench, opened: bool) -> Self {
        let wiring = Wiring::all(bench, opened);
        let forest = Forest::of(bench, &wiring);
        let carried = forest.carried_in_all(bench, &wiring);
        let hubs = if opened {
            Vec::new()
        } else {
            Hub::all(bench, &wiring)
        };
        Self {
            wiring,
            forest,
            carried,
            hubs,
        }
    }

    /// Narrows the choices left and finds the cheapest design that might pass; `None` where none
    /// can.
    pub(crate) fn relax(
        &self,
        bench: &Bench,
        (left, known): (&mut Left, &Known),
        goes_on: &dyn Fn() -> bool,
    ) -> Option<Relaxed> {
        loop {
            if left.iter().any(Vec::is_empty) {
                return None;
            }
            if narrow(&bench.ducts, left) {
                continue;
            }
            let mut asked = Vec::with_capacity(bench.rows.len());
            let mut rests = Vec::with_capacity(bench.rows.len());
            let mut fewer = false;
            for (r, row) in bench.rows.iter().enumerate() {
                let (wiring, carried) = (&self.wiring[r], &self.carried[r]);
                let bounds = Bounds::of(bench, row, wiring, (left, &known[r]))?;
                if row.amps {
                    fewer |= carry(bench, &bounds, left);
                }
                let flow = AtLeast {
                    row,
                    wiring,
                    bounds: &bounds,
                };
                asked.push(self.forest.asked(row, carried, &flow, |_| 0.0));
                let rest = carried.devices.iter().map(|(_, _, steps)| {
                    let lost = steps.iter().map(|step| bounds.lost(row, wiring, *step));
                    lost.fold((0.0, 0.0), |sum, l| (sum.0 + l.0, sum.1 + l.1))
                });
                rests.push(rest.collect());
            }
            if !fewer {
                let mut relaxed = self.cheapest(bench, left, asked, goes_on)?;
                relaxed.rests = rests;
                let fit = self.serve_hubs(&bench.options, left, &mut relaxed, goes_on);
                return fit.then_some(relaxed);
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
            asks_cost: bound,
            trees,
            rests: Vec::new(),
        })
    }

    /// Puts in the cheapest home runs of every hub; whether there are such.
    fn serve_hubs(
        &self,
        options: &Options,
        left: &Left,
        relaxed: &mut Relaxed,
        goes_on: &dyn Fn() -> bool,
    ) -> bool {
        for hub in &self.hubs {
            let of_hub = |e: &usize| hub.feed == Some(*e) || hub.homes.contains(e);
            let roots = self.forest.roots.iter().zip(&relaxed.trees);
            let trees = roots.filter(|(root, _)| of_hub(root)).map(|(_, t)| t.0);
            let unused = (0..left.len()).filter(|e| !self.forest.used[*e] && of_hub(e));
            let unused = unused.map(|e| cheapest_of(options, e, &left[e]));
            let known: f64 = trees.chain(unused).sum();
            let (least, found) = match hub.cheapest(options, left, goes_on) {
                Sought::Nothing => return false,
                Sought::Cheapest(found) => (found.cost, Some(found)),
                Sought::AtLeast(least, found) => (least, found),
            };
            relaxed.bound += (least - known).max(0.0);
            pick(&mut relaxed.design, found.as_ref());
        }
        true
    }

    /// Whether no passing design breaks the bounds. What a design must lose at least is known of
    /// linear networks, not of phasors nor of supplies that may block one another: there what is
    /// found passes, and no proof says that it is the cheapest.
    pub(crate) fn is_sound(&self, bench: &Bench) -> bool {
        let mut rows = bench.rows.iter().zip(&self.wiring);
        !rows.any(|(row, wires)| row.is_beyond_bounds(&wires.shape))
    }

    /// Whether loops divide some current.
    pub(crate) fn has_meshes(&self) -> bool {
        self.wiring.iter().any(|w| !w.shape.meshes.is_empty())
    }

    /// Nothing known yet.
    pub(crate) fn nothing_known(&self, bench: &Bench) -> Known {
        let all = vec![(f64::NEG_INFINITY, f64::INFINITY); bench.devices.len()];
        Rc::new(vec![all; bench.rows.len()])
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

    /// Takes away the choices with which no design costs `most` or less, and narrows what is
    /// known of volts where no more is spent; whether either came to anything.
    pub(crate) fn drop_dear(
        &self,
        bench: &Bench,
        (left, known): (&mut Left, &mut Known),
        relaxed: &Relaxed,
        (most, goes_on): (f64, &dyn Fn() -> bool),
    ) -> bool {
        let spare = most - relaxed.asks_cost;
        let cost = |e: usize, k: usize| bench.options.open[e].choices[k].cost;
        let cheapest = |e: usize, own: &[usize]| cheapest_of(&bench.options, e, own);
        let mut least: Least = bench
            .options
            .open
            .iter()
            .map(|open| vec![0.0; open.choices.len()])
            .collect();
        let mut limit = vec![f64::INFINITY; left.len()];
        let mut narrower = false;
        for (root, (own, rows)) in self.forest.roots.iter().zip(&relaxed.trees) {
            let tree = self.forest.tree(*root);
            let may = own + spare + slack(most);
            for e in &tree {
                limit[*e] = may;
                for k in &left[*e] {
                    least[*e][*k] = own - cheapest(*e, &left[*e]) + cost(*e, *k);
                }
            }
            if rows.is_empty() {
                continue;
            }
            let problem = Problem {
                options: &bench.options,
                forest: &self.forest,
                left,
                rows: rows.iter().map(|r| &relaxed.asked[*r]).collect(),
                goes_on,
            };
            if let Some(guides) = problem.least_with_each(*root, may, &mut least) {
                narrower |= self.narrow(known, relaxed, (&tree, rows), (&guides, may));
            }
        }
        for e in (0..left.len()).filter(|e| !self.forest.used[*e]) {
            limit[e] = cheapest(e, &left[e]) + spare + slack(most);
            for k in &left[e] {
                least[e][*k] = cost(e, *k);
            }
        }
        let before: usize = left.iter().map(Vec::len).sum();
        for (e, choices) in left.iter_mut().enumerate() {
            choices.retain(|k| least[e][*k] <= limit[e]);
        }
        narrower || left.iter().map(Vec::len).sum::<usize>() < before
    }

    /// Narrows the volts of the devices of a tree that costs no more than `may`.
    ///
    /// In a passing design let x be a node's volts less the supply's and the rest of the device's
    /// way. What the trees ask is no more than what is truly lost, so the part above costs no
    /// less than its guide at x and the part below no less than its own: both hold for x.
    fn narrow(
        &self,
        known: &mut Known,
        relaxed: &Relaxed,
        (tree, rows): (&[usize], &[usize]),
        (guides, may): (&Guides, f64),
    ) -> bool {
        let mut narrower = false;
        for (i, r) in rows.iter().enumerate() {
            let mut node: Vec<Option<Range>> = vec![None; self.forest.used.len()];
            for (place, e) in tree.iter().enumerate() {
                node[*e] = guides.volts(place, i, may);
            }
            let devices = self.carried[*r].devices.iter().zip(&relaxed.rests[*r]);
            for ((d, ..), rest) in devices {
                let Some((low, high)) = self.forest.hangs[*d].and_then(|e| node[e]) else {
                    continue;
                };
                let (low, high) = (low - rest.1 - TOLERANCE, high - rest.0 + TOLERANCE);
                let own = known[*r][*d];
                if low > own.0 + STILL_V || high < own.1 - STILL_V {
                    let own = &mut Rc::make_mut(known)[*r][*d];
                    *own = (own.0.max(low), own.1.min(high));
                    narrower = true;
                }
            }
        }
        narrower
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

/// Cost of the cheapest of some choices.
fn cheapest_of(options: &Options, e: usize, own: &[usize]) -> f64 {
    let costs = own.iter().map(|k| options.open[e].choices[*k].cost);
    costs.fold(f64::INFINITY, f64::min)
}

fn pick(design: &mut [usize], found: Option<&Found>) {
    for (e, k) in found.iter().flat_map(|f| &f.picks) {
        design[*e] = *k;
    }
}
