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
use crate::size::lists::Keep;
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
/// Most hopeful designs of each list from which a first design is made.
const BEAM: usize = 300;
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

/// What is looked for.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Aim {
    /// The cheapest with what is drawn at least.
    Flat,
    /// With draws that follow volts, the cheapest of the most hopeful.
    Beam,
    /// Likewise the cheapest of all, if it costs no more than this.
    Within(f64),
}

/// A problem: trees of runs, the choices left, and the rows that ask.
pub(crate) struct Problem<'a> {
    pub(crate) options: &'a Options,
    pub(crate) forest: &'a Forest,
    pub(crate) left: &'a Left,
    /// At least one and at most [`MOST_ROWS`].
    pub(crate) rows: Vec<&'a Asked>,
    /// What is looked for.
    pub(crate) aim: Aim,
    /// Whether there is time left.
    pub(crate) goes_on: &'a dyn Fn() -> bool,
}

/// Volts asked for in each row.
pub(crate) type Asks = [f64; MOST_ROWS];

/// Least cost of a design with a choice, by run and choice.
pub(crate) type Least = Vec<Vec<f64>>;

impl Problem<'_> {
    /// The cheapest choices of the tree at a root.
    pub(crate) fn cheapest(&self, root: usize) -> Sought {
        let tree = self.forest.tree(root);
        let follows = self.follows();
        if !follows && self.forest.is_star(&tree) {
            return self.star(&tree);
        }
        if tree.len() <= SMALL {
            let all = Keep {
                guides: None,
                limit: f64::INFINITY,
                beam: usize::MAX,
            };
            return self.followed(&tree, all, None);
        }
        let Some(guides) = Guides::of(self, &tree) else {
            return Sought::Nothing;
        };
        let dearest: f64 = tree.iter().map(|e| self.dearest(*e)).sum();
        if follows {
            return self.among_few(&tree, &guides, dearest);
        }
        // The cheapest is seldom far above the guide: what costs much more is left at first.
        let mut over = FIRST_STEP * guides.least.max(slack(dearest));
        let mut least = guides.least;
        loop {
            let keep = Keep {
                guides: Some(&guides),
                limit: (guides.least + over).min(dearest) + slack(dearest),
                beam: usize::MAX,
            };
            match self.followed(&tree, keep, None) {
                Sought::Nothing if keep.limit < dearest => {
                    least = keep.limit;
                    over *= NEXT_STEP;
                }
                Sought::AtLeast(..) => return Sought::AtLeast(least, self.thickest(&tree)),
                other => return other,
            }
        }
    }

    /// Whether draws follow volts here.
    pub(crate) fn follows(&self) -> bool {
        !matches!(self.aim, Aim::Flat)
    }

    /// The cheapest where draws follow volts. The guides know nothing of that, and lie far below;
    /// but what the most hopeful few come to is no less than the cheapest, and soon found.
    fn among_few(&self, tree: &[usize], guides: &Guides, dearest: f64) -> Sought {
        let limit = match self.aim {
            Aim::Within(most) => most,
            Aim::Flat | Aim::Beam => f64::INFINITY,
        };
        let few = Keep {
            guides: Some(guides),
            limit,
            beam: BEAM,
        };
        let some = self.followed(tree, few, None);
        let all = |limit: f64| Keep {
            limit,
            beam: usize::MAX,
            ..few
        };
        let (found, sought) = match (self.aim, some) {
            (Aim::Beam, some) => (None, some),
            (_, Sought::Cheapest(found)) => {
                let limit = limit.min(found.cost + slack(dearest));
                (Some(found), self.followed(tree, all(limit), None))
            }
            _ => (None, self.followed(tree, all(limit), None)),
        };
        match sought {
            Sought::AtLeast(..) => {
                let found = found.or_else(|| self.thickest(tree));
                Sought::AtLeast(guides.least, found)
            }
            other => other,
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
            beam: usize::MAX,
        };
        if let Sought::AtLeast(..) = self.followed(&tree, keep, Some(&mut *least)) {
            for e in &tree {
                least[*e].fill(0.0);
            }
        }
        Some(guides)
    }
}

/// What two sums of the same costs may differ by.
pub(crate) fn slack(cost: f64) -> f64 {
    1e-9 * cost.abs().max(1e-9)
}
