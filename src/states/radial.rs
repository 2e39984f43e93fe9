//! Clusters that are one tree: a single supply, every conductor with a return of its own.
//!
//! Where each negative conductor carries the loads of some positive one and nothing goes round in
//! a ring, the two are one line, and the whole is a tree of lines. Then no search is needed:
//!
//! - More drawn anywhere is less volts everywhere, so with the most drawn by all every device has
//!   its least volts and the supply gives its most amps; and with all others off a device has its
//!   most volts.
//! - The amps into a branch are a convex function of the volts at its head: so is what a load
//!   draws (a constant, a line through 0, P/V); sums of convex functions are; and behind R ohms
//!   V = v + R i(v) is convex and rising in v, so v is concave and (V - v)/R convex in V. The volts
//!   at the head lie between those with all others at their most and with all others off, so the
//!   most amps are at one of these two ends, with the most drawn behind the branch.

use crate::circuit::{Circuit, Law};
use crate::states::point::{drawn, draws};
use crate::states::tree::Tree;

/// Enough to come down to a cliff by halves.
const MOST_STEPS: usize = 60;

/// A tree in one corner.
pub(super) struct Valued<'t> {
    tree: &'t Tree,
    /// By load and choice.
    laws: &'t [Vec<Law>],
    emf_v: f64,
    /// Ohms of the line to each knot.
    ohms: Vec<f64>,
    /// Ohms of all lines from the source to each knot.
    way: Vec<f64>,
}

/// Every load at its most, and what comes of it.
pub(super) struct Strongest {
    /// By load: the choice that draws most; 0 where it is not reached.
    pub(super) choice: Vec<usize>,
    /// Volts and amps of each knot and its line.
    volts: Vec<f64>,
    pub(super) amps: Vec<f64>,
}

impl<'t> Valued<'t> {
    /// A tree with the values of a corner.
    pub(super) fn new(tree: &'t Tree, circuit: &Circuit, laws: &'t [Vec<Law>]) -> Self {
        let source = &circuit.sources[tree.source()];
        let ohms = |lines: &Vec<usize>| -> f64 {
            lines
                .iter()
                .map(|b| circuit.branches[*b].resistance_ohm)
                .sum()
        };
        let mut ohms: Vec<f64> = tree.lines().iter().map(ohms).collect();
        ohms[0] += source.resistance_ohm.max(0.0);
        let mut way = ohms.clone();
        for k in 1..way.len() {
            way[k] += way[tree.above[k]];
        }
        Self {
            tree,
            laws,
            emf_v: source.volts_v,
            ohms,
            way,
        }
    }

    /// Every load at its most, if one choice of each draws most at all volts it can have, and if
    /// that can be served.
    pub(super) fn strongest(&self) -> Option<Strongest> {
        let most = |load: usize, volts_v: f64| {
            let all = self.laws[load].iter().map(|law| drawn(*law, volts_v));
            all.fold(
                (0.0, 0.0),
                |most, law| if law.0 > most.0 { law } else { most },
            )
        };
        let (volts, amps) = self.sweep(0, self.ohms[0], &most)?;
        let mut choice = vec![0; self.laws.len()];
        for (load, knot) in self.tree.knot.iter().enumerate() {
            let Some(knot) = knot else { continue };
            let ends = [volts[*knot], self.emf_v];
            let laws = &self.laws[load];
            let over = |a: &Law, b: &Law| ends.iter().all(|v| drawn(*a, *v).0 >= drawn(*b, *v).0);
            choice[load] = laws.iter().position(|a| laws.iter().all(|b| over(a, b)))?;
        }
        Some(Strongest {
            choice,
            volts,
            amps,
        })
    }

    /// Volts of a load with every load at its most.
    pub(super) fn least_v(&self, strongest: &Strongest, load: usize) -> Option<f64> {
        Some(strongest.volts[self.tree.knot[load]?])
    }

    /// The most volts of a load that draws, all others off, and its choice.
    pub(super) fn most_v(&self, load: usize) -> Option<(f64, usize)> {
        let (e, r) = (self.emf_v, self.way[self.tree.knot[load]?]);
        let volts = |law: Law| match law {
            Law::Off => e,
            Law::Current(amps) => e - r * amps,
            Law::Power(watts) => f64::midpoint(e, (e * e - 4.0 * r * watts).sqrt()),
            Law::Resistance(ohm) => e * ohm / (ohm + r),
        };
        let drawing = self.laws[load]
            .iter()
            .enumerate()
            .filter(|(_, law)| draws(**law));
        drawing
            .map(|(c, law)| (volts(*law), c))
            .max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Amps into a knot with every load behind it at its most and all others off.
    pub(super) fn alone(&self, strongest: &Strongest, knot: usize) -> Option<f64> {
        let law =
            |load: usize, volts_v: f64| drawn(self.laws[load][strongest.choice[load]], volts_v);
        let (_, amps) = self.sweep(knot, self.way[knot], &law)?;
        amps.first().copied()
    }

    /// Whether more volts at its head can mean more amps into a knot.
    pub(super) fn may_rise(&self, strongest: &Strongest, knot: usize) -> bool {
        let law = |load: usize| self.laws[load][strongest.choice[load]];
        self.tree
            .behind(knot)
            .any(|load| matches!(law(load), Law::Resistance(_)))
    }

    /// Volts of the knots behind one, and amps of their lines, that one standing behind some ohms
    /// from the source; `None` where that cannot be served.
    ///
    /// Newton's iteration from no load: every knot is a load of amps a + g v to the one above, by
    /// one sweep in and one out. The volts only fall, and stay above any root (see `point`).
    fn sweep(
        &self,
        top: usize,
        ohms: f64,
        law: &dyn Fn(usize, f64) -> (f64, f64),
    ) -> Option<(Vec<f64>, Vec<f64>)> {
        let count = self.tree.end[top] - top;
        let mut volts = vec![self.emf_v; count];
        let mut into = vec![(0.0, 0.0); count];
        let line = |k: usize| if k == 0 { ohms } else { self.ohms[top + k] };
        let above = |k: usize| self.tree.above[top + k] - top;
        let mut last = f64::INFINITY;
        for _ in 0..MOST_STEPS {
            into.iter_mut().for_each(|i| *i = (0.0, 0.0));
            for k in (0..count).rev() {
                for load in &self.tree.loads[top + k] {
                    let (amps, slope) = law(*load, volts[k]);
                    into[k].0 += amps - slope * volts[k];
                    into[k].1 += slope;
                }
                let pivot = 1.0 + line(k) * into[k].1;
                if pivot.is_nan() || pivot <= 0.0 {
                    return None;
                }
                if k > 0 {
                    let (amps, slope) = (into[k].0 / pivot, into[k].1 / pivot);
                    into[above(k)].0 += amps;
                    into[above(k)].1 += slope;
                }
            }
            let mut size = 0.0_f64;
            for k in 0..count {
                let head = if k == 0 { self.emf_v } else { volts[above(k)] };
                let now = (head - line(k) * into[k].0) / (1.0 + line(k) * into[k].1);
                if now.is_nan() || now <= 0.0 {
                    return None;
                }
                size = size.max((now - volts[k]).abs() / self.emf_v);
                volts[k] = now;
            }
            if size <= 4e-16 || (size < 1e-9 && size >= 0.5 * last) {
                let amps = (0..count)
                    .map(|k| into[k].0 + into[k].1 * volts[k])
                    .collect();
                return Some((volts, amps));
            }
            last = size;
        }
        None
    }
}
