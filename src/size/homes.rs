//! The cheapest home runs of a hub, exactly, whatever draws at their ends.
//!
//! A choice passes where the hub has at least some volts, a number that the choice alone decides.
//! What all choices share is the hub's volts: they must be there when everything draws. So the
//! search parts designs by volts of the hub. Below some volts the choices that need more are
//! gone; from some volts on all must draw little enough together to leave them, and what that
//! costs at least, if mixtures of two choices could be had, follows in closed form.

use crate::circuit::Law;
use crate::size::bounds::Left;
use crate::size::hub::{Hub, Spoke};
use crate::size::options::Options;
use crate::size::pareto::{Found, ROUNDING_V, Sought, slack};
use crate::size::spoke::{drawn_a, needed_v, slope_s};

/// Turns of Newton's method; from the supply's volts it needs a handful.
const MOST_TURNS: usize = 60;

/// Choices left to the home runs, and volts that the hub has at least, by row.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    bound: f64,
    pub(crate) left: Left,
    pub(crate) low_v: Vec<f64>,
    /// Rows in which some choice left may be short of volts.
    rows: Vec<usize>,
}

/// The home runs behind one choice of the feed.
pub(crate) struct Homes<'a> {
    pub(crate) hub: &'a Hub,
    options: &'a Options,
    /// By row: ohms up to the hub.
    pub(crate) ohm: Vec<f64>,
    /// By row, home run and choice: volts that it needs at the hub.
    need_v: Vec<Vec<Vec<f64>>>,
    /// Cost and choices of the best so far; without the feed.
    best: Option<(f64, Vec<usize>)>,
    /// What a design must cost less than to be worth finding.
    most: f64,
}

impl Hub {
    /// The cheapest choices for the feed and the home runs; what no row asks volts of is not
    /// held against anything.
    pub(crate) fn cheapest(
        &self,
        options: &Options,
        left: &Left,
        goes_on: &dyn Fn() -> bool,
    ) -> Sought {
        let feeds: Vec<Option<usize>> = match self.feed {
            Some(e) => left[e].iter().copied().map(Some).collect(),
            None => vec![None],
        };
        let mut least = f64::INFINITY;
        let mut best: Option<Found> = None;
        for feed in feeds {
            let feed = self.feed.zip(feed);
            let own = feed.map_or(0.0, |(e, k)| options.open[e].choices[k].cost);
            let most = best.as_ref().map_or(f64::INFINITY, |b| b.cost - own);
            let mut homes = Homes::of(self, options, feed.map(|(_, k)| k), most);
            let all = self.homes.iter().map(|e| left[*e].clone()).collect();
            least = least.min(own + homes.search(all, goes_on));
            if let Some((cost, design)) = homes.best {
                let picks = self.homes.iter().copied().zip(design);
                best = Some(Found {
                    cost: own + cost,
                    picks: feed.into_iter().chain(picks).collect(),
                });
            }
        }
        match best {
            Some(found) if least >= found.cost - slack(found.cost) => Sought::Cheapest(found),
            None if least.is_infinite() => Sought::Nothing,
            best => Sought::AtLeast(least, best),
        }
    }
}

impl<'a> Homes<'a> {
    fn of(hub: &'a Hub, options: &'a Options, feed: Option<usize>, most: f64) -> Self {
        let needs = |spoke: &Spoke| {
            let each = spoke.ohm.iter();
            each.map(|ohm| needed_v(spoke.law, *ohm, spoke.lowest_v))
                .collect()
        };
        let rows = hub.rows.iter();
        let need_v = rows.clone().map(|row| {
            let homes = row.homes.iter();
            homes
                .map(|spoke| spoke.as_ref().map_or_else(Vec::new, needs))
                .collect()
        });
        Self {
            need_v: need_v.collect(),
            ohm: rows
                .map(|row| row.ohm + feed.map_or(0.0, |k| row.feed_ohm[k]))
                .collect(),
            hub,
            options,
            best: None,
            most,
        }
    }

    /// What a choice of a home run costs.
    pub(crate) fn cost(&self, h: usize, k: usize) -> f64 {
        self.options.open[self.hub.homes[h]].choices[k].cost
    }

    /// Looks for the cheapest; what is not found costs no less than the answer.
    fn search(&mut self, left: Left, goes_on: &dyn Fn() -> bool) -> f64 {
        let low_v = self.hub.rows.iter().map(|row| {
            let fixed = row.fixed.iter();
            let need = fixed.map(|s| needed_v(s.law, s.ohm[0], s.lowest_v));
            need.fold(0.0, f64::max)
        });
        let mut waiting = vec![Part {
            bound: 0.0,
            left,
            low_v: low_v.collect(),
            rows: (0..self.hub.rows.len()).collect(),
        }];
        while let Some(part) = waiting.pop() {
            if !goes_on() {
                waiting.push(part);
                break;
            }
            waiting.extend(self.open(part));
        }
        let least = waiting.iter().map(|part| part.bound);
        least.fold(self.most, f64::min)
    }

    /// Bounds a part; what is to be searched of it, the more hopeful last.
    fn open(&mut self, mut part: Part) -> Vec<Part> {
        let Some(high_v) = self.narrow(&mut part) else {
            return Vec::new();
        };
        let design: Vec<usize> = (0..part.left.len())
            .map(|h| self.least_of(h, &part.left[h]))
            .collect();
        part.bound = self.whole(&design);
        if self.is_dear(part.bound) {
            return Vec::new();
        }
        let Some((row, need_v)) = self.short(&part, &design) else {
            self.take(design);
            return Vec::new();
        };
        let rows = part.rows.iter().zip(&high_v);
        let mixed = rows.filter_map(|(r, high_v)| self.mixed(*r, &part, (&design, *high_v)));
        let mixed = mixed.reduce(|a, b| if b.bound > a.bound { b } else { a });
        let mut split = None;
        if let Some(mixed) = mixed {
            part.bound = part.bound.max(mixed.bound);
            if self.is_dear(part.bound) {
                return Vec::new();
            }
            let worth = !self.is_dear(self.whole(&mixed.design));
            if worth && self.short(&part, &mixed.design).is_none() {
                self.take(mixed.design);
            }
            split = mixed.split;
        }
        if part.low_v[row] < need_v {
            let (mut below, mut from) = (part.clone(), part);
            from.low_v[row] = need_v;
            for (own, needs) in below.left.iter_mut().zip(&self.need_v[row]) {
                own.retain(|k| needs.get(*k).is_none_or(|v| *v < need_v));
            }
            return vec![from, below];
        }
        self.split(&part, split)
    }

    /// Parts the choices left to one home run.
    fn split(&self, part: &Part, split: Option<(usize, f64)>) -> Vec<Part> {
        let widest = || {
            let all = (0..part.left.len()).filter(|h| part.left[*h].len() > 1);
            all.max_by_key(|h| part.left[*h].len())
        };
        let Some(h) = split.map(|(h, _)| h).or_else(widest) else {
            return Vec::new();
        };
        // Dearer than half of what is left: the thicker ones.
        let mut own = part.left[h].clone();
        own.sort_by(|a, b| self.cost(h, *a).total_cmp(&self.cost(h, *b)));
        let at = match split {
            Some((_, cost)) => own.partition_point(|k| self.cost(h, *k) < cost),
            None => own.len() / 2,
        };
        let dear = own.split_off(at.clamp(1, own.len() - 1));
        let with = |own: Vec<usize>| {
            let mut part = part.clone();
            part.left[h] = own;
            part
        };
        vec![with(dear), with(own)]
    }

    /// Takes away what needs more volts than the hub can have, and the rows in which nothing left
    /// can be short; the most volts that it can have, by row left.
    fn narrow(&self, part: &mut Part) -> Option<Vec<f64>> {
        let ohm = |left: &Left, h: usize, spoke: &Spoke, most: bool| {
            let each = left[h].iter().map(|k| spoke.ohm[*k]);
            // Watts draw more behind more wire, ohms less.
            match (spoke.law, most) {
                (Law::Resistance(_), false) | (_, true) => each.fold(0.0, f64::max),
                _ => each.fold(f64::INFINITY, f64::min),
            }
        };
        loop {
            let mut fewer = false;
            let mut high_v = Vec::with_capacity(part.rows.len());
            for r in &part.rows {
                let most_v = self.settled(*r, |h, spoke| ohm(&part.left, h, spoke, false))?;
                for (own, needs) in part.left.iter_mut().zip(&self.need_v[*r]) {
                    if needs.is_empty() {
                        continue;
                    }
                    let before = own.len();
                    own.retain(|k| needs[*k] <= most_v + ROUNDING_V);
                    fewer |= own.len() < before;
                    let least = own.iter().map(|k| needs[*k]);
                    part.low_v[*r] = part.low_v[*r].max(least.fold(f64::INFINITY, f64::min));
                }
                if part.low_v[*r] > most_v + ROUNDING_V {
                    return None;
                }
                high_v.push(most_v);
            }
            if fewer {
                continue;
            }
            let is_slack = |r: usize| {
                let needs = self.need_v[r].iter().zip(&part.left);
                let needs = needs.flat_map(|(needs, own)| own.iter().filter_map(|k| needs.get(*k)));
                let need_v = needs.copied().fold(part.low_v[r], f64::max);
                let least_v = self.settled(r, |h, spoke| ohm(&part.left, h, spoke, true));
                least_v.is_some_and(|v| v >= need_v)
            };
            let (mut rows, mut most_v) = (Vec::new(), Vec::new());
            for (r, v) in part.rows.iter().zip(high_v) {
                if !is_slack(*r) {
                    rows.push(*r);
                    most_v.push(v);
                }
            }
            part.rows = rows;
            return Some(most_v);
        }
    }

    /// The hub's volts in a row, from the supply's down by Newton's method: what is left for the
    /// hub is a concave function of its volts, so no step goes too far.
    fn settled(&self, r: usize, ohm: impl Fn(usize, &Spoke) -> f64) -> Option<f64> {
        let row = &self.hub.rows[r];
        let own = self.ohm[r];
        let mut hub_v = row.open_v;
        for _ in 0..MOST_TURNS {
            let (mut amps, mut slope) = (0.0, 0.0);
            let mut add = |spoke: &Spoke, ohm: f64| {
                amps += drawn_a(spoke.law, ohm, hub_v);
                slope += slope_s(spoke.law, ohm, hub_v);
            };
            for spoke in &row.fixed {
                add(spoke, spoke.ohm[0]);
            }
            for (h, spoke) in row.homes.iter().enumerate() {
                if let Some(spoke) = spoke {
                    add(spoke, ohm(h, spoke));
                }
            }
            let spare_v = row.open_v - own * amps - hub_v;
            let falls = 1.0 + own * slope;
            // NaN where something has no operating point at these volts.
            if spare_v.is_nan() || falls <= 0.0 {
                return None;
            }
            hub_v += spare_v / falls;
            if spare_v.abs() <= 1e-13 * row.open_v {
                return Some(hub_v);
            }
        }
        Some(hub_v)
    }

    /// The row in which a design leaves the hub most short of volts, and what it needs there.
    fn short(&self, part: &Part, design: &[usize]) -> Option<(usize, f64)> {
        let mut worst: Option<(f64, usize, f64)> = None;
        for r in part.rows.iter().copied() {
            let row = &self.hub.rows[r];
            let needs = self.need_v[r].iter().zip(design);
            let needs = needs.filter_map(|(needs, k)| needs.get(*k).copied());
            let fixed = row.fixed.iter();
            let fixed = fixed.map(|s| needed_v(s.law, s.ohm[0], s.lowest_v));
            let need_v = needs.chain(fixed).fold(0.0, f64::max);
            let hub_v = self.settled(r, |h, spoke| spoke.ohm[design[h]]);
            let short_v = need_v - hub_v.unwrap_or(f64::NEG_INFINITY);
            if short_v > worst.map_or(ROUNDING_V, |w| w.0) {
                worst = Some((short_v, r, need_v));
            }
        }
        worst.map(|(_, r, need_v)| (r, need_v))
    }

    /// The cheapest choice of some, of those that cost the same the one of least ohms.
    pub(crate) fn least_of(&self, h: usize, own: &[usize]) -> usize {
        let ohm = |k: usize| {
            let rows = self.hub.rows.iter().filter_map(|row| row.homes[h].as_ref());
            rows.map(|spoke| spoke.ohm[k]).fold(0.0, f64::max)
        };
        let order = |a: &&usize, b: &&usize| {
            let cost = self.cost(h, **a).total_cmp(&self.cost(h, **b));
            cost.then(ohm(**a).total_cmp(&ohm(**b)))
        };
        own.iter().min_by(order).copied().unwrap_or(0)
    }

    fn whole(&self, design: &[usize]) -> f64 {
        let each = design.iter().enumerate();
        each.map(|(h, k)| self.cost(h, *k)).sum()
    }

    fn is_dear(&self, cost: f64) -> bool {
        cost + slack(cost) >= self.most
    }

    fn take(&mut self, design: Vec<usize>) {
        let cost = self.whole(&design);
        if cost < self.most {
            self.most = cost;
            self.best = Some((cost, design));
        }
    }
}
