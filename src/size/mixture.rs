//! What home runs cost at least so that together they draw little enough: in one row, if any
//! mixture of two choices could be had (a knapsack with a choice in each class; Kellerer, Pferschy
//! and Pisinger, Knapsack Problems, chapter 11, from memory).

use crate::circuit::Law;
use crate::size::convex::Convex;
use crate::size::homes::{Homes, Part};
use crate::size::hub::Spoke;
use crate::size::spoke::{drawn_a, slope_s};

/// Volts that what is drawn may miss by: the trial has the last word.
const MISSED_V: f64 = 1e-9;

/// What a row makes a part cost at least.
pub(crate) struct Mixed {
    pub(crate) bound: f64,
    /// A home run of which a mixture was taken, and the amperes between the two.
    pub(crate) split: Option<(usize, f64)>,
    /// No mixture taken, but the thicker of the two.
    pub(crate) design: Vec<usize>,
}

impl Homes<'_> {
    /// What a part costs at least so that all in it leave the hub its least volts in a row;
    /// nothing where its cheapest design does.
    pub(crate) fn mixed(
        &self,
        r: usize,
        part: &Part,
        (cheapest, high_v): (&[usize], f64),
    ) -> Option<Mixed> {
        let row = &self.hub.rows[r];
        let low_v = part.low_v[r];
        let exact = self.is_steady(r, part);
        // At the hub's own volts all draw what leaves those volts. Where what is left falls all
        // the way from the least volts on, that holds there too; else for the least amperes.
        let amps = |spoke: &Spoke, ohm: f64| match spoke.law {
            Law::Power(_) if !exact => drawn_a(spoke.law, ohm, high_v),
            _ => drawn_a(spoke.law, ohm, low_v),
        };
        let mut over = -(row.open_v - low_v + MISSED_V) / self.ohm[r];
        for spoke in &row.fixed {
            over += amps(spoke, spoke.ohm[0]);
        }
        let chosen = row.homes.iter().zip(cheapest);
        let drawn = chosen.filter_map(|(spoke, k)| spoke.as_ref().map(|s| amps(s, s.ohm[*k])));
        if over + drawn.sum::<f64>() <= 0.0 {
            return None;
        }
        let mut bound = 0.0;
        let mut most_a = vec![f64::INFINITY; part.left.len()];
        // Cost of an ampere less, width and rise of each step to thicker wire, and whose it is.
        let mut steps: Vec<(f64, f64, f64, usize)> = Vec::new();
        for (h, own) in part.left.iter().enumerate() {
            let point = |k: &usize| {
                let amps = (row.homes[h].as_ref()).map_or(0.0, |s| amps(s, s.ohm[*k]));
                (amps, self.cost(h, *k))
            };
            let Some(hull) = Convex::hull(own.iter().map(point).collect()) else {
                continue;
            };
            let (mut end_a, mut cost) = (hull.x, hull.y);
            for (width, fall) in hull.pieces() {
                end_a += width;
                cost -= fall;
                steps.push((fall / width, *width, *fall, h));
            }
            bound += cost;
            over += end_a;
            most_a[h] = end_a;
        }
        steps.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut steps = steps.into_iter();
        let mut split = None;
        while over > 0.0 {
            let Some((price, width, rise, h)) = steps.next() else {
                bound = f64::INFINITY;
                break;
            };
            most_a[h] -= width;
            if width >= over {
                split = Some(h);
            }
            bound += rise.min(price * over);
            over -= width;
        }
        let design: Vec<usize> = (0..part.left.len())
            .map(|h| {
                let few = |k: &usize| {
                    let spoke = row.homes[h].as_ref();
                    spoke.is_none_or(|s| amps(s, s.ohm[*k]) <= most_a[h] * (1.0 + 1e-12))
                };
                let few: Vec<usize> = part.left[h].iter().copied().filter(few).collect();
                self.least_of(h, if few.is_empty() { &part.left[h] } else { &few })
            })
            .collect();
        Some(Mixed {
            bound,
            split: split.map(|h| (h, self.cost(h, design[h]))),
            design,
        })
    }

    /// Whether what is left for the hub falls with its volts from the least on, for all choices.
    fn is_steady(&self, r: usize, part: &Part) -> bool {
        let row = &self.hub.rows[r];
        let rises = |spoke: &Spoke, ohm: f64| {
            let siemens = -slope_s(spoke.law, ohm, part.low_v[r]);
            // NaN where there is no operating point at these volts.
            if siemens.is_nan() {
                f64::INFINITY
            } else {
                siemens.max(0.0)
            }
        };
        let homes = row.homes.iter().zip(&part.left);
        let homes = homes.filter_map(|(spoke, own)| Some((spoke.as_ref()?, own)));
        let homes = homes.map(|(spoke, own)| {
            let each = own.iter().map(|k| rises(spoke, spoke.ohm[*k]));
            each.fold(0.0, f64::max)
        });
        let fixed = row.fixed.iter().map(|spoke| rises(spoke, spoke.ohm[0]));
        self.ohm[r] * homes.chain(fixed).sum::<f64>() <= 1.0
    }
}
