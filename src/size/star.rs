//! The cheapest choices of a tree in which everything hangs on one run: a hub and its home runs.
//!
//! Once the run to the hub has a choice, what may be lost behind it is known in every row, and
//! each run takes the cheapest choice that loses no more, whatever the others take. So nothing
//! has to be searched.

use crate::size::pareto::{Found, Problem, ROUNDING_V, Sought, slack};

/// What one run takes: choice, cost, and the most that it asks for beyond what may be.
type Taken = (usize, f64, f64);

impl Problem<'_> {
    /// The cheapest choices of a star, with most volts to spare among those that cost the same.
    pub(crate) fn star(&self, tree: &[usize]) -> Sought {
        let root = tree[0];
        // What it asks for at most, beyond what there is.
        let mut best: Option<(f64, Found)> = None;
        for k in &self.left[root] {
            // Volts that the runs behind may ask for, row by row.
            let spare: Vec<f64> = (self.rows.iter())
                .map(|row| ROUNDING_V - row.lost_v[root][*k])
                .collect();
            let own = |row: usize| self.rows[row].need_v[root] - spare[row];
            let mut most = (0..spare.len()).map(own).fold(f64::MIN, f64::max);
            if most > 0.0 {
                continue;
            }
            let mut cost = self.options.open[root].choices[*k].cost;
            let mut picks = vec![(root, *k)];
            for e in &tree[1..] {
                let Some((choice, more, asks)) = self.taken(*e, &spare) else {
                    break;
                };
                cost += more;
                most = most.max(asks);
                picks.push((*e, choice));
            }
            let better = best.as_ref().is_none_or(|(asks, known)| {
                let same = (cost - known.cost).abs() <= slack(cost);
                (!same && cost < known.cost) || (same && most < *asks)
            });
            if picks.len() == tree.len() && better {
                best = Some((most, Found { cost, picks }));
            }
        }
        match best {
            Some((_, found)) => Sought::Cheapest(found),
            None => Sought::Nothing,
        }
    }

    /// The cheapest choice of a run that asks for no more than there is in any row.
    fn taken(&self, e: usize, spare: &[f64]) -> Option<Taken> {
        let mut best: Option<Taken> = None;
        for k in &self.left[e] {
            let cost = self.options.open[e].choices[*k].cost;
            let rows = self.rows.iter().zip(spare);
            let asks = rows.map(|(row, spare)| row.need_v[e] + row.lost_v[e][*k] - spare);
            let most = asks.fold(f64::MIN, f64::max);
            let better = best.is_none_or(|(_, known, asks)| {
                let same = (cost - known).abs() <= slack(cost);
                (!same && cost < known) || (same && most < asks)
            });
            if most <= 0.0 && better {
                best = Some((*k, cost, most));
            }
        }
        best
    }
}
