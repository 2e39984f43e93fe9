//! Where the search parts the choices left.

use crate::size::bounds::Left;
use crate::size::duct::parted;
use crate::size::relax::Relaxed;
use crate::size::search::{Node, Search, severity};
use crate::size::trial::{Fault, Trial};

impl Search<'_> {
    /// Parts the choices left at the run that has most to do with what fails.
    pub(crate) fn part(&self, node: &Node, relaxed: &Relaxed, trial: &Trial) -> Vec<Node> {
        let left = &node.left;
        let part = |left: Left| Node {
            bound: node.bound,
            number: 0,
            left,
            known: node.known.clone(),
            shares: node.shares.clone(),
        };
        if !trial.full.is_empty()
            && let Some(parts) = parted(&self.bench.ducts, left, &relaxed.design)
        {
            return parts.map(part).into();
        }
        let worst = trial
            .faults
            .iter()
            .max_by(|a, b| severity(a.1).total_cmp(&severity(b.1)));
        let row = worst.map_or(0, |(row, _)| *row);
        let run = (0..left.len())
            .filter(|e| left[*e].len() > 1)
            .map(|e| (self.weight(e, left, row, trial, worst.map(|w| w.1)), e))
            .reduce(|a, b| if b.0 > a.0 { b } else { a });
        let Some((_, e)) = run else {
            return Vec::new();
        };
        let ohm = |k: usize| {
            self.bench.rows[row].ohms[e][k]
                .iter()
                .filter(|r| r.is_finite())
                .sum::<f64>()
        };
        let here = relaxed.design[e];
        let (mut thick, mut thin): (Vec<usize>, Vec<usize>) =
            left[e].iter().partition(|k| ohm(**k) < ohm(here));
        if thick.is_empty() {
            (thick, thin) = left[e].iter().partition(|k| **k == here);
        }
        [thick, thin]
            .into_iter()
            .map(|own| {
                let mut left = left.clone();
                left[e] = own;
                part(left)
            })
            .collect()
    }

    /// Volts that the choices left to a run may make or lose where a design fails.
    fn weight(&self, e: usize, left: &Left, r: usize, trial: &Trial, fault: Option<Fault>) -> f64 {
        let row = &self.bench.rows[r];
        let amps = |branch: usize| {
            trial.solutions[r]
                .as_ref()
                .map_or(1.0, |s| s.branch_a[branch].abs())
        };
        let mut weight = 0.0;
        for (slot, branch) in self.bench.branches[e].iter().enumerate() {
            let Some(branch) = branch else { continue };
            let ohms = || {
                left[e]
                    .iter()
                    .map(|k| row.ohms[e][*k][slot])
                    .filter(|r| r.is_finite())
            };
            let span = ohms().fold(0.0, f64::max) - ohms().fold(f64::INFINITY, f64::min);
            weight += span.max(0.0) * amps(*branch);
        }
        // What lies on the failing device's way counts before anything beside it.
        let device = match fault {
            Some(Fault::Low(d, ..) | Fault::High(d, ..)) => Some(d),
            _ => None,
        };
        let on_way =
            device.is_some_and(|d| self.model.wiring[r].passes(d, &self.bench.branches[e]));
        if on_way { 1e3 * weight + 1e-9 } else { weight }
    }
}
