//! What a known design leaves: choices and volts with which no passing design costs more than it.

use std::rc::Rc;

use crate::size::bounds::{Left, Range};
use crate::size::guide::Guides;
use crate::size::pareto::{Aim, Least, Problem, slack};
use crate::size::relax::{Known, Model, Relaxed, cheapest_of};
use crate::size::trial::{Bench, TOLERANCE};

/// Volts narrowed by less than this change nothing worth another turn.
const STILL_V: f64 = 0.02;

impl Model {
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
                aim: if relaxed.asked[rows[0]].drawn.is_none() || self.is_great_star(&tree) {
                    Aim::Flat
                } else {
                    Aim::Within(may)
                },
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
                let own = known.volts[*r][*d];
                if low > own.0 + STILL_V || high < own.1 - STILL_V {
                    let own = &mut Rc::make_mut(&mut known.volts)[*r][*d];
                    *own = (own.0.max(low), own.1.min(high));
                    narrower = true;
                }
            }
        }
        narrower
    }
}
