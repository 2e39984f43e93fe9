//! The cheapest choices in one tree of runs that keep what some rows ask: exact, from the far
//! ends to the supply.
//!
//! Below each run stands a list of designs, of each its cost and the volts that it asks for at
//! the run's near end, in every row. A design that costs more and asks for more than another
//! never serves better, whatever stands above, and goes. So does one that with the very least
//! that the rest of the tree can cost, by [`Convex`], passes a known design.

use crate::size::bounds::Left;
use crate::size::convex::Convex;
use crate::size::forest::{Asked, FAR_BELOW, Forest};
use crate::size::options::Options;

/// Volts by which rounding may miss: what the rows ask has the tolerance in it already.
const ROUNDING_V: f64 = 1e-10;
/// Designs kept in each list of the first, rough pass.
const ROUGH: usize = 24;
/// Trees of so few runs need no bounds.
const SMALL: usize = 3;
/// Longest list before the search gives up on some rows.
const LONGEST: usize = 60_000;

/// The cheapest choices of a tree.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Found {
    /// What they cost.
    pub(crate) cost: f64,
    /// Open run and choice.
    pub(crate) picks: Vec<(usize, usize)>,
}

/// What came of a search.
#[derive(Debug)]
pub(crate) enum Sought {
    /// Nothing keeps what is asked.
    Nothing,
    /// The cheapest.
    Cheapest(Found),
    /// Too many designs, or no time: none is cheaper than this, and some are known.
    AtLeast(f64, Option<Found>),
}

/// A problem: trees of runs, the choices left, and the rows that ask.
pub(crate) struct Problem<'a> {
    pub(crate) options: &'a Options,
    pub(crate) forest: &'a Forest,
    pub(crate) left: &'a Left,
    pub(crate) rows: Vec<&'a Asked>,
    /// Whether there is time left.
    pub(crate) goes_on: &'a dyn Fn() -> bool,
}

/// Designs below a run: cheapest first.
#[derive(Debug, Default)]
struct List {
    cost: Vec<f64>,
    /// Volts asked for, row after row of each design.
    asks: Vec<f64>,
    /// Where each came from: choice and design below, or design of the list and of the next.
    from: Vec<(u32, u32)>,
}

/// Lists of one run: after each run below was joined, and with the run itself.
#[derive(Debug, Default)]
struct Stage {
    joined: Vec<List>,
    whole: List,
}

/// Lower bounds of a tree in one row: what all outside a run costs when the run asks for volts.
struct Guide {
    outside: Vec<Option<Convex>>,
    least: f64,
}

/// Least cost of a design with a choice, by run and choice.
pub(crate) type Least = Vec<Vec<f64>>;

impl Problem<'_> {
    /// The cheapest choices of the tree at a root.
    pub(crate) fn cheapest(&self, root: usize) -> Sought {
        let tree = self.forest.tree(root);
        if tree.len() <= SMALL {
            return self.pass(&tree, &[], f64::INFINITY, usize::MAX, None);
        }
        let Some(guides) = self.guides(&tree) else {
            return Sought::Nothing;
        };
        let least = guides.iter().map(|g| g.least).fold(0.0, f64::max);
        let rough = self.pass(&tree, &guides, f64::INFINITY, ROUGH, None);
        let known = match rough {
            Sought::Cheapest(found) => Some(found),
            _ => None,
        };
        let limit = known.as_ref().map_or(f64::INFINITY, |found| found.cost);
        match self.pass(&tree, &guides, limit + slack(limit), usize::MAX, None) {
            Sought::AtLeast(..) => Sought::AtLeast(least, known),
            other => other,
        }
    }

    /// For each choice in a tree, less than what any design with it costs; infinite over `limit`.
    pub(crate) fn least_with_each(&self, root: usize, limit: f64, least: &mut Least) {
        let tree = self.forest.tree(root);
        let Some(guides) = self.guides(&tree) else {
            return;
        };
        for e in &tree {
            least[*e].fill(f64::INFINITY);
        }
        let sought = self.pass(&tree, &guides, limit, usize::MAX, Some(&mut *least));
        if let Sought::AtLeast(..) = sought {
            for e in &tree {
                least[*e].fill(0.0);
            }
        }
    }

    /// One pass from the far ends; lists of more than `width` keep the most hopeful.
    fn pass(
        &self,
        tree: &[usize],
        guides: &[Guide],
        limit: f64,
        width: usize,
        mut least: Option<&mut Least>,
    ) -> Sought {
        let mut stages: Vec<Stage> = Vec::new();
        stages.resize_with(self.options.open.len(), Stage::default);
        for (place, e) in tree.iter().enumerate().rev() {
            if !(self.goes_on)() {
                return Sought::AtLeast(0.0, None);
            }
            let mut joined = vec![self.start(*e)];
            for below in &self.forest.below[*e] {
                let last = &joined[joined.len() - 1];
                let next = self.join(last, &stages[*below].whole);
                if next.cost.len() > LONGEST {
                    return Sought::AtLeast(0.0, None);
                }
                joined.push(next);
            }
            let last = &joined[joined.len() - 1];
            let bound = |asks: &[f64]| -> f64 {
                let each = guides.iter().zip(asks).map(|(guide, v)| {
                    guide.outside[place]
                        .as_ref()
                        .map_or(0.0, |outside| outside.at(-v))
                });
                each.fold(0.0, f64::max)
            };
            let whole = self.extend(*e, last, (limit, width), &bound, least.as_deref_mut());
            if whole.cost.is_empty() {
                return Sought::Nothing;
            }
            if whole.cost.len() > LONGEST {
                return Sought::AtLeast(0.0, None);
            }
            stages[*e] = Stage { joined, whole };
        }
        let root = tree[0];
        let list = &stages[root].whole;
        let kept = |i: &usize| self.asks(list, *i).iter().all(|v| *v <= ROUNDING_V);
        let Some(first) = (0..list.cost.len()).find(kept) else {
            return Sought::Nothing;
        };
        // Of those that cost the same, the one with most volts to spare.
        let cost = list.cost[first];
        let most = |i: usize| self.asks(list, i).iter().copied().fold(f64::MIN, f64::max);
        let same = (first..list.cost.len())
            .take_while(|i| list.cost[*i] <= cost + slack(cost))
            .filter(kept);
        let best = same.reduce(|a, b| if most(b) < most(a) { b } else { a });
        let mut picks = Vec::with_capacity(tree.len());
        self.trace(&stages, root, best.unwrap_or(first), &mut picks);
        Sought::Cheapest(Found { cost, picks })
    }

    fn asks<'l>(&self, list: &'l List, i: usize) -> &'l [f64] {
        let rows = self.rows.len();
        &list.asks[i * rows..(i + 1) * rows]
    }

    /// The devices that hang on a run: nothing chosen yet.
    fn start(&self, e: usize) -> List {
        List {
            cost: vec![0.0],
            asks: self.rows.iter().map(|row| row.need_v[e]).collect(),
            from: vec![(0, 0)],
        }
    }

    /// Every design of one list with every design of another that is worth it.
    fn join(&self, a: &List, b: &List) -> List {
        let mut list = List::default();
        if self.rows.len() == 1 {
            let (mut i, mut j) = (0, 0);
            while let (Some(x), Some(y)) = (a.asks.get(i), b.asks.get(j)) {
                list.cost.push(a.cost[i] + b.cost[j]);
                list.asks.push(x.max(*y));
                list.from.push((index(i), index(j)));
                // Only a lesser asking of the greater of the two lessens what both ask.
                (i, j) = (i + usize::from(x >= y), j + usize::from(y >= x));
            }
            return list;
        }
        if a.cost.len().saturating_mul(b.cost.len()) > 64 * LONGEST {
            list.cost = vec![0.0; LONGEST + 1];
            return list;
        }
        let mut all = Vec::with_capacity(a.cost.len() * b.cost.len());
        for i in 0..a.cost.len() {
            for j in 0..b.cost.len() {
                let both = self.asks(a, i).iter().zip(self.asks(b, j));
                let asks: Vec<f64> = both.map(|(x, y)| x.max(*y)).collect();
                all.push((a.cost[i] + b.cost[j], asks, (index(i), index(j))));
            }
        }
        undominated(all)
    }

    /// Every design of a list with every choice of a run.
    fn extend(
        &self,
        e: usize,
        list: &List,
        (limit, width): (f64, usize),
        bound: &dyn Fn(&[f64]) -> f64,
        mut least: Option<&mut Least>,
    ) -> List {
        let mut all = Vec::with_capacity(list.cost.len() * self.left[e].len());
        for k in &self.left[e] {
            let own = self.options.open[e].choices[*k].cost;
            for (i, below) in list.cost.iter().enumerate() {
                let asks = self.asks(list, i).iter().zip(&self.rows);
                let asks: Vec<f64> = asks.map(|(v, row)| v + row.lost_v[e][*k]).collect();
                let cost = own + below;
                let total = cost + bound(&asks);
                let impossible = self.forest.above[e].is_none() && asks[0] > ROUNDING_V;
                if total <= limit && total.is_finite() && !impossible {
                    if let Some(least) = least.as_deref_mut() {
                        least[e][*k] = least[e][*k].min(total);
                    }
                    all.push((total, (cost, asks, (index(*k), index(i)))));
                }
            }
        }
        if all.len() > width {
            all.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut kept = List::default();
            let hopeful = undominated(
                all.into_iter()
                    .map(|(_, design)| design)
                    .take(8 * width)
                    .collect(),
            );
            let step = hopeful.cost.len().div_ceil(width).max(1);
            let rows = self.rows.len();
            for i in (0..hopeful.cost.len()).filter(|i| i % step == 0) {
                kept.cost.push(hopeful.cost[i]);
                kept.asks.extend(&hopeful.asks[i * rows..(i + 1) * rows]);
                kept.from.push(hopeful.from[i]);
            }
            return kept;
        }
        undominated(all.into_iter().map(|(_, design)| design).collect())
    }

    /// The choices of a design and of all below it.
    fn trace(&self, stages: &[Stage], root: usize, best: usize, picks: &mut Vec<(usize, usize)>) {
        let mut waiting = vec![(root, best)];
        while let Some((e, i)) = waiting.pop() {
            let (k, below) = stages[e].whole.from[i];
            picks.push((e, k as usize));
            let mut at = below as usize;
            for (c, child) in self.forest.below[e].iter().enumerate().rev() {
                let (before, design) = stages[e].joined[c + 1].from[at];
                waiting.push((*child, design as usize));
                at = before as usize;
            }
        }
    }

    fn guides(&self, tree: &[usize]) -> Option<Vec<Guide>> {
        self.rows.iter().map(|row| self.guide(tree, row)).collect()
    }

    /// Inside of every run, far ends first; then outside, from the supply.
    fn guide(&self, tree: &[usize], row: &Asked) -> Option<Guide> {
        let mut place = vec![usize::MAX; self.options.open.len()];
        for (i, e) in tree.iter().enumerate() {
            place[*e] = i;
        }
        let hull = |e: usize| {
            let points = self.left[e]
                .iter()
                .map(|k| (row.lost_v[e][*k], self.options.open[e].choices[*k].cost));
            Convex::hull(points.collect())
        };
        let hulls: Vec<Convex> = tree.iter().map(|e| hull(*e)).collect::<Option<_>>()?;
        let mut inside: Vec<Convex> = vec![Convex::flat(0.0, 0.0); tree.len()];
        for (i, e) in tree.iter().enumerate().rev() {
            let node = self.forest.below[*e]
                .iter()
                .fold(Convex::flat(FAR_BELOW, 0.0), |sum, below| {
                    sum.beside(&inside[place[*below]], FAR_BELOW)
                });
            let node = node.beside(&Convex::flat(FAR_BELOW, 0.0), row.need_v[*e].max(FAR_BELOW));
            inside[i] = hulls[i].after(&node);
        }
        let supply = Convex::flat(-ROUNDING_V, 0.0);
        let least = inside[0].at(ROUNDING_V);
        if !least.is_finite() {
            return None;
        }
        let mut outside: Vec<Option<Convex>> = vec![None; tree.len()];
        outside[0] = Some(supply);
        for (i, e) in tree.iter().enumerate() {
            let Some(own) = &outside[i] else { continue };
            let node = hulls[i].after(own);
            let below = &self.forest.below[*e];
            let need = Convex::flat(row.need_v[*e].max(FAR_BELOW), 0.0);
            // What stands beside each: all before it and all behind it.
            let mut before = need;
            let mut behind = vec![Convex::flat(FAR_BELOW, 0.0)];
            for child in below.iter().skip(1).rev() {
                let last = &behind[behind.len() - 1];
                behind.push(last.beside(&inside[place[*child]], FAR_BELOW));
            }
            for child in below {
                let beside = match behind.pop() {
                    Some(behind) => before.beside(&behind, FAR_BELOW),
                    None => before.clone(),
                };
                outside[place[*child]] = Some(node.against(&beside)?);
                before = before.beside(&inside[place[*child]], FAR_BELOW);
            }
        }
        Some(Guide { outside, least })
    }
}

/// What two sums of the same costs may differ by.
pub(crate) fn slack(cost: f64) -> f64 {
    1e-9 * cost.abs().max(1e-9)
}

type Design = (f64, Vec<f64>, (u32, u32));

/// Cheapest first, without those that another is no worse than in cost and every row.
fn undominated(mut all: Vec<Design>) -> List {
    all.sort_by(|a, b| {
        let asks = a.1.iter().zip(&b.1).map(|(x, y)| x.total_cmp(y));
        a.0.total_cmp(&b.0)
            .then(asks.fold(std::cmp::Ordering::Equal, std::cmp::Ordering::then))
            .then(a.2.cmp(&b.2))
    });
    let mut list = List::default();
    let rows = all.first().map_or(1, |d| d.1.len());
    for (cost, asks, from) in all {
        let kept = list.cost.len();
        let beaten = if rows == 1 {
            kept > 0 && list.asks[kept - 1] <= asks[0]
        } else {
            list.asks
                .chunks(rows)
                .any(|other| other.iter().zip(&asks).all(|(o, a)| o <= a))
        };
        if !beaten {
            list.cost.push(cost);
            list.asks.extend(asks);
            list.from.push(from);
        }
    }
    list
}

fn index(i: usize) -> u32 {
    u32::try_from(i).unwrap_or(u32::MAX)
}
