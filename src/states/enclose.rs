//! A box for the operating points of many combinations, and the proof that each has one.

use crate::circuit::Law;
use crate::states::point::{Point, drawn};
use crate::states::ports::Ports;
use crate::states::range::{Frame, Sets};
use crate::states::span::Span;

/// How often a box is widened before it is given up, and narrowed before it is good enough.
const WIDENED: usize = 8;
const NARROWED: usize = 3;
/// A box that shrinks to no less than this part of its width is good enough.
const NARROW: f64 = 0.8;

impl Ports {
    /// A box that holds the operating point of every combination of the choices, if it can be
    /// shown that each has one.
    pub(super) fn enclose(&self, sets: &Sets) -> Option<Vec<Span>> {
        if self.is_monotone() {
            self.between(sets)
        } else {
            self.verified(sets)
        }
    }

    /// The box between the points at which most and least is drawn, where more drawn anywhere is
    /// less volts everywhere.
    ///
    /// If there is a point with the most drawn of all choices, its volts are below what any
    /// combination needs, and those without load are above; between the two each combination has
    /// its greatest root, which is the right one. What is fed comes first: the power that it takes
    /// is then between that of both points, too.
    fn between(&self, sets: &Sets) -> Option<Vec<Span>> {
        let Point::At(most) = self.point_of_most(sets) else {
            return None;
        };
        let floor: Vec<f64> = (0..self.len()).map(|p| self.volts_at(p, &most)).collect();
        let weakest = |port: usize| {
            let ends = [floor[port], self.open_v[port]];
            let below = |a: Law, b: Law| ends.iter().all(|v| drawn(a, *v).0 <= drawn(b, *v).0);
            let least = self
                .chosen(port, sets)
                .find(|a| self.chosen(port, sets).all(|b| below(*a, b)));
            least.unwrap_or(Law::Off)
        };
        let least: Vec<Law> = (0..self.len()).map(weakest).collect();
        let Point::At(least) = self.point(&least) else {
            return None;
        };
        let small = 1e-12;
        let span = |port: usize| {
            let (low, high) = (
                floor[port] * (1.0 - small),
                self.volts_at(port, &least) * (1.0 + small),
            );
            if let Some(feed) = port.checked_sub(self.devices.len()) {
                let watts = |amps: &[f64]| self.fed[feed].watts(amps);
                return Span::of(watts(&least) / high, watts(&most) / low);
            }
            let ends = self
                .chosen(port, sets)
                .flat_map(|law| [drawn(law, low).0, drawn(law, high).0]);
            ends.fold(Span::NONE, |span, a| span.hull(Span::of(a, a)))
        };
        Some((0..self.len()).map(span).collect())
    }

    /// A box that Krawczyk's operator sends into its own inside.
    fn verified(&self, sets: &Sets) -> Option<Vec<Span>> {
        let strongest: Vec<Law> = (0..self.len()).map(|p| self.strongest(p, sets)).collect();
        let nothing = vec![Law::Off; self.len()];
        let (Point::At(most), Point::At(least)) = (self.point(&strongest), self.point(&nothing))
        else {
            return None;
        };
        let small = 1e-9 * most.iter().fold(1e-3_f64, |m, a| a.abs().max(m));
        let mut amps: Vec<Span> = most
            .iter()
            .zip(&least)
            .map(|(a, b)| Span::of(*a, *b).widened(0.1, small))
            .collect();
        for _ in 0..WIDENED {
            let frame = self.frame(amps.clone(), sets, true)?;
            let image = self.image(&frame, sets, true);
            if image.iter().zip(&amps).all(|(new, old)| new.inside(*old)) {
                return Some(image);
            }
            for (old, new) in amps.iter_mut().zip(&image) {
                *old = old.hull(*new).widened(0.05, small);
            }
        }
        None
    }

    /// Narrows a box that holds the operating points of all combinations.
    pub(super) fn narrow(&self, mut amps: Vec<Span>, sets: &Sets) -> Option<Frame> {
        let width = |amps: &[Span]| amps.iter().map(|a| a.radius()).sum::<f64>();
        let mut last = width(&amps);
        let mut frame = self.frame(amps, sets, false)?;
        for _ in 0..NARROWED {
            amps = self.image(&frame, sets, false);
            frame = self.frame(amps, sets, false)?;
            let now = width(&frame.amps);
            if now >= NARROW * last {
                break;
            }
            last = now;
        }
        Some(frame)
    }

    /// The choice that draws most with no other load, as a law.
    fn strongest(&self, port: usize, sets: &Sets) -> Law {
        let at = self.open_v[port];
        let laws = self.laws[port]
            .iter()
            .enumerate()
            .filter(|(c, _)| sets[port] >> c & 1 == 1);
        let most = laws.max_by(|a, b| drawn(*a.1, at).0.total_cmp(&drawn(*b.1, at).0));
        most.map_or(Law::Off, |(_, law)| *law)
    }
}
