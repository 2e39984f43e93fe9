//! How a discharge goes: a kernel of plain numbers over how amps and volts follow the charge.

use crate::site::Battery;
use crate::units::Measure;

/// Largest step of the discharge, as a part of the capacity.
const STEP: f64 = 0.01;
/// A stretch is halved where its curve differs from a straight line by more than this part of it:
/// the curve's own error is then less than a thousandth of that where it is smooth, and less than
/// a third towards a collapse.
const STRAIGHT: f64 = 1e-4;
/// Most halvings of one stretch.
const HALVINGS: u32 = 24;
/// Halvings by which the end is found: to 2 % / 2^36 of the capacity.
const BISECTIONS: u32 = 36;

/// What ends a discharge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EndsBy {
    /// All that may be drawn is drawn.
    Charge,
    /// The terminals came down to the disconnect volts.
    Disconnect,
    /// The network lost its operating point.
    Collapse,
}

impl EndsBy {
    /// Returns the word by which reports name it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Charge => "charge",
            Self::Disconnect => "disconnect",
            Self::Collapse => "collapse",
        }
    }
}

/// What the supply gives at some state of charge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Amperes out of its positive terminal.
    pub amps_a: f64,
    /// Volts at its terminals.
    pub volts_v: f64,
}

/// A discharge from full to its end.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Course {
    /// How long it lasts; `None` where nothing is drawn.
    pub hours: Option<f64>,
    /// What has left the battery.
    pub amp_hours: Option<f64>,
    /// Amperes at its start.
    pub first_a: Option<f64>,
    /// Amperes at its end.
    pub last_a: Option<f64>,
    /// Volts at its end; where it never ends, those when all that may be drawn were drawn.
    pub end_v: Option<f64>,
    /// Part of the capacity drawn at its end.
    pub q: f64,
    /// What ends it.
    pub ends_by: Option<EndsBy>,
}

/// Hours and ampere-hours that a part of the capacity takes, per part.
type Pace = [f64; 2];

impl Course {
    /// Goes down from full, with `at` telling what the supply gives after a part of the capacity.
    ///
    /// As amps follow from the part q that is drawn alone, time is the plain integral of
    /// dq / (dq/dt), with dq/dt = (1/H) (I H / C)^k where I is over C/H, else I / C.
    ///
    /// # Source
    /// Peukert's law about the stated rate H and capacity C; Simpson's rule.
    pub fn run(battery: &Battery, mut at: impl FnMut(f64) -> Option<Point>) -> Self {
        let law = Law::of(battery);
        let disconnect_v = battery.disconnect.map_or(f64::NEG_INFINITY, Measure::base);
        let usable = battery.usable.base();
        let mut course = Self::default();
        let Some(first) = at(0.0) else {
            return course.ended(0.0, None, EndsBy::Collapse);
        };
        course.first_a = Some(first.amps_a);
        course.hours = Some(0.0);
        course.amp_hours = Some(0.0);
        if first.volts_v <= disconnect_v {
            return course.ended(0.0, Some(first), EndsBy::Disconnect);
        }
        // Two steps are one stretch of Simpson's rule.
        let enough = |n: &u32| f64::from(*n) * 2.0 * STEP >= usable - 1e-12;
        let stretches = (1..=50).find(enough).unwrap_or(50);
        let alive = |p: Option<Point>| p.filter(|p| p.volts_v > disconnect_v);
        let (mut q, mut here) = (0.0, first);
        for k in 1..=stretches {
            let next = usable * f64::from(k) / f64::from(stretches);
            if let Some(there) = alive(at(next)) {
                course.add(law.stretch((q, here), (next, there), &mut at));
                if course.hours.is_none() {
                    return course.ended(usable, at(usable), EndsBy::Charge);
                }
                (q, here) = (next, there);
                continue;
            }
            let (mut low, mut high) = (q, next);
            let mut last = here;
            for _ in 0..BISECTIONS {
                let middle = 0.5 * (low + high);
                match alive(at(middle)) {
                    Some(point) => (low, last) = (middle, point),
                    None => high = middle,
                }
            }
            let ends_by = match at(high) {
                Some(_) => EndsBy::Disconnect,
                None => EndsBy::Collapse,
            };
            course.add(law.stretch((q, here), (low, last), &mut at));
            return course.ended(low, Some(last), ends_by);
        }
        course.ended(q, Some(here), EndsBy::Charge)
    }

    fn add(&mut self, pace: Option<Pace>) {
        let both = self.hours.zip(self.amp_hours).zip(pace);
        self.hours = both.map(|((hours, _), [more, _])| hours + more);
        self.amp_hours = both.map(|((_, ah), [_, more])| ah + more);
    }

    fn ended(mut self, q: f64, point: Option<Point>, by: EndsBy) -> Self {
        self.q = q;
        self.end_v = point.map(|p| p.volts_v);
        // Without an operating point from the start there is no time, and that is zero.
        if self.first_a.is_none() {
            (self.hours, self.amp_hours) = (Some(0.0), Some(0.0));
        }
        if self.hours.is_some() {
            self.last_a = point.map(|p| p.amps_a);
            self.ends_by = Some(by);
        }
        self
    }
}

/// How fast the capacity goes.
struct Law {
    capacity_ah: f64,
    rate_h: f64,
    exponent: f64,
}

impl Law {
    fn of(battery: &Battery) -> Self {
        Self {
            capacity_ah: battery.left().base() / 3600.0,
            rate_h: battery.rate.base() / 3600.0,
            exponent: battery.peukert,
        }
    }

    /// Hours and ampere-hours by part of the capacity, at some amps; none where nothing flows out.
    fn pace(&self, point: Point) -> Option<Pace> {
        let to_rate = point.amps_a * self.rate_h / self.capacity_ah;
        let hours = if to_rate > 1.0 {
            self.rate_h / to_rate.powf(self.exponent)
        } else {
            self.capacity_ah / point.amps_a
        };
        (point.amps_a > 0.0 && hours.is_finite()).then_some([hours, hours * point.amps_a])
    }

    /// Hours and ampere-hours from one part drawn to another.
    fn stretch(
        &self,
        (from, first): (f64, Point),
        (to, last): (f64, Point),
        at: &mut impl FnMut(f64) -> Option<Point>,
    ) -> Option<Pace> {
        let mut whole = [0.0; 2];
        let mut scale = None;
        let mut waiting = vec![((from, self.pace(first)?), (to, self.pace(last)?), 0)];
        while let Some(((a, at_a), (b, at_b), depth)) = waiting.pop() {
            let middle = 0.5 * (a + b);
            let at_middle = self.pace(at(middle)?)?;
            let width = b - a;
            let by = |i: usize| {
                let straight = width * 0.5 * (at_a[i] + at_b[i]);
                let curved = width * (at_a[i] + 4.0 * at_middle[i] + at_b[i]) / 6.0;
                (straight, curved)
            };
            let (straight, curved) = by(0);
            let bound = STRAIGHT * *scale.get_or_insert(curved);
            if (straight - curved).abs() > bound && depth < HALVINGS {
                waiting.push(((a, at_a), (middle, at_middle), depth + 1));
                waiting.push(((middle, at_middle), (b, at_b), depth + 1));
            } else {
                whole[0] += curved;
                whole[1] += by(1).1;
            }
        }
        Some(whole)
    }
}
