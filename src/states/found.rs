//! What is found in one cluster.

use std::rc::Rc;

/// Index into the corners that are searched.
pub(super) type At = usize;
pub(super) const LOW: At = 0;
pub(super) const HIGH: At = 1;
pub(super) const HEAVY: At = 2;

/// A worst value inside a cluster.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) value: f64,
    pub(super) at: At,
    pub(super) spot: Rc<Spot>,
}

/// A combination inside a cluster: how its relays stand, and a choice for each of its devices.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Spot {
    pub(super) way: usize,
    pub(super) choice: Vec<usize>,
}

/// What was found in one cluster.
#[derive(Debug)]
pub(super) struct Searched {
    pub(super) least: Vec<Option<Found>>,
    pub(super) most: Vec<Option<Found>>,
    /// By corner, by source of the cluster.
    pub(super) sources: [Vec<Option<Found>>; 3],
    /// By branch of the cluster.
    pub(super) branches: Vec<Option<Found>>,
    /// By corner: some combination that has an operating point, idle if that has.
    pub(super) usual: [Option<Rc<Spot>>; 3],
    pub(super) unserved: Option<Found>,
    pub(super) proven: bool,
}

/// Puts a worse value in place of a better one; `sign`: 1 where more is worse.
pub(super) fn put(best: &mut Option<Found>, value: f64, sign: f64, at: At, spot: &Rc<Spot>) {
    if best.as_ref().is_none_or(|b| sign * value > sign * b.value) {
        *best = Some(Found {
            value,
            at,
            spot: Rc::clone(spot),
        });
    }
}
