//! Intervals, and the range of a sum over them.

use crate::states::ports::Row;

/// An interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Span {
    pub(super) low: f64,
    pub(super) high: f64,
}

impl Span {
    /// What no number lies in.
    pub(super) const NONE: Self = Self {
        low: f64::INFINITY,
        high: f64::NEG_INFINITY,
    };
    pub(super) const ZERO: Self = Self {
        low: 0.0,
        high: 0.0,
    };

    /// Between two numbers, whichever is less.
    pub(super) fn of(a: f64, b: f64) -> Self {
        Self {
            low: a.min(b),
            high: a.max(b),
        }
    }

    pub(super) fn plus(self, other: Self) -> Self {
        Self {
            low: self.low + other.low,
            high: self.high + other.high,
        }
    }

    pub(super) fn hull(self, other: Self) -> Self {
        Self {
            low: self.low.min(other.low),
            high: self.high.max(other.high),
        }
    }

    pub(super) fn meet(self, other: Self) -> Self {
        let (low, high) = (self.low.max(other.low), self.high.min(other.high));
        // Rounding may part two bounds of one number.
        if low <= high {
            Self { low, high }
        } else {
            let middle = f64::midpoint(low, high);
            Self {
                low: middle,
                high: middle,
            }
        }
    }

    pub(super) fn middle(self) -> f64 {
        f64::midpoint(self.low, self.high)
    }

    pub(super) fn radius(self) -> f64 {
        (self.high - self.low) / 2.0
    }

    pub(super) fn times(self, other: Self) -> Self {
        let all = [
            self.low * other.low,
            self.low * other.high,
            self.high * other.low,
            self.high * other.high,
        ];
        Self {
            low: all.into_iter().fold(f64::INFINITY, f64::min),
            high: all.into_iter().fold(f64::NEG_INFINITY, f64::max),
        }
    }

    pub(super) fn scaled(self, factor: f64) -> Self {
        self.times(Self {
            low: factor,
            high: factor,
        })
    }

    /// One over it; of volts over 0.
    pub(super) fn inverse(self) -> Self {
        Self {
            low: self.high.recip(),
            high: self.low.recip(),
        }
    }

    pub(super) fn widened(self, part: f64, by: f64) -> Self {
        let by = self.radius() * part + by;
        Self {
            low: self.low - by,
            high: self.high + by,
        }
    }

    pub(super) fn inside(self, other: Self) -> bool {
        self.low > other.low && self.high < other.high
    }
}

/// The range of a row over a box of currents.
pub(super) fn range(row: &Row, amps: &[Span]) -> Span {
    let mut sum = Span {
        low: row.base,
        high: row.base,
    };
    for (by, amps) in row.by.iter().zip(amps) {
        let (a, b) = (by * amps.low, by * amps.high);
        sum.low += a.min(b);
        sum.high += a.max(b);
    }
    sum
}
