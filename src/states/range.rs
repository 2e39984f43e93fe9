//! All operating points of many combinations at once, enclosed by intervals.
//!
//! Every port has a set of choices. Its amps are then somewhere between bounds, and from bounds on
//! all amps follow bounds on all volts, and again on all amps. Where that map sends a box into its
//! own inside (Krawczyk's operator), every combination of the choices has one root in the box and
//! the derivative is regular all over it. With "nothing drawn" among the choices the way from no
//! load to every combination lies in the box as well, so that root is the right one.
//!
//! # Source
//! Neumaier, Interval Methods for Systems of Equations (Cambridge 1990), chapter 5, from memory.

use crate::circuit::Law;
use crate::states::dense;
use crate::states::point::{drawn, draws};
use crate::states::ports::{Fed, Ports, Row};
use crate::states::span::{Span, range};

/// The sum of a push is given up after this many terms that do not shrink to this part each.
const MOST_TERMS: usize = 20;
const SHRINKS: f64 = 0.9;

/// Which choices each port may take: a bit each.
pub(super) type Sets = Vec<u64>;

/// The choices in a set.
pub(super) fn members(set: u64) -> impl Iterator<Item = usize> {
    (0..64).filter(move |c| set >> c & 1 == 1)
}

/// A box of currents with what is the same for everything that is asked about it.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    /// Amps of each port.
    pub(super) amps: Vec<Span>,
    /// Volts of each port.
    pub(super) volts: Vec<Span>,
    /// Middle of the amps, and the volts there.
    middle: Vec<f64>,
    middle_v: Vec<f64>,
    /// What the feeds would draw at the middle.
    fed: Vec<f64>,
    /// The inverse of the middle of all derivatives, and their spread.
    inverse: Vec<f64>,
    spread: Vec<f64>,
}

/// How far a number can be pushed by the choice of a port: its change for an ampere more.
#[derive(Clone, Copy, Debug)]
pub(super) struct Push {
    pub(super) by: f64,
    pub(super) error: f64,
}

impl Ports {
    pub(super) fn chosen<'p>(
        &'p self,
        port: usize,
        sets: &'p Sets,
    ) -> impl Iterator<Item = Law> + 'p {
        members(sets[port]).map(move |c| self.laws[port][c])
    }

    /// What is the same for everything asked about a box; `None` where volts may fall to 0.
    ///
    /// `off`: nothing drawn counts among the choices of every port.
    pub(super) fn frame(&self, mut amps: Vec<Span>, sets: &Sets, off: bool) -> Option<Frame> {
        let (n, loads) = (self.len(), self.devices.len());
        let volts: Vec<Span> = (0..n).map(|port| range(&self.volts(port), &amps)).collect();
        let mut a = vec![0.0; n * n];
        let mut spread = vec![0.0; n * n];
        let mut set = |j: usize, k: usize, change: Span| {
            a[j * n + k] = -change.middle();
            spread[j * n + k] = change.radius();
        };
        for j in 0..loads {
            let (drawn, slope) = self.drawn_over(j, volts[j], sets, off)?;
            (0..n).for_each(|k| set(j, k, slope.scaled(-self.z[j * n + k])));
            if !off {
                amps[j] = amps[j].meet(drawn);
            }
        }
        for feed in &self.fed {
            let (drawn, changes) = self.fed_over(feed, volts[feed.port], &amps)?;
            for (k, change) in changes.into_iter().enumerate() {
                let change = if off { change.hull(Span::ZERO) } else { change };
                set(feed.port, k, change);
            }
            if !off {
                amps[feed.port] = amps[feed.port].meet(drawn);
            }
        }
        (0..n).for_each(|k| a[k * n + k] += 1.0);
        let middle: Vec<f64> = amps.iter().map(|a| a.middle()).collect();
        let middle_v: Vec<f64> = (0..n).map(|p| self.volts_at(p, &middle)).collect();
        let fed = self
            .fed
            .iter()
            .map(|feed| feed.watts(&middle) / middle_v[feed.port]);
        Some(Frame {
            fed: fed.collect(),
            inverse: dense::inverse(a, n)?,
            amps,
            volts,
            middle,
            middle_v,
            spread,
        })
    }

    /// What a load may draw over a range of volts, and the slopes of that; `None` where it may
    /// have no volts.
    fn drawn_over(&self, port: usize, at: Span, sets: &Sets, off: bool) -> Option<(Span, Span)> {
        let mut over: Option<(Span, Span)> = None;
        for law in self.chosen(port, sets).chain(off.then_some(Law::Off)) {
            if draws(law) && at.low <= 0.0 {
                return None;
            }
            let (low, high) = (drawn(law, at.low), drawn(law, at.high));
            let (amps, slope) = (Span::of(low.0, high.0), Span::of(low.1, high.1));
            over = Some(over.map_or((amps, slope), |o| (o.0.hull(amps), o.1.hull(slope))));
        }
        over
    }

    /// What a feed may draw over a box, and its change for an ampere at each port; `None` where
    /// its device may have no volts.
    fn fed_over(&self, feed: &Fed, at: Span, amps: &[Span]) -> Option<(Span, Vec<Span>)> {
        if at.low <= 0.0 {
            return None;
        }
        let n = self.len();
        let (v, i) = (range(&feed.volts, amps), range(&feed.amps, amps));
        let over = at.inverse();
        let drawn = v.times(i).scaled(feed.gain).times(over);
        let falls = drawn.times(over);
        let change = |k: usize| {
            let more = i.scaled(feed.volts.by[k]).plus(v.scaled(feed.amps.by[k]));
            let more = more.scaled(feed.gain).times(over);
            more.plus(falls.scaled(self.z[feed.port * n + k]))
        };
        Some((drawn, (0..n).map(change).collect()))
    }

    /// Amps that a port would draw at the middle of a box.
    fn at_middle(&self, frame: &Frame, port: usize, sets: &Sets, off: bool) -> Span {
        if let Some(feed) = port.checked_sub(self.devices.len()) {
            let now = frame.fed[feed];
            let span = Span::of(now, now);
            return if off { span.hull(Span::ZERO) } else { span };
        }
        let none = off.then_some(Law::Off);
        let all = self
            .chosen(port, sets)
            .chain(none)
            .map(|law| drawn(law, frame.middle_v[port]).0);
        all.fold(Span::NONE, |span, a| span.hull(Span::of(a, a)))
    }

    /// Krawczyk's operator on the box of a frame, cut with that box unless `off`.
    pub(super) fn image(&self, frame: &Frame, sets: &Sets, off: bool) -> Vec<Span> {
        let n = self.len();
        let radius: Vec<f64> = (0..n)
            .map(|p| frame.amps[p].high.max(frame.middle[p]) - frame.middle[p])
            .collect();
        let drawn: Vec<Span> = (0..n)
            .map(|p| self.at_middle(frame, p, sets, off))
            .collect();
        let rest: Vec<f64> = (0..n)
            .map(|j| {
                let spread = &frame.spread[j * n..(j + 1) * n];
                drawn[j].radius() + spread.iter().zip(&radius).map(|(s, r)| s * r).sum::<f64>()
            })
            .collect();
        (0..n)
            .map(|j| {
                let row = &frame.inverse[j * n..(j + 1) * n];
                let (mut middle, mut around) = (frame.middle[j], 0.0);
                for k in 0..n {
                    middle += row[k] * (drawn[k].middle() - frame.middle[k]);
                    around += row[k].abs() * rest[k];
                }
                let span = Span {
                    low: middle - around,
                    high: middle + around,
                };
                if off { span } else { span.meet(frame.amps[j]) }
            })
            .collect()
    }

    /// The most that a row can be over a box.
    pub(super) fn most(&self, frame: &Frame, sets: &Sets, row: &Row) -> f64 {
        let n = self.len();
        let plain = range(row, &frame.amps).high;
        let mut sum = row.at(&frame.middle);
        for k in 0..n {
            let push: f64 = (0..n).map(|j| row.by[j] * frame.inverse[j * n + k]).sum();
            let drawn = self.at_middle(frame, k, sets, false);
            let there = (push * drawn.low).max(push * drawn.high);
            let spread = &frame.spread[k * n..(k + 1) * n];
            let around: f64 = spread
                .iter()
                .zip(&frame.amps)
                .map(|(s, a)| s * a.radius())
                .sum();
            sum += there - push * frame.middle[k] + push.abs() * around;
        }
        plain.min(sum)
    }

    /// By port, what an ampere more there does to a row, all the rest following.
    ///
    /// The derivatives lie within A +- S everywhere on the box, so the push is c (A + E)⁻¹ with
    /// |E| <= S: c A⁻¹ but for the sum of |c A⁻¹| (S |A⁻¹|)ᵏ from k = 1.
    pub(super) fn pushes(&self, frame: &Frame, row: &Row) -> Vec<Push> {
        let n = self.len();
        let by: Vec<f64> = (0..n)
            .map(|k| (0..n).map(|j| row.by[j] * frame.inverse[j * n + k]).sum())
            .collect();
        let step = |of: &[f64]| -> Vec<f64> {
            let spread: Vec<f64> = (0..n)
                .map(|k| (0..n).map(|j| of[j] * frame.spread[j * n + k]).sum())
                .collect();
            (0..n)
                .map(|k| {
                    (0..n)
                        .map(|j| spread[j] * frame.inverse[j * n + k].abs())
                        .sum()
                })
                .collect()
        };
        let mut term: Vec<f64> = by.iter().map(|b: &f64| b.abs()).collect();
        let mut error = vec![0.0; n];
        for _ in 0..MOST_TERMS {
            let before = std::mem::take(&mut term);
            term = step(&before);
            error.iter_mut().zip(&term).for_each(|(e, t)| *e += t);
            // All further terms shrink by this at least, because nothing in the sum is negative.
            let shrinks = term.iter().zip(&before).fold(0.0_f64, |most, (t, b)| {
                if *t > 0.0 { most.max(t / b) } else { most }
            });
            if shrinks < SHRINKS {
                let rest = shrinks / (1.0 - shrinks);
                error
                    .iter_mut()
                    .zip(&term)
                    .for_each(|(e, t)| *e += t * rest);
                return by
                    .into_iter()
                    .zip(error)
                    .map(|(by, error)| Push { by, error })
                    .collect();
            }
        }
        by.into_iter()
            .map(|by| Push {
                by,
                error: f64::INFINITY,
            })
            .collect()
    }
}
