//! Lists of designs below the runs of a tree, from the far ends to the supply.

use std::cmp::Ordering;

use crate::size::amps::{Amps, At0, Keys};
use crate::size::forest::FAR_BELOW;
use crate::size::guide::Guides;
use crate::size::pareto::{Asks, Found, Least, MOST_ROWS, Problem, ROUNDING_V, Sought, slack};

/// Longest list before the search gives up on some rows: with one or two keys, and with more,
/// where every design is held against every other.
const LONGEST: [usize; 2] = [40_000, 2_000];
/// Most designs held at once, in all lists.
const MOST_HELD: usize = 2_000_000;

/// A design below a run.
#[derive(Clone, Copy, Debug)]
struct Design<A> {
    cost: f64,
    asks: Asks,
    amps: A,
    /// Where it came from: choice and design below, or design of the list and of the next.
    from: (u32, u32),
}

/// Cheapest first.
type List<A> = Vec<Design<A>>;

/// Lists of one run: after each run below was joined, and with the run itself.
#[derive(Debug)]
struct Stage<A> {
    joined: Vec<List<A>>,
    whole: List<A>,
}

/// What a pass keeps.
#[derive(Clone, Copy)]
pub(crate) struct Keep<'g> {
    pub(crate) guides: Option<&'g Guides>,
    /// Designs that cannot end below this go.
    pub(crate) limit: f64,
    /// Of each list, so many of the most hopeful stay.
    pub(crate) beam: usize,
}

impl Keep<'_> {
    /// Of designs and what they come to at least: the most hopeful.
    fn hopeful<A>(&self, mut all: Vec<(f64, Design<A>)>) -> List<A> {
        if all.len() > self.beam {
            all.select_nth_unstable_by(self.beam, |a, b| a.0.total_cmp(&b.0));
            all.truncate(self.beam);
        }
        all.into_iter().map(|(_, design)| design).collect()
    }
}

impl Problem<'_> {
    /// One pass from the far ends, with amperes where they follow the volts.
    pub(crate) fn followed(
        &self,
        tree: &[usize],
        keep: Keep<'_>,
        least: Option<&mut Least>,
    ) -> Sought {
        if self.follows() {
            self.pass::<At0>(tree, keep, least)
        } else {
            self.pass::<()>(tree, keep, least)
        }
    }

    fn pass<A: Amps>(
        &self,
        tree: &[usize],
        keep: Keep<'_>,
        mut least: Option<&mut Least>,
    ) -> Sought {
        let mut stages: Vec<Stage<A>> = Vec::new();
        stages.resize_with(self.options.open.len(), || Stage {
            joined: Vec::new(),
            whole: List::new(),
        });
        let mut held = 0;
        for (place, e) in tree.iter().enumerate().rev() {
            if !(self.goes_on)() || held > MOST_HELD {
                return Sought::AtLeast(0.0, None);
            }
            let mut joined = vec![self.start(*e)];
            for (c, below) in self.forest.below[*e].iter().enumerate() {
                let last = &joined[joined.len() - 1];
                let Some(next) = self.join(last, &stages[*below].whole, (*e, place, c), keep)
                else {
                    return Sought::AtLeast(0.0, None);
                };
                joined.push(next);
            }
            let last = &joined[joined.len() - 1];
            let whole = self.extend((*e, place), last, keep, least.as_deref_mut());
            if whole.is_empty() {
                return Sought::Nothing;
            }
            if whole.len() > self.longest::<A>() {
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
    fn start<A: Amps>(&self, e: usize) -> List<A> {
        let mut asks = [f64::NEG_INFINITY; MOST_ROWS];
        for (ask, row) in asks.iter_mut().zip(&self.rows) {
            *ask = row.need_v[e].max(FAR_BELOW);
        }
        vec![Design {
            cost: 0.0,
            asks,
            amps: A::start(self, e),
            from: (0, 0),
        }]
    }

    /// Every design of one list with every design of another that is worth it; `None` where they
    /// are too many.
    fn join<A: Amps>(
        &self,
        a: &[Design<A>],
        b: &[Design<A>],
        (e, place, child): (usize, usize, usize),
        keep: Keep<'_>,
    ) -> Option<List<A>> {
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
                amps: a[i].amps.with(b[j].amps),
                from: (index(i), index(j)),
            };
            (cost + outside <= keep.limit).then_some((cost + outside, design))
        };
        if A::keys_of(self.rows.len()) == 1 {
            let mut list = List::with_capacity(a.len() + b.len());
            let (mut i, mut j) = (0, 0);
            while let (Some(x), Some(y)) = (a.get(i), b.get(j)) {
                list.extend(both(i, j).map(|(_, design)| design));
                // Only a lesser asking of the greater of the two lessens what both ask.
                let (x, y) = (x.asks[0], y.asks[0]);
                (i, j) = (i + usize::from(x >= y), j + usize::from(y >= x));
            }
            return (list.len() <= self.longest::<A>()).then_some(list);
        }
        if a.len().saturating_mul(b.len()) > 100 * self.longest::<A>() {
            return None;
        }
        let mut all: Vec<(f64, Design<A>)> = Vec::new();
        for i in 0..a.len() {
            for j in 0..b.len() {
                all.extend(both(i, j));
            }
        }
        let all = keep.hopeful(all);
        let list = self.undominated(all, (e, false));
        (list.len() <= self.longest::<A>()).then_some(list)
    }

    fn longest<A: Amps>(&self) -> usize {
        LONGEST[usize::from(A::keys_of(self.rows.len()) > 2)]
    }

    /// Every design of a list with every choice of a run.
    fn extend<A: Amps>(
        &self,
        (e, place): (usize, usize),
        list: &[Design<A>],
        keep: Keep<'_>,
        mut least: Option<&mut Least>,
    ) -> List<A> {
        let mut all = Vec::with_capacity(list.len() * self.left[e].len());
        for k in &self.left[e] {
            let own = self.options.open[e].choices[*k].cost;
            for (i, below) in list.iter().enumerate() {
                let mut asks = below.asks;
                let amps = below.amps.through(self, (e, *k), &mut asks);
                let cost = own + below.cost;
                let eased = amps.eased(self, e, &asks);
                let total = cost + keep.guides.map_or(0.0, |g| g.outside(place, &eased));
                let hopeless = asks.contains(&f64::INFINITY);
                if hopeless || total > keep.limit || total.is_infinite() {
                    continue;
                }
                if let Some(least) = least.as_deref_mut() {
                    least[e][*k] = least[e][*k].min(total);
                }
                let design = Design {
                    cost,
                    asks,
                    amps,
                    from: (index(*k), index(i)),
                };
                all.push((total, design));
            }
        }
        self.undominated(keep.hopeful(all), (e, true))
    }

    /// Cheapest first, without those that another is no worse than in cost and every key.
    fn undominated<A: Amps>(&self, mut all: List<A>, at: (usize, bool)) -> List<A> {
        let count = A::keys_of(self.rows.len());
        all.sort_unstable_by(|a, b| {
            let asks = a.asks.iter().zip(&b.asks).map(|(x, y)| x.total_cmp(y));
            a.cost
                .total_cmp(&b.cost)
                .then(asks.fold(Ordering::Equal, Ordering::then))
                .then(a.from.cmp(&b.from))
        });
        let mut list = List::new();
        let mut kept: Vec<Keys> = Vec::new();
        // Of two keys: the second by rising first, ever less.
        let mut stairs: Vec<(f64, f64)> = Vec::new();
        for design in all {
            let keys = design.amps.keys(self, at, &design.asks);
            let beaten = match count {
                1 => kept.last().is_some_and(|k| k[0] <= keys[0]),
                2 => {
                    let at = stairs.partition_point(|s| s.0 <= keys[0]);
                    let beaten = at > 0 && stairs[at - 1].1 <= keys[1];
                    if !beaten {
                        let worse = stairs[at..].iter().take_while(|s| s.1 >= keys[1]).count();
                        stairs.splice(at..at + worse, [(keys[0], keys[1])]);
                    }
                    beaten
                }
                _ => kept
                    .iter()
                    .any(|k| k.iter().zip(&keys).all(|(o, a)| o <= a)),
            };
            if !beaten {
                if count != 2 {
                    kept.push(keys);
                }
                list.push(design);
            }
        }
        list
    }

    /// The choices of a design and of all below it.
    fn trace<A>(
        &self,
        stages: &[Stage<A>],
        root: usize,
        best: usize,
        picks: &mut Vec<(usize, usize)>,
    ) {
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

fn index(i: usize) -> u32 {
    u32::try_from(i).unwrap_or(u32::MAX)
}
