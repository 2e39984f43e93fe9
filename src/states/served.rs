//! The combination that can be served least.

use crate::circuit::Law;
use crate::solve::Outcome;
use crate::states::point::{Point, draws};
use crate::states::range::{Sets, members};
use crate::states::search::{Pick, Search};

/// Combinations are held against the least served factor found less this part of it.
const SAME_SERVED: f64 = 1e-6;

impl Search<'_> {
    /// Lowers `least` to the least served factor of the combinations without operating point;
    /// false where work ran out before that was certain.
    pub(super) fn least_served(&mut self, least: &mut f64, found: &mut Option<Pick>) -> bool {
        if self.all_served() {
            return true;
        }
        let mut sets = self.root.clone();
        if self.ports.is_monotone() {
            self.drop_weaker(&mut sets);
        }
        let mut scaled = self.ports.scaled(*least * (1.0 - SAME_SERVED));
        if *least >= 1.0 {
            scaled = self.ports.clone();
        }
        let mut open = vec![sets];
        while let Some(sets) = open.pop() {
            if *least <= 0.0 {
                return true;
            }
            if !self.effort.take(self.ports.len(), 3) {
                return false;
            }
            if scaled.enclose(&sets).is_some() {
                continue;
            }
            let Some(pick) = self.pick(&sets) else {
                open.extend(self.split(&sets, |p| self.ports.open_v[p], &[]));
                continue;
            };
            let factor: Vec<Law> = pick
                .iter()
                .enumerate()
                .map(|(p, c)| scaled.laws[p][*c])
                .collect();
            let feeds = self.ports.fed.iter().map(|_| Law::Off);
            let laws: Vec<Law> = factor.into_iter().chain(feeds).collect();
            self.effort.solved += 1;
            if matches!(scaled.point(&laws), Point::At(_)) {
                continue;
            }
            let own = self.laws(&pick);
            if let Outcome::Unserved(unserved) = self.solve(&own)
                && unserved.served < *least
            {
                *least = unserved.served;
                *found = Some(pick);
                scaled = self.ports.scaled(*least * (1.0 - SAME_SERVED));
            }
        }
        true
    }

    /// Leaves out choices that draw less than another, at all volts and with all factors on
    /// currents and powers.
    fn drop_weaker(&self, sets: &mut Sets) {
        let loads = self.ports.devices.len();
        for (port, set) in sets.iter_mut().enumerate().take(loads) {
            let laws = &self.ports.laws[port];
            let listed = |c: usize| self.exclusive.iter().any(|list| list.contains(&(port, c)));
            let all: Vec<usize> = members(*set).collect();
            for weak in &all {
                let stronger = |strong: &usize| {
                    let order = match (laws[*strong], laws[*weak]) {
                        (a, b) if !draws(b) => draws(a) || strong < weak,
                        (Law::Current(a), Law::Current(b)) | (Law::Power(a), Law::Power(b)) => {
                            a > b || (a >= b && strong < weak)
                        }
                        (Law::Resistance(a), Law::Resistance(b)) => {
                            a < b || (a <= b && strong < weak)
                        }
                        _ => false,
                    };
                    order && strong != weak && !listed(*strong)
                };
                if all.iter().any(stronger) {
                    *set &= !(1 << *weak);
                }
            }
        }
    }
}
