//! The worst of a cluster that is a tree.

use std::rc::Rc;

use crate::states::cluster::Wired;
use crate::states::found::{At, HEAVY, HIGH, LOW, Searched, Spot, put};
use crate::states::hunt::Hunt;
use crate::states::radial::{Strongest, Valued};
use crate::states::search::Effort;
use crate::states::tree::Tree;

impl Hunt<'_> {
    /// The worst of a cluster that is a tree, without a search; false where it is none, or where
    /// not every combination can be served.
    pub(super) fn tree(
        &self,
        wired: &Wired,
        way: usize,
        found: &mut Searched,
        effort: &mut Effort,
    ) -> bool {
        if !self.cluster.exclusive.is_empty() {
            return false;
        }
        let Some(tree) = Tree::of(&wired.circuits[LOW], &wired.live) else {
            return false;
        };
        let laws = [LOW, HIGH, HEAVY].map(|at| self.laws(wired, at));
        let valued =
            [LOW, HIGH, HEAVY].map(|at| Valued::new(&tree, &wired.circuits[at], &laws[at]));
        let strongest = [LOW, HIGH, HEAVY].map(|at| valued[at].strongest());
        let [Some(low), Some(_), Some(heavy)] = &strongest else {
            return false;
        };
        let spot = |choice| Rc::new(Spot { way, choice });
        let rest = spot(self.rest());
        effort.solved += 3;
        for at in [LOW, HIGH, HEAVY] {
            found.usual[at].get_or_insert_with(|| Rc::clone(&rest));
        }
        let all = |s: &Strongest| {
            let picked = s.choice.iter().zip(self.rest()).zip(&wired.live);
            spot(
                picked
                    .map(|((own, rest), live)| if *live { *own } else { rest })
                    .collect(),
            )
        };
        let most = [(LOW, low, all(low)), (HEAVY, heavy, all(heavy))];
        for load in (0..wired.live.len()).filter(|l| wired.live[*l]) {
            if let Some(volts) = valued[LOW].least_v(low, load) {
                put(&mut found.least[load], volts, -1.0, LOW, &most[0].2);
            }
            if let Some((volts, choice)) = valued[HIGH].most_v(load) {
                let mut alone = self.off();
                alone[load] = choice;
                put(&mut found.most[load], volts, 1.0, HIGH, &spot(alone));
                effort.solved += 1;
            }
        }
        for (at, strongest, spot) in &most {
            for source in 0..self.cluster.sources.len() {
                let own = source == tree.source();
                let amps = if own { strongest.amps[0] } else { 0.0 };
                put(&mut found.sources[*at][source], amps, 1.0, *at, spot);
            }
            self.lines(
                (&tree, &valued[*at]),
                (way, *at),
                (strongest, spot),
                found,
                effort,
            );
        }
        true
    }

    /// Most amps of the lines of a tree.
    fn lines(
        &self,
        (tree, valued): (&Tree, &Valued<'_>),
        (way, at): (usize, At),
        (strongest, spot): (&Strongest, &Rc<Spot>),
        found: &mut Searched,
        effort: &mut Effort,
    ) {
        let mut knot_of = vec![None; self.cluster.branches.len()];
        for (knot, lines) in tree.lines().iter().enumerate() {
            lines.iter().for_each(|b| knot_of[*b] = Some(knot));
        }
        let mut others: Vec<Option<(f64, Rc<Spot>)>> = vec![None; tree.lines().len()];
        for branch in self.watched() {
            let best = &mut found.branches[branch];
            let Some(knot) = knot_of[branch] else {
                put(best, 0.0, 1.0, at, spot);
                continue;
            };
            put(best, strongest.amps[knot], 1.0, at, spot);
            // With all others off there are more volts, which a resistance turns into more amps.
            if knot > 0 && valued.may_rise(strongest, knot) && others[knot].is_none() {
                effort.solved += 1;
                others[knot] = valued.alone(strongest, knot).map(|amps| {
                    let mut choice = self.off();
                    tree.behind(knot)
                        .for_each(|l| choice[l] = strongest.choice[l]);
                    (amps, Rc::new(Spot { way, choice }))
                });
            }
            if let Some((amps, spot)) = &others[knot] {
                put(best, *amps, 1.0, at, spot);
            }
        }
    }
}
