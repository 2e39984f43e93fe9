//! How cuts fit on spools: the least cable bought, no cut joined.

use crate::units::{Length, Measure};

/// Most cuts for which every arrangement is tried.
const MOST_TRIED: usize = 12;
/// Most steps of that search; reached only by odd sets of cuts, and then the best so far stands.
const MOST_STEPS: usize = 200_000;
/// Most cuts for which the one that forces another spool is looked for.
const MOST_BLAMED: usize = 100;
/// Most lengths that are tried as the one that is opened, the longest first.
const MOST_OPENED: usize = 8;
/// Most sums of spools that are added up to prove that none is less.
const MOST_SUMS: usize = 1_000_000;
/// Metres that count as none.
const NO_LENGTH_M: f64 = 1e-9;

/// One spool that is bought.
#[derive(Clone, Debug, PartialEq)]
pub struct Spool {
    /// Length as sold.
    pub length: Length,
    /// Cuts that come off it, as indices into the cuts.
    pub cuts: Vec<usize>,
    /// What is left over.
    pub left: Length,
}

/// Cuts on spools.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Packing {
    /// The spools, longest first.
    pub spools: Vec<Spool>,
    /// Cuts that no spool is long enough for.
    pub too_long: Vec<usize>,
    /// Whether no other arrangement buys less.
    pub is_least: bool,
    /// The shortest cut without which less would be bought.
    pub forces_more: Option<usize>,
}

impl Packing {
    /// Length of all spools together.
    pub fn bought(&self) -> Length {
        Length::from_base(self.spools.iter().map(|s| s.length.base()).sum())
    }
}

/// Puts cuts on spools of the given lengths so that the least length is bought.
///
/// First-fit and best-fit decreasing with every length as the one that is opened, each spool then
/// exchanged for the shortest that holds its cuts; up to twelve cuts every arrangement is tried.
///
/// # Source
/// First-fit decreasing is the classic bin-packing heuristic (Johnson 1974); from memory.
pub fn pack(cuts: &[Length], sold: &[Length]) -> Packing {
    let mut sizes: Vec<f64> = sold.iter().map(|l| l.base()).collect();
    sizes.sort_by(f64::total_cmp);
    sizes.dedup();
    let longest = sizes.last().copied().unwrap_or(0.0);
    let metres: Vec<f64> = cuts.iter().map(|c| c.base()).collect();
    let (mut fitting, too_long): (Vec<usize>, Vec<usize>) =
        (0..cuts.len()).partition(|i| metres[*i] <= longest + NO_LENGTH_M);
    fitting.sort_by(|a, b| metres[*b].total_cmp(&metres[*a]));
    let packer = Packer {
        metres: &metres,
        sizes: &sizes,
    };
    let (best, is_least) = packer.best(&fitting);
    let bought = packer.bought(&best);
    let blamed = if fitting.len() <= MOST_BLAMED {
        &fitting[..]
    } else {
        &[]
    };
    let forces_more = blamed.iter().rev().copied().find(|cut| {
        let without: Vec<usize> = fitting.iter().copied().filter(|i| i != cut).collect();
        packer.bought(&packer.best(&without).0) < bought - NO_LENGTH_M
    });
    let mut spools: Vec<Spool> = best
        .into_iter()
        .map(|cuts| {
            let used: f64 = cuts.iter().map(|i| metres[*i]).sum();
            let length = packer.shortest_for(used);
            Spool {
                length: Length::from_base(length),
                left: Length::from_base((length - used).max(0.0)),
                cuts,
            }
        })
        .collect();
    spools.sort_by(|a, b| b.length.base().total_cmp(&a.length.base()));
    Packing {
        spools,
        too_long,
        is_least,
        forces_more,
    }
}

/// Cuts by spool.
type Arrangement = Vec<Vec<usize>>;

struct Packer<'a> {
    metres: &'a [f64],
    /// Ascending.
    sizes: &'a [f64],
}

impl Packer<'_> {
    fn used(&self, cuts: &[usize]) -> f64 {
        cuts.iter().map(|i| self.metres[*i]).sum()
    }

    fn shortest_for(&self, used: f64) -> f64 {
        let found = self.sizes.iter().find(|s| **s + NO_LENGTH_M >= used);
        found.or(self.sizes.last()).copied().unwrap_or(0.0)
    }

    fn bought(&self, arrangement: &Arrangement) -> f64 {
        let spools = arrangement.iter();
        spools.map(|cuts| self.shortest_for(self.used(cuts))).sum()
    }

    /// The best arrangement found, and whether none can buy less.
    fn best(&self, decreasing: &[usize]) -> (Arrangement, bool) {
        let mut best: Option<Arrangement> = None;
        for opened in self.sizes.iter().rev().take(MOST_OPENED) {
            for tight in [false, true] {
                let found = self.fit(decreasing, *opened, tight);
                let better = |best: &Arrangement| self.bought(&found) < self.bought(best);
                if best.as_ref().is_none_or(better) {
                    best = Some(found);
                }
            }
        }
        let mut best = best.unwrap_or_default();
        let least = self.least(self.used(decreasing), decreasing.len());
        if self.bought(&best) <= least + NO_LENGTH_M {
            return (best, true);
        }
        if decreasing.len() > MOST_TRIED {
            return (best, false);
        }
        let mut steps = 0;
        self.try_all(decreasing, &mut Vec::new(), &mut best, &mut steps);
        (best, steps < MOST_STEPS)
    }

    /// Longest cut first, each on the first spool with room, or on the one it fills best.
    fn fit(&self, decreasing: &[usize], opened: f64, tight: bool) -> Arrangement {
        let mut spools: Vec<(f64, Vec<usize>)> = Vec::new();
        for cut in decreasing {
            let needed = self.metres[*cut];
            let mut room = spools
                .iter_mut()
                .filter(|(left, _)| *left + NO_LENGTH_M >= needed);
            let found = if tight {
                room.min_by(|a, b| a.0.total_cmp(&b.0))
            } else {
                room.next()
            };
            match found {
                Some((left, cuts)) => {
                    *left -= needed;
                    cuts.push(*cut);
                }
                None => spools.push((opened.max(self.shortest_for(needed)) - needed, vec![*cut])),
            }
        }
        spools.into_iter().map(|(_, cuts)| cuts).collect()
    }

    /// Tries every arrangement that could buy less than the best one.
    fn try_all(
        &self,
        left: &[usize],
        so_far: &mut Arrangement,
        best: &mut Arrangement,
        steps: &mut usize,
    ) {
        *steps += 1;
        if *steps >= MOST_STEPS || self.bought(so_far) >= self.bought(best) - NO_LENGTH_M {
            return;
        }
        let Some((cut, rest)) = left.split_first() else {
            best.clone_from(so_far);
            return;
        };
        let longest = self.sizes.last().copied().unwrap_or(0.0);
        for spool in 0..so_far.len() {
            if self.used(&so_far[spool]) + self.metres[*cut] <= longest + NO_LENGTH_M {
                so_far[spool].push(*cut);
                self.try_all(rest, so_far, best, steps);
                so_far[spool].pop();
            }
        }
        so_far.push(vec![*cut]);
        self.try_all(rest, so_far, best, steps);
        so_far.pop();
    }

    /// A length under which no spools hold so many metres in so many cuts.
    fn least(&self, metres: f64, cuts: usize) -> f64 {
        let lengths = u32::try_from(self.sizes.len()).unwrap_or(u32::MAX);
        let sums = cuts
            .saturating_add(1)
            .checked_pow(lengths.saturating_sub(1));
        match self.sizes.split_last() {
            // Every spool holds a cut, so there are no more of one length than cuts.
            Some((longest, shorter)) if sums.is_some_and(|sums| sums <= MOST_SUMS) => {
                cover(metres, cuts, *longest, shorter)
            }
            _ => metres,
        }
    }
}

/// The least sum of spool lengths that is no less than so many metres.
fn cover(metres: f64, most: usize, longest: f64, shorter: &[f64]) -> f64 {
    let Some((next, below)) = shorter.split_last() else {
        return (metres / longest - NO_LENGTH_M).ceil().max(0.0) * longest;
    };
    let (mut least, mut length) = (f64::INFINITY, 0.0);
    for _ in 0..=most {
        let rest = metres - length;
        if rest <= NO_LENGTH_M {
            return least.min(length);
        }
        least = least.min(length + cover(rest, most, *next, below));
        length += longest;
    }
    least
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    use super::*;

    fn lengths(metres: &[f64]) -> Vec<Length> {
        metres.iter().map(|m| Length::from_base(*m)).collect()
    }

    /// Least length bought over every way to put cuts into groups, without any shortcut.
    fn by_brute_force(cuts: &[f64], sold: &[f64], groups: &mut Vec<f64>) -> f64 {
        let Some((cut, rest)) = cuts.split_first() else {
            let cost = |used: &f64| {
                let fits = sold.iter().filter(|s| **s + NO_LENGTH_M >= *used);
                fits.fold(f64::INFINITY, |a, b| a.min(*b))
            };
            return groups.iter().map(cost).sum();
        };
        let mut least = f64::INFINITY;
        for i in 0..groups.len() {
            groups[i] += cut;
            least = least.min(by_brute_force(rest, sold, groups));
            groups[i] -= cut;
        }
        groups.push(*cut);
        least = least.min(by_brute_force(rest, sold, groups));
        groups.pop();
        least
    }

    proptest! {
        #[test]
        fn no_arrangement_buys_less(
            cuts in proptest::collection::vec(5.0..150.0_f64, 1..7),
            sold in proptest::collection::vec(150.0..310.0_f64, 1..4),
        ) {
            let packing = pack(&lengths(&cuts), &lengths(&sold));
            let least = by_brute_force(&cuts, &sold, &mut Vec::new());
            prop_assert!(packing.is_least);
            prop_assert!((packing.bought().base() - least).abs() < 1e-6, "{packing:?} {least}");
            for spool in &packing.spools {
                let used: f64 = spool.cuts.iter().map(|i| cuts[*i]).sum();
                prop_assert!((used + spool.left.base() - spool.length.base()).abs() < 1e-9);
            }
            let mut placed: Vec<usize> = packing.spools.iter().flat_map(|s| s.cuts.clone()).collect();
            placed.sort_unstable();
            prop_assert_eq!(placed, (0..cuts.len()).collect::<Vec<_>>());
        }
    }

    #[test]
    fn a_cut_over_the_longest_spool_is_named() {
        let packing = pack(&lengths(&[400.0, 20.0]), &lengths(&[152.4, 304.8]));
        assert_eq!(packing.too_long, [0]);
        assert_eq!(packing.spools.len(), 1);
    }

    #[test]
    fn the_cut_that_forces_one_more_spool_is_named() {
        let packing = pack(&lengths(&[90.0, 90.0, 20.0]), &lengths(&[100.0]));
        assert_relative_eq!(packing.bought().base(), 300.0);
        assert_eq!(packing.forces_more, Some(2));
    }

    #[test]
    fn many_cuts_are_packed_quickly_and_never_under_the_sum() {
        let cuts: Vec<f64> = (0..400).map(|i| 20.0 + f64::from(i % 37)).collect();
        let packing = pack(&lengths(&cuts), &lengths(&[152.4, 304.8]));
        let sum: f64 = cuts.iter().sum();
        assert!(packing.bought().base() >= sum);
        assert!(packing.bought().base() < sum * 1.05);
    }
}
