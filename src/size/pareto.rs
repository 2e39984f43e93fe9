//! The cheapest choices in one tree of runs that keep what some rows ask: exact, from the far
//! ends to the supply.
//!
//! Below each run stands a list of designs, of each its cost and the volts that it asks for at
//! the run's near end, in every row. A design that costs more and asks for more than another
//! never serves better, whatever stands above, and goes. So does one that with the very least
//! that the rest of the tree can cost, by its [`Guides`], passes a known design.

use crate::size::bounds::Left;
use crate::size::forest::{Asked, Forest};
use crate::size::guide::Guides;
use crate::size::options::Options;

/// Most rows that one tree is held against at once.
pub(crate) const MOST_ROWS: usize = 4;
/// Volts by which rounding may miss: what the rows ask has the tolerance in it already.
pub(crate) const ROUNDING_V: f64 = 1e-10;
/// Part of the guide by which the first search goes over it, and by how much each next goes
/// further.
const FIRST_STEP: f64 = 5e-5;
const NEXT_STEP: f64 = 2.5;
/// Trees of so few runs need no guides.
const SMALL: usize = 3;
/// Longest list before the search gives up on some rows: of one or two rows, and of more, where
/// every design is held against every other.
const LONGEST: [usize; 2] = [40_000, 1_500];
/// Most designs held at once, in all lists.
const MOST_HELD: usize = 2_000_000;

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
    /// At least one and at most [`MOST_ROWS`].
    pub(crate) rows: Vec<&'a Asked>,
    /// Whether there is time left.
    pub(crate) goes_on: &'a dyn Fn() -> bool,
}

/// Volts asked for in each row.
pub(crate) type Asks = [f64; MOST_ROWS];

/// A design below a run.
#[derive(Clone, Copy, Debug)]
struct Design {
    cost: f64,
    asks: Asks,
    /// Where it came from: choice and design below, or design of the list and of the next.
    from: (u32, u32),
}

/// Cheapest first.
type List = Vec<Design>;

/// Lists of one run: after each run below was joined, and with the run itself.
#[derive(Debug, Default)]
struct Stage {
    joined: Vec<List>,
    whole: List,
}

/// Least cost of a design with a choice, by run and choice.
pub(crate) type Least = Vec<Vec<f64>>;

/// What a pass keeps.
#[derive(Clone, Copy)]
struct Keep<'g> {
    guides: Option<&'g Guides>,
    /// Designs that cannot end below this go.
    limit: f64,
}

impl Problem<'_> {
    /// The cheapest choices of the tree at a root.
    pub(crate) fn cheapest(&self, root: usize) -> Sought {
        let tree = self.forest.tree(root);
        if self.is_star(&tree) {
            return self.star(&tree);
        }
        if tree.len() <= SMALL {
            let all = Keep {
                guides: None,
                limit: f64::INFINITY,
            };
            return self.pass(&tree, all, None);
        }
        let Some(guides) = Guides::of(self, &tree) else {
            return Sought::Nothing;
        };
        // The cheapest is seldom far above the guide: what costs much more is left at first.
        let dearest: f64 = tree.iter().map(|e| self.dearest(*e)).sum();
        let mut over = FIRST_STEP * guides.least.max(slack(dearest));
        let mut least = guides.least;
        loop {
            let keep = Keep {
                guides: Some(&guides),
                limit: (guides.least + over).min(dearest) + slack(dearest),
            };
            match self.pass(&tree, keep, None) {
                Sought::Nothing if keep.limit < dearest => {
                    least = keep.limit;
                    over *= NEXT_STEP;
                }
                Sought::AtLeast(..) => return Sought::AtLeast(least, self.thickest(&tree)),
                other => return other,
            }
        }
    }

    /// Cost of the dearest choice left to a run.
    fn dearest(&self, e: usize) -> f64 {
        let cost = |k: &usize| self.options.open[e].choices[*k].cost;
        self.left[e].iter().map(cost).fold(0.0, f64::max)
    }

    /// What loses least everywhere: some design, where there are too many to search.
    fn thickest(&self, tree: &[usize]) -> Option<Found> {
        let picks = tree.iter().map(|e| {
            let lost = |k: usize| self.rows[0].lost_v[*e][k];
            let better = |a: usize, b: usize| if lost(b) < lost(a) { b } else { a };
            Some((*e, self.left[*e].iter().copied().reduce(better)?))
        });
        let picks = picks.collect::<Option<Vec<_>>>()?;
        let cost = picks
            .iter()
            .map(|(e, k)| self.options.open[*e].choices[*k].cost);
        Some(Found {
            cost: cost.sum(),
            picks,
        })
    }

    /// For each choice in a tree, less than what any design with it costs; infinite over `limit`.
    /// Returns the guides, `None` where no design costs `limit` or less.
    pub(crate) fn least_with_each(
        &self,
        root: usize,
        limit: f64,
        least: &mut Least,
    ) -> Option<Guides> {
        let tree = self.forest.tree(root);
        for e in &tree {
            least[*e].fill(f64::INFINITY);
        }
        let guides = Guides::of(self, &tree)?;
        let keep = Keep {
            guides: Some(&guides),
            limit,
        };
        if let Sought::AtLeast(..) = self.pass(&tree, keep, Some(&mut *least)) {
            for e in &tree {
                least[*e].fill(0.0);
            }
        }
        Some(guides)
    }

    /// One pass from the far ends.
    fn pass(&self, tree: &[usize], keep: Keep<'_>, mut least: Option<&mut Least>) -> Sought {
        let mut stages: Vec<Stage> = Vec::new();
        stages.resize_with(self.options.open.len(), Stage::default);
        let mut held = 0;
        for (place, e) in tree.iter().enumerate().rev() {
            if !(self.goes_on)() || held > MOST_HELD {
                return Sought::AtLeast(0.0, None);
            }
            let mut joined = vec![self.start(*e)];
            for (c, below) in self.forest.below[*e].iter().enumerate() {
                let last = &joined[joined.len() - 1];
                let Some(next) = self.join(last, &stages[*below].whole, (place, c), keep) else {
                    return Sought::AtLeast(0.0, None);
                };
                joined.push(next);
            }
            let last = &joined[joined.len() - 1];
            let whole = self.extend((*e, place), last, keep, least.as_deref_mut());
            if whole.is_empty() {
                return Sought::Nothing;
            }
            if whole.len() > self.longest() {
                return Sought::AtLeast(0.0, None);
            }
            held += whole.len() + joined.iter().map(List::len).sum::<usize>();
            stages[*e] = Stage { joined, whole };
        }
        let root = tree[0];
        let list = &stages[root].whole;
        let most = |i: usize| list[i].asks.iter().copied().fold(f64::MIN, f64::max);
        let kept = |i: &usize| most(*i) <= ROUNDING_V;
        let Some(first) = (0..list.len()).find(kept) else {
            return Sought::Nothing;
        };
        // Of those that cost the same, the one with most volts to spare.
        let cost = list[first].cost;
        let same = (first..list.len())
            .take_while(|i| list[*i].cost <= cost + slack(cost))
            .filter(kept);
        let best = same.reduce(|a, b| if most(b) < most(a) { b } else { a });
        let mut picks = Vec::with_capacity(tree.len());
        self.trace(&stages, root, best.unwrap_or(first), &mut picks);
        Sought::Cheapest(Found { cost, picks })
    }

    /// The devices that hang on a run: nothing chosen yet.
    fn start(&self, e: usize) -> List {
        let mut asks = [f64::NEG_INFINITY; MOST_ROWS];
        for (ask, row) in asks.iter_mut().zip(&self.rows) {
            *ask = row.need_v[e];
        }
        vec![Design {
            cost: 0.0,
            asks,
            from: (0, 0),
        }]
    }

    /// Every design of one list with every design of another that is worth it; `None` where they
    /// are too many.
    fn join(
        &self,
        a: &[Design],
        b: &[Design],
        (place, child): (usize, usize),
        keep: Keep<'_>,
    ) -> Option<List> {
        let both = |i: usize, j: usize| {
            let mut asks = a[i].asks;
            for (ask, other) in asks.iter_mut().zip(&b[j].asks) {
                *ask = ask.max(*other);
            }
            let cost = a[i].cost + b[j].cost;
            let outside = keep.guides.map_or(0.0, |g| g.joined(place, child, &asks));
            let design = Design {
                cost,
                asks,
                from: (index(i), index(j)),
            };
            (cost + outside <= keep.limit).then_some(design)
        };
        if self.rows.len() == 1 {
            let mut list = List::with_capacity(a.len() + b.len());
            let (mut i, mut j) = (0, 0);
            while let (Some(x), Some(y)) = (a.get(i), b.get(j)) {
                list.extend(both(i, j));
                // Only a lesser asking of the greater of the two lessens what both ask.
                let (x, y) = (x.asks[0], y.asks[0]);
                (i, j) = (i + usize::from(x >= y), j + usize::from(y >= x));
            }
            return (list.len() <= self.longest()).then_some(list);
        }
        if a.len().saturating_mul(b.len()) > 100 * self.longest() {
            return None;
        }
        let mut all = List::new();
        for i in 0..a.len() {
            for j in 0..b.len() {
                all.extend(both(i, j));
            }
        }
        let list = undominated(all, self.rows.len());
        (list.len() <= self.longest()).then_some(list)
    }

    fn longest(&self) -> usize {
        LONGEST[usize::from(self.rows.len() > 2)]
    }

    /// Every design of a list with every choice of a run.
    fn extend(
        &self,
        (e, place): (usize, usize),
        list: &[Design],
        keep: Keep<'_>,
        mut least: Option<&mut Least>,
    ) -> List {
        let mut all = List::with_capacity(list.len() * self.left[e].len());
        for k in &self.left[e] {
            let own = self.options.open[e].choices[*k].cost;
            for (i, below) in list.iter().enumerate() {
                let mut asks = below.asks;
                for (ask, row) in asks.iter_mut().zip(&self.rows) {
                    *ask += row.lost_v[e][*k];
                }
                let cost = own + below.cost;
                let total = cost + keep.guides.map_or(0.0, |g| g.outside(place, &asks));
                if total > keep.limit || total.is_infinite() {
                    continue;
                }
                if let Some(least) = least.as_deref_mut() {
                    least[e][*k] = least[e][*k].min(total);
                }
                let design = Design {
                    cost,
                    asks,
                    from: (index(*k), index(i)),
                };
                all.push(design);
            }
        }
        undominated(all, self.rows.len())
    }

    /// The choices of a design and of all below it.
    fn trace(&self, stages: &[Stage], root: usize, best: usize, picks: &mut Vec<(usize, usize)>) {
        let mut waiting = vec![(root, best)];
        while let Some((e, i)) = waiting.pop() {
            let (k, below) = stages[e].whole[i].from;
            picks.push((e, k as usize));
            let mut at = below as usize;
            for (c, child) in self.forest.below[e].iter().enumerate().rev() {
                let (before, design) = stages[e].joined[c + 1][at].from;
                waiting.push((*child, design as usize));
                at = before as usize;
            }
        }
    }
}

/// What two sums of the same costs may differ by.
pub(crate) fn slack(cost: f64) -> f64 {
    1e-9 * cost.abs().max(1e-9)
}

/// Cheapest first, without those that another is no worse than in cost and every row.
fn undominated(mut all: List, rows: usize) -> List {
    all.sort_unstable_by(|a, b| {
        let asks = a.asks.iter().zip(&b.asks).map(|(x, y)| x.total_cmp(y));
        a.cost
            .total_cmp(&b.cost)
            .then(asks.fold(std::cmp::Ordering::Equal, std::cmp::Ordering::then))
            .then(a.from.cmp(&b.from))
    });
    let mut list = List::new();
    // Of two rows: what is asked in the second by rising first, ever less.
    let mut stairs: Vec<(f64, f64)> = Vec::new();
    for design in all {
        let asks = design.asks;
        let beaten = match rows {
            1 => list.last().is_some_and(|d: &Design| d.asks[0] <= asks[0]),
            2 => {
                let at = stairs.partition_point(|s| s.0 <= asks[0]);
                let beaten = at > 0 && stairs[at - 1].1 <= asks[1];
                if !beaten {
                    let worse = stairs[at..].iter().take_while(|s| s.1 >= asks[1]).count();
                    stairs.splice(at..at + worse, [(asks[0], asks[1])]);
                }
                beaten
            }
            _ => list
                .iter()
                .any(|d| d.asks.iter().zip(&asks).all(|(o, a)| o <= a)),
        };
        if !beaten {
            list.push(design);
        }
    }
    list
}

fn index(i: usize) -> u32 {
    u32::try_from(i).unwrap_or(u32::MAX)
}
