//! Which of the designs that cost the same: the one whose worst margin is greatest, then the first
//! in file order.

use crate::size::pareto::slack;
use crate::size::relax::Pursuit;
use crate::size::search::{Best, Search};

/// Most designs looked through for ties, and most open runs: beyond, a tie is left as each tree
/// has it, which takes the one with most volts to spare.
const MOST_TIES: usize = 4096;
pub(crate) const MOST_TIED: usize = 40;

impl Search<'_> {
    /// Among designs of the same least cost: the greatest worst margin, then file order.
    pub(crate) fn ties(&mut self) {
        let Some((best, (mut left, relaxed))) = self.best.clone().zip(self.first.take()) else {
            return;
        };
        let goes_on = self.watch.goes_on;
        let most = (best.cost, goes_on);
        let mut known = self.model.nothing_known(self.bench);
        let state = (&mut left, &mut known);
        if self.model.drop_dear(self.bench, state, &relaxed, most) && goes_on() {
            // Fewer choices bind more tightly.
            let Some(relaxed) =
                self.model
                    .relax(self.bench, (&mut left, &known), (Pursuit::Flat, goes_on))
            else {
                return;
            };
            let state = (&mut left, &mut known);
            self.model.drop_dear(self.bench, state, &relaxed, most);
        }
        let ways = left.iter().try_fold(1_usize, |n, c| n.checked_mul(c.len()));
        if left.iter().any(Vec::is_empty) || ways.is_none_or(|n| n > MOST_TIES) {
            return;
        }
        let mut design: Vec<usize> = vec![0; left.len()];
        let mut first: Option<Best> = None;
        'designs: loop {
            let tried: Vec<usize> = design.iter().zip(&left).map(|(i, c)| c[*i]).collect();
            let cost = self.bench.options.cost(&tried);
            let worth = cost <= best.cost + slack(best.cost) && self.bench.has_room(&tried);
            if worth && goes_on() {
                self.tried += 1;
                let trial = self.bench.trial(&tried);
                let better = first
                    .as_ref()
                    .is_none_or(|f| trial.margin_v > f.margin_v + 1e-9);
                if trial.passes() && better {
                    first = Some(Best {
                        design: tried,
                        cost,
                        margin_v: trial.margin_v,
                    });
                }
            }
            // The last run's choice turns fastest: file order.
            for e in (0..design.len()).rev() {
                design[e] += 1;
                if design[e] < left[e].len() {
                    continue 'designs;
                }
                design[e] = 0;
            }
            break;
        }
        if first.is_some() {
            self.best = first;
        }
    }
}
