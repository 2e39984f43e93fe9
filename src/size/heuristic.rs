//! Good designs soon: the better the best known design, the less is left to search.

use crate::size::forest::{AsSolved, Asked};
use crate::size::relax::{Pursuit, Relaxed};
use crate::size::search::Search;
use crate::size::trial::{Fault, Trial};

/// Rounds of putting the amperes of one design into the choice of the next.
const ROUNDS: usize = 12;
/// Most trials spent on making a design cheaper run by run.
const MOST_TRIMS: usize = 600;

impl Search<'_> {
    /// Looks for a design that passes near one that does not.
    pub(crate) fn improve(&mut self, relaxed: &Relaxed, trial: &Trial) {
        if !trial.passes() && !self.follow(relaxed, trial) && self.best.is_none() {
            self.thickest();
        }
        self.trim();
    }

    /// Chooses again with the amperes of the last design, and asks more for each device that was
    /// short.
    fn follow(&mut self, relaxed: &Relaxed, trial: &Trial) -> bool {
        let mut extra_v = vec![0.0; self.bench.devices.len()];
        let mut design = relaxed.design.clone();
        let mut faults = trial.faults.clone();
        let mut solutions = trial.solutions.clone();
        for _ in 0..ROUNDS {
            for (_, fault) in &faults {
                if let Fault::Low(d, volts, lowest) = fault {
                    extra_v[*d] += 1.05 * (lowest - volts) + 1e-6;
                }
            }
            let asked: Vec<Asked> = (0..self.bench.rows.len())
                .map(|r| match &solutions[r] {
                    None => relaxed.asked[r].clone(),
                    Some(solution) => {
                        let row = &self.bench.rows[r];
                        let flow = AsSolved {
                            row,
                            wiring: &self.opened.wiring[r],
                            solution,
                        };
                        let carried = &self.opened.carried[r];
                        self.opened
                            .forest
                            .asked(row, carried, &flow, |d| extra_v[d])
                    }
                })
                .collect();
            let all = self.all();
            let next =
                self.opened
                    .cheapest(self.bench, &all, asked, (Pursuit::Flat, self.watch.goes_on));
            let next = next.map(|next| self.bench.squeezed(next.design));
            let Some(next) = next.filter(|next| *next != design) else {
                extra_v.iter_mut().for_each(|v| *v *= 1.5);
                continue;
            };
            design = next;
            let trial = self.attempt(&design);
            if trial.passes() {
                return true;
            }
            (faults, solutions) = (trial.faults, trial.solutions);
        }
        false
    }

    fn all(&self) -> Vec<Vec<usize>> {
        let open = self.bench.options.open.iter();
        open.map(|o| (0..o.choices.len()).collect()).collect()
    }

    /// Tries the design that loses least in every run, as far as raceways have room for it.
    pub(crate) fn thickest(&mut self) -> Trial {
        let design = self.bench.squeezed(self.bench.least_ohms());
        self.attempt(&design)
    }

    /// Makes the best design cheaper run by run while it passes, greatest saving first.
    fn trim(&mut self) {
        let mut left = MOST_TRIMS;
        let mut first = 0;
        loop {
            let Some(best) = self.best.clone() else {
                return;
            };
            let open = self.bench.options.open.clone();
            let cost = |e: usize, k: usize| open[e].choices[k].cost;
            let mut moves: Vec<(f64, usize, usize)> = Vec::new();
            for (e, own) in best.design.iter().enumerate() {
                let count = self.bench.options.open[e].choices.len();
                let saved = (0..count).map(|k| (cost(e, *own) - cost(e, k), e, k));
                moves.extend(saved.filter(|m| m.0 > 0.0));
            }
            moves.sort_by(|a, b| b.0.total_cmp(&a.0));
            let mut design = best.design.clone();
            let mut cheaper = false;
            for (_, e, k) in moves {
                if left == 0 || !(self.watch.goes_on)() {
                    break;
                }
                let before = design[e];
                if cost(e, k) >= cost(e, before) {
                    continue;
                }
                left -= 1;
                self.tried += 1;
                design[e] = k;
                if self.bench.passes(&design, &mut first) {
                    cheaper = true;
                } else {
                    design[e] = before;
                }
            }
            if !cheaper {
                return;
            }
            self.attempt(&design);
            if left == 0 {
                return;
            }
        }
    }
}
