//! The cheapest design that might pass, judged by what it must lose at least: no passing design
//! within some choices is cheaper.

use std::rc::Rc;

use crate::size::bounds::{Bounds, Left, Range, Wiring};
use crate::size::carried::Carried;
use crate::size::drawn::{Drawn, Seen};
use crate::size::duct::narrow;
use crate::size::forest::{Asked, AtLeast, Forest};
use crate::size::hub::Hub;
use crate::size::options::Options;
use crate::size::pareto::{Aim, Found, MOST_ROWS, Problem, ROUNDING_V, Sought, slack};
use crate::size::row::Row;
use crate::size::shape::Step;
use crate::size::trial::{Bench, TOLERANCE};

/// What is known of volts beside what the choices left say.
#[derive(Clone, Debug)]
pub(crate) struct Known {
    /// By row, by device: volts between which it lies in every passing design that costs no more
    /// than the best known one.
    pub(crate) volts: Rc<Vec<Vec<Range>>>,
    /// By row, by device: volts of a design that may be near the cheapest; NaN where none is known.
    pub(crate) near_v: Rc<Vec<Vec<f64>>>,
}

/// Runs of a star up to which its draws are followed as in any tree.
const FEW: usize = 6;

/// What the wiring of all rows says once and for all.
#[derive(Debug)]
pub(crate) struct Model {
    pub(crate) wiring: Vec<Wiring>,
    pub(crate) forest: Forest,
    pub(crate) carried: Vec<Rc<Carried>>,
    /// Hubs of which more is known than what is lost at least.
    hubs: Vec<Hub>,
    /// Some draw follows the volts.
    pub(crate) follows: bool,
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
    pub(crate) asks_cost: f64,
    /// By root: cost of its tree, and the rows that it was held against.
    pub(crate) trees: Vec<(f64, Vec<usize>)>,
    /// By row, by device that the trees carry: volts lost on the rest of its way.
    pub(crate) rests: Vec<Vec<Range>>,
}

/// How a design is looked for.
#[derive(Clone, Copy)]
pub(crate) enum Pursuit<'a> {
    /// With what is drawn at least, whatever the volts.
    Flat,
    /// With draws that follow the volts, among the most hopeful: nothing is proven.
    Beam,
    /// Likewise among all, where no tree costs more than so much.
    Within(&'a [f64]),
}

impl Pursuit<'_> {
    /// What that means for a tree; `homes` knows more of what the runs of a great star draw.
    fn aim(self, tree: usize, great_star: bool) -> Aim {
        match self {
            _ if great_star => Aim::Flat,
            Self::Flat => Aim::Flat,
            Self::Beam => Aim::Beam,
            Self::Within(most) => Aim::Within(most[tree]),
        }
    }
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
            follows: !opened && bench.rows.iter().any(Row::follows),
        }
    }

    /// Narrows the choices left and finds the cheapest design that might pass; `None` where none
    /// can.
    pub(crate) fn relax(
        &self,
        bench: &Bench,
        (left, known): (&mut Left, &Known),
        (pursuit, goes_on): (Pursuit<'_>, &dyn Fn() -> bool),
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
                let bounds = Bounds::of(bench, row, wiring, (left, &known.volts[r]))?;
                if row.amps {
                    fewer |= carry(bench, &bounds, left);
                }
                let flow = AtLeast {
                    row,
                    wiring,
                    bounds: &bounds,
                };
                let mut asks = self.forest.asked(row, carried, &flow, |_| 0.0);
                let rest = carried.devices.iter().map(|(_, _, steps)| {
                    let lost = steps.iter().map(|step| bounds.lost(row, wiring, *step));
                    lost.fold((0.0, 0.0), |sum, l| (sum.0 + l.0, sum.1 + l.1))
                });
                let rest: Vec<Range> = rest.collect();
                if !matches!(pursuit, Pursuit::Flat) {
                    let mut is_fixed = vec![false; bounds.edge_a.len()];
                    for (edge, _) in carried.fixed.iter().flatten() {
                        is_fixed[*edge] = true;
                    }
                    let own = |step: &Step| {
                        let (few, many) = bounds.lost(row, wiring, *step);
                        match *step {
                            Step::Bridge(edge, _) if is_fixed[edge] && many.is_finite() => {
                                (few, few)
                            }
                            _ => (few, many),
                        }
                    };
                    let exact = carried.devices.iter().map(|(_, _, steps)| {
                        let lost = steps.iter().map(own);
                        lost.fold((0.0, 0.0), |sum, l| (sum.0 + l.0, sum.1 + l.1))
                    });
                    let exact: Vec<Range> = exact.collect();
                    let seen = Seen {
                        row,
                        carried,
                        flow: &flow,
                        sink_a: &bounds.sink_a,
                        device_v: &bounds.device_v,
                        near_v: &known.near_v[r],
                        rests: &exact,
                    };
                    asks.drawn = Some(Drawn::of(&self.forest, &seen, &asks, left));
                }
                asked.push(asks);
                rests.push(rest);
            }
            if !fewer {
                let mut relaxed = self.cheapest(bench, left, asked, (pursuit, goes_on))?;
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
        (pursuit, goes_on): (Pursuit<'_>, &dyn Fn() -> bool),
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
        for (t, root) in self.forest.roots.iter().enumerate() {
            let tree = self.forest.tree(*root);
            let aim = pursuit.aim(t, self.is_great_star(&tree));
            let mut rows: Vec<usize> = Vec::new();
            let mut known: f64 = tree.iter().map(|e| cost(*e, design[*e])).sum();
            while rows.len() < MOST_ROWS {
                let Some(worst) = self.worst((&tree, aim), &asked, &design) else {
                    break;
                };
                if rows.contains(&worst) {
                    break;
                }
                rows.retain(|row| !covers(&tree, &asked[worst], &asked[*row]));
                rows.push(worst);
                let problem = Problem {
                    options,
                    forest: &self.forest,
                    left,
                    rows: rows.iter().map(|r| &asked[*r]).collect(),
                    aim,
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

    /// What each tree may cost in a design that costs no more than `most`.
    pub(crate) fn shares(&self, relaxed: &Relaxed, most: f64) -> Vec<f64> {
        let spare = most - relaxed.asks_cost + slack(most);
        let each = relaxed.trees.iter().map(|(own, _)| own + spare);
        each.collect()
    }

    /// Whether no passing design breaks the bounds. What a design must lose at least is known of
    /// linear networks, not of phasors nor of supplies that may block one another: there what is
    /// found passes, and no proof says that it is the cheapest.
    pub(crate) fn is_sound(&self, bench: &Bench) -> bool {
        let mut rows = bench.rows.iter().zip(&self.wiring);
        !rows.any(|(row, wires)| row.is_beyond_bounds(&wires.shape))
    }

    pub(crate) fn is_great_star(&self, tree: &[usize]) -> bool {
        tree.len() > FEW && self.forest.is_star(tree)
    }

    /// Whether loops divide some current.
    pub(crate) fn has_meshes(&self) -> bool {
        self.wiring.iter().any(|w| !w.shape.meshes.is_empty())
    }

    /// Nothing known yet.
    pub(crate) fn nothing_known(&self, bench: &Bench) -> Known {
        let all = vec![(f64::NEG_INFINITY, f64::INFINITY); bench.devices.len()];
        let none = vec![f64::NAN; bench.devices.len()];
        Known {
            volts: Rc::new(vec![all; bench.rows.len()]),
            near_v: Rc::new(vec![none; bench.rows.len()]),
        }
    }

    /// The row of which a design of a tree is furthest short, if of any.
    fn worst(
        &self,
        (tree, aim): (&[usize], Aim),
        asked: &[Asked],
        design: &[usize],
    ) -> Option<usize> {
        let mut worst = (ROUNDING_V, None);
        let mut need = vec![f64::NEG_INFINITY; design.len()];
        for (r, row) in asked.iter().enumerate() {
            if let (Some(drawn), Aim::Beam | Aim::Within(_)) = (&row.drawn, aim) {
                let asked_v = drawn.asked_v(&self.forest, tree, &row.need_v, design);
                if asked_v > worst.0 {
                    worst = (asked_v, Some(r));
                }
                continue;
            }
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
    let plain = one.drawn.is_none() && other.drawn.is_none();
    plain
        && tree.iter().all(|e| {
            let lost = one.lost_v[*e].iter().zip(&other.lost_v[*e]);
            one.need_v[*e] >= other.need_v[*e] && lost.into_iter().all(|(a, b)| a >= b)
        })
}

/// Cost of the cheapest of some choices.
pub(crate) fn cheapest_of(options: &Options, e: usize, own: &[usize]) -> f64 {
    let costs = own.iter().map(|k| options.open[e].choices[*k].cost);
    costs.fold(f64::INFINITY, f64::min)
}

fn pick(design: &mut [usize], found: Option<&Found>) {
    for (e, k) in found.iter().flat_map(|f| &f.picks) {
        design[*e] = *k;
    }
}
