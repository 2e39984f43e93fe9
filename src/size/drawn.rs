//! What a tree draws, where draws follow volts: a line below the truth at every node.
//!
//! Write x for a node's volts less the supply's, as the trees count them. What hangs on a node
//! draws at least a line over x: watts draw P / V, which bends upward and lies over each of its
//! tangents; ohms draw a line as they are. Behind a wire of r ohms the line a - s x becomes
//! (a - s x) / (1 - s r), with the greater slope the more ohms there are. So the line through a
//! design's amperes at the volts that it asks for, with the slope that the most ohms below give,
//! lies under what the design draws at those volts and more; and it is two numbers for each
//! design, as the slope is the same for all.
//!
//! Where a tangent touches decides how near the bound is to the truth, and nothing else.

use crate::circuit::Law;
use crate::size::bounds::{Left, Range};
use crate::size::carried::Carried;
use crate::size::forest::{Asked, FAR_BELOW, Flow, Forest};
use crate::size::pareto::ROUNDING_V;
use crate::size::row::Row;

/// Least that may be left of 1 - s r: with less, lines are too steep to be of use.
const LEAST_LEFT: f64 = 0.2;

/// Amperes at x = 0, and how many fewer for each volt more.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Line {
    at_0_a: f64,
    slope_s: f64,
}

/// What the trees draw in one row.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Drawn {
    /// By run, by choice: ohms that all that hangs below draws through.
    ohm: Vec<Vec<f64>>,
    /// By run, by choice: volts that what else flows there loses at least.
    other_v: Vec<Vec<f64>>,
    /// By run: nothing else flows there.
    alone: Vec<bool>,
    /// By run: what hangs on its far end.
    own: Vec<Line>,
    /// By run: slopes of all that hangs below, seen from its far end and from its near end.
    slopes_s: Vec<[f64; 2]>,
    /// By run: volts more at its far end and at its near end for an ampere less, at least.
    worth_ohm: Vec<[f64; 2]>,
    /// By run: amperes that all below draws at least, most volts at the near end, and the part by
    /// which an ampere more raises the losses of each run above at least.
    least_a: Vec<f64>,
    most_v: Vec<f64>,
    more_per_a: Vec<f64>,
}

/// What is known of a row when its lines are drawn.
pub(crate) struct Seen<'a, F> {
    pub(crate) row: &'a Row,
    pub(crate) carried: &'a Carried,
    pub(crate) flow: &'a F,
    /// By device: amperes, volts between which it lies, and volts near which it is thought to lie.
    pub(crate) sink_a: &'a [Range],
    pub(crate) device_v: &'a [Range],
    pub(crate) near_v: &'a [f64],
    /// By device that the trees carry: volts lost on the rest of its way; where a run has it as
    /// one of its own, what is lost there at least.
    pub(crate) rests: &'a [Range],
}

impl Drawn {
    /// The lines of a row, or flat ones where the true ones are too steep.
    pub(crate) fn of<F: Flow>(
        forest: &Forest,
        seen: &Seen<'_, F>,
        asked: &Asked,
        left: &Left,
    ) -> Self {
        let count = left.len();
        let mut least_a = vec![0.0; count];
        for (d, hangs) in forest.hangs.iter().enumerate() {
            if let Some(e) = hangs {
                least_a[*e] += seen.sink_a[d].0;
            }
        }
        let flat = least_a.iter().map(|amps| Line {
            at_0_a: *amps,
            slope_s: 0.0,
        });
        let flat: Vec<Line> = flat.collect();
        let mut own = flat.clone();
        for ((d, ..), rest) in seen.carried.devices.iter().zip(seen.rests) {
            let (Some(e), Some(line)) = (forest.hangs[*d], seen.line(*d, *rest)) else {
                continue;
            };
            own[e].at_0_a += line.at_0_a - seen.sink_a[*d].0;
            own[e].slope_s += line.slope_s;
        }
        let order: Vec<usize> = forest.roots.iter().flat_map(|r| forest.tree(*r)).collect();
        for e in order.iter().rev() {
            if let Some(above) = forest.above[*e] {
                least_a[above] += least_a[*e];
            }
        }
        let mut drawn = Self {
            ohm: Vec::with_capacity(count),
            other_v: Vec::with_capacity(count),
            own,
            slopes_s: vec![[0.0; 2]; count],
            worth_ohm: vec![[0.0; 2]; count],
            alone: Vec::with_capacity(count),
            least_a: Vec::new(),
            most_v: vec![ROUNDING_V; count],
            more_per_a: vec![0.0; count],
        };
        for (e, choices) in seen.row.ohms.iter().enumerate() {
            let (mut ohm, mut other_v) = (Vec::new(), Vec::new());
            // What is asked has the least that is lost there in it.
            let fixed = seen.carried.fixed[e].iter();
            let fixed_ohm: f64 = fixed.map(|(edge, _)| seen.ohm_of(*edge)).sum();
            for ohms in choices {
                let (mut whole, mut lost) = (fixed_ohm, -fixed_ohm * least_a[e]);
                for leg in &seen.carried.legs[e] {
                    let amps = seen.flow.along(leg.edge, leg.forward);
                    let own = leg.whole && amps.is_finite();
                    whole += if own { ohms[leg.slot] } else { 0.0 };
                    lost += ohms[leg.slot] * if own { amps - least_a[e] } else { amps };
                }
                ohm.push(whole);
                other_v.push(lost.max(FAR_BELOW));
            }
            let mut legs = seen.carried.legs[e].iter();
            drawn.alone.push(legs.all(|leg| leg.alone));
            drawn.ohm.push(ohm);
            drawn.other_v.push(other_v);
        }
        drawn.least_a = least_a;
        let mut high_v = vec![f64::INFINITY; count];
        for ((d, ..), rest) in seen.carried.devices.iter().zip(seen.rests) {
            if let Some(e) = forest.hangs[*d] {
                high_v[e] = high_v[e].min(seen.device_v[*d].1 + rest.1 + ROUNDING_V);
            }
        }
        drawn.leave_hopeless(forest, &order, asked, (left, &high_v));
        if !drawn.slope(forest, &order, left) {
            drawn.own = flat;
            drawn.slope(forest, &order, left);
        }
        drawn.weigh(forest, &order, left);
        drawn
    }

    /// Marks the choices that lose more than there is, whatever the others are.
    fn leave_hopeless(
        &mut self,
        forest: &Forest,
        order: &[usize],
        asked: &Asked,
        (left, high_v): (&Left, &[f64]),
    ) {
        let least = |e: usize| {
            let lost = left[e].iter().map(|k| asked.lost_v[e][*k]);
            lost.fold(f64::INFINITY, f64::min)
        };
        let mut need_v = asked.need_v.clone();
        for e in order.iter().rev() {
            if let Some(above) = forest.above[*e] {
                need_v[above] = need_v[above].max(need_v[*e] + least(*e));
            }
        }
        let mut far_v = vec![0.0; need_v.len()];
        for e in order {
            let most_v = forest.above[*e].map_or(ROUNDING_V, |above| far_v[above]);
            far_v[*e] = (most_v - least(*e)).min(high_v[*e]);
            self.most_v[*e] = most_v;
            self.more_per_a[*e] = match forest.above[*e] {
                None => 0.0,
                Some(above) => {
                    let more = left[above].iter().map(|k| {
                        let (ohm, lost_v) = (self.ohm[above][*k], asked.lost_v[above][*k]);
                        if ohm > 0.0 && lost_v > 0.0 {
                            ohm / lost_v
                        } else {
                            0.0
                        }
                    });
                    let more = more.fold(f64::INFINITY, f64::min);
                    match forest.above[above] {
                        None => more,
                        Some(_) => more.min(self.more_per_a[above]),
                    }
                }
            };
            for k in &left[*e] {
                if asked.lost_v[*e][*k] + need_v[*e] > most_v {
                    self.other_v[*e][*k] = f64::INFINITY;
                }
            }
        }
    }

    fn ohms<'a>(&'a self, e: usize, left: &'a Left) -> impl Iterator<Item = f64> + 'a {
        let may = move |k: &&usize| self.other_v[e][**k].is_finite();
        left[e].iter().filter(may).map(move |k| self.ohm[e][*k])
    }

    /// The slopes, from the far ends on; whether they are of use.
    fn slope(&mut self, forest: &Forest, order: &[usize], left: &Left) -> bool {
        for e in order.iter().rev() {
            let below = forest.below[*e].iter().map(|b| self.slopes_s[*b][1]);
            let far = self.own[*e].slope_s + below.sum::<f64>();
            let most_ohm = self.ohms(*e, left).fold(0.0, f64::max);
            let rest = 1.0 - far * most_ohm;
            if rest < LEAST_LEFT {
                return false;
            }
            // Where something else may lose more than is known, more volts at the near end do
            // not say that there are more at the far end.
            let near = far / rest;
            self.slopes_s[*e] = [far, if self.alone[*e] { near } else { near.max(0.0) }];
        }
        true
    }

    /// What an ampere less is worth, from the supply on.
    ///
    /// Let a design below a run draw a amperes less than another, by its line, and ask for w a
    /// volts more at the far end. With r ohms it asks for (w (1 - s r) - r) a more at the near
    /// end and draws (1 + t r - w u) a less, with t the slope there and u = t (1 - s r) - s. It
    /// serves as well where that is no more than an ampere less is worth at the near end; at the
    /// supply it is worth nothing.
    fn weigh(&mut self, forest: &Forest, order: &[usize], left: &Left) {
        for e in order {
            let near = forest.above[*e].map_or(0.0, |above| self.worth_ohm[above][0]);
            let [s, t] = self.slopes_s[*e];
            let worth = |r: f64| {
                let u = (t * (1.0 - s * r) - s).max(0.0);
                let kept = 1.0 + t * r;
                let worth = (near * kept + r) / (1.0 - s * r + near * u);
                if u > 0.0 { worth.min(kept / u) } else { worth }
            };
            let far = self.ohms(*e, left).map(worth);
            let far = far.fold(f64::INFINITY, f64::min);
            let far = if far.is_finite() { far.max(0.0) } else { 0.0 };
            self.worth_ohm[*e] = [far, near];
        }
    }

    /// What hangs on a run's far end draws, at x = 0.
    pub(crate) fn start_a(&self, e: usize) -> f64 {
        self.own[e].at_0_a
    }

    /// From a run's far end to its near end: volts asked for, and amperes at x = 0.
    pub(crate) fn through(&self, (e, k): (usize, usize), ask_v: f64, at_0_a: f64) -> (f64, f64) {
        let [far, near] = self.slopes_s[e];
        let amps = at_0_a - far * ask_v;
        let ask_v = ask_v + self.ohm[e][k] * amps + self.other_v[e][k];
        (ask_v, amps + near * ask_v)
    }

    /// Volts asked for at the near end of a run, less by what its amperes beyond the least lose in
    /// the runs above.
    pub(crate) fn eased_v(&self, e: usize, ask_v: f64, at_0_a: f64) -> f64 {
        let slope_s = self.slopes_s[e][1];
        let at_v = if slope_s > 0.0 {
            self.most_v[e].max(ask_v)
        } else {
            ask_v
        };
        let more_a = (at_0_a - slope_s * at_v - self.least_a[e]).max(0.0);
        if ask_v < 0.0 {
            ask_v / (1.0 + more_a * self.more_per_a[e])
        } else {
            ask_v
        }
    }

    /// Volts that a design of a tree asks for beyond what there is.
    pub(crate) fn asked_v(
        &self,
        forest: &Forest,
        tree: &[usize],
        need_v: &[f64],
        design: &[usize],
    ) -> f64 {
        let mut below: Vec<(f64, f64)> = vec![(f64::NEG_INFINITY, 0.0); need_v.len()];
        let mut asked_v = f64::NEG_INFINITY;
        for e in tree.iter().rev() {
            let (ask_v, amps) = below[*e];
            let ask_v = ask_v.max(need_v[*e]).max(FAR_BELOW);
            let (ask_v, amps) = self.through((*e, design[*e]), ask_v, amps + self.own[*e].at_0_a);
            if !ask_v.is_finite() {
                // A choice that loses more than there is.
                return f64::INFINITY;
            }
            match forest.above[*e] {
                Some(above) => {
                    below[above].0 = below[above].0.max(ask_v);
                    below[above].1 += amps;
                }
                None => asked_v = ask_v,
            }
        }
        asked_v
    }

    /// Volts more at an end of a run that an ampere less is worth, at least.
    pub(crate) fn worth_ohm(&self, e: usize, near: bool) -> f64 {
        self.worth_ohm[e][usize::from(near)]
    }
}

impl<F> Seen<'_, F> {
    fn ohm_of(&self, edge: usize) -> f64 {
        let branches = &self.row.circuit.branches;
        match edge.checked_sub(branches.len()) {
            None => branches[edge].resistance_ohm,
            Some(supply) => self.row.circuit.sources[supply].resistance_ohm,
        }
    }

    /// Under what a device draws, over x; nothing better than what it draws at least where x is
    /// not known well.
    fn line(&self, d: usize, (few_v, many_v): Range) -> Option<Line> {
        match self.row.circuit.loads[d].law {
            Law::Power(watts) if watts > 0.0 && few_v.is_finite() => {
                let (low, high) = self.device_v[d];
                let near_v = self.near_v[d];
                let near_v = if near_v.is_nan() {
                    0.5 * (low + high)
                } else {
                    near_v
                };
                let at_v = near_v.min(high).max(low);
                let slope_s = watts / (at_v * at_v);
                let at_0_a = 2.0 * watts / at_v + slope_s * few_v;
                (at_v > 0.0 && at_v.is_finite()).then_some(Line { at_0_a, slope_s })
            }
            Law::Resistance(ohm) if ohm > 0.0 && many_v.is_finite() => Some(Line {
                at_0_a: -many_v / ohm,
                slope_s: -ohm.recip(),
            }),
            _ => None,
        }
    }
}
