//! Sets of choices that become smaller: what is best in any case is chosen, the rest is split.

use crate::circuit::Law;
use crate::states::point::{Point, drawn};
use crate::states::range::{Frame, Push, Sets, members};
use crate::states::search::{Pick, SAME, Search};

impl Search<'_> {
    /// The only combination left, if there is only one.
    pub(super) fn pick(&self, sets: &Sets) -> Option<Pick> {
        let loads = &sets[..self.ports.devices.len()];
        loads.iter().all(|set| set.count_ones() == 1).then(|| {
            loads
                .iter()
                .map(|set| set.trailing_zeros() as usize)
                .collect()
        })
    }

    /// Fixes ports of which one choice is best whatever the others do; false if there is none.
    ///
    /// Where a push has one sign all over the box, the choice that draws most (or least) over the
    /// whole range of volts is best: on the way from any other choice to it the row only rises.
    pub(super) fn choose(&self, sets: &mut Sets, frame: &Frame, pushes: &[Push]) -> bool {
        let mut chosen = false;
        let open = (0..self.ports.devices.len()).filter(|p| sets[*p].count_ones() > 1);
        for port in open.collect::<Vec<_>>() {
            let (push, volts) = (pushes[port], frame.volts[port]);
            let at = |choice: usize| {
                let law = self.ports.laws[port][choice];
                [drawn(law, volts.low).0, drawn(law, volts.high).0]
            };
            let all = members(sets[port]).flat_map(at);
            let size = all.fold(0.0_f64, |most, a| most.max(a.abs()));
            let sign = if (push.by.abs() + push.error) * size <= SAME * 1e-3 {
                0.0
            } else if push.by.abs() > push.error {
                push.by.signum()
            } else {
                continue;
            };
            // The laws of two choices cross once at most, so the ends of the range decide.
            let best = members(sets[port]).find(|a| {
                let free = self.is_free(sets, port, *a);
                free && members(sets[port]).all(|b| {
                    let (mine, other) = (at(*a), at(b));
                    mine.iter().zip(&other).all(|(m, o)| sign * m >= sign * o)
                })
            });
            if let Some(best) = best {
                sets[port] = 1 << best;
                chosen = true;
            }
        }
        chosen
    }

    /// Whether a choice stands in the way of nothing that is still open.
    fn is_free(&self, sets: &Sets, port: usize, choice: usize) -> bool {
        let stands = |list: &&Vec<(usize, usize)>| list.contains(&(port, choice));
        self.exclusive.iter().filter(stands).all(|list| {
            list.iter()
                .all(|(p, c)| *p == port || sets[*p] >> c & 1 == 0)
        })
    }

    /// Whether no combination can have an operating point: not even with nothing drawn by those
    /// that are still open.
    pub(super) fn is_lost(&mut self, sets: &Sets) -> bool {
        if !self.ports.is_monotone() {
            return false;
        }
        let law = |port: usize| {
            if port < self.ports.devices.len() && sets[port].count_ones() == 1 {
                self.ports.laws[port][sets[port].trailing_zeros() as usize]
            } else {
                Law::Off
            }
        };
        let laws: Vec<Law> = (0..self.ports.len()).map(law).collect();
        self.ports.point(&laws) == Point::None
    }

    /// Sets of choices, one for each choice of the port that matters most, the most promising
    /// last.
    pub(super) fn split(
        &self,
        sets: &Sets,
        volts: impl Fn(usize) -> f64,
        pushes: &[Push],
    ) -> Vec<Sets> {
        let weight = |port: usize| pushes.get(port).map_or(1.0, |p| p.by);
        let doubt = |port: usize| {
            pushes
                .get(port)
                .map_or(1.0, |p| p.by.abs() + p.error.min(1e6))
        };
        let amps = |port: usize, choice: usize| drawn(self.ports.laws[port][choice], volts(port)).0;
        let spread = |port: &usize| {
            let all = || members(sets[*port]).map(|c| amps(*port, c));
            let (low, high) = (
                all().fold(f64::INFINITY, f64::min),
                all().fold(0.0, f64::max),
            );
            (high - low) * doubt(*port)
        };
        let open = (0..self.ports.devices.len()).filter(|p| sets[*p].count_ones() > 1);
        let Some(port) = open.max_by(|a, b| spread(a).total_cmp(&spread(b))) else {
            return Vec::new();
        };
        let mut choices: Vec<usize> = members(sets[port]).collect();
        let value = |c: &usize| weight(port) * amps(port, *c);
        choices.sort_by(|a, b| value(a).total_cmp(&value(b)));
        choices
            .into_iter()
            .filter_map(|choice| {
                let mut sets = sets.clone();
                sets[port] = 1 << choice;
                self.exclude(&mut sets).then_some(sets)
            })
            .collect()
    }

    /// Takes out what is exclusive with what is fixed; false where nothing is left for a port.
    pub(super) fn exclude(&self, sets: &mut Sets) -> bool {
        let mut changed = true;
        while changed {
            changed = false;
            for list in &self.exclusive {
                let fixed = list.iter().find(|(p, c)| sets[*p] == 1 << *c);
                let Some((fixed, _)) = fixed else { continue };
                for (port, choice) in list.iter().filter(|(p, _)| p != fixed) {
                    changed |= sets[*port] >> choice & 1 == 1;
                    sets[*port] &= !(1 << *choice);
                }
            }
            if sets[..self.ports.devices.len()].contains(&0) {
                return false;
            }
        }
        true
    }
}
