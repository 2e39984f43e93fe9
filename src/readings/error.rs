//! How far off a reading may be.
//!
//! A maker states the error of a meter as a share of the value and some steps of its last digit.
//! The share is the meter's own and stays with it: in a difference of two values of one meter it
//! counts on the difference alone. The steps change from reading to reading.

use crate::site::{Accuracy, Found, MeterOf, Reading, Site};
use crate::units::{Measure, Ratio};

/// A value counts as off when it is off by more than so many times what it may be.
pub const BEYOND: f64 = 2.0;

/// Whether a value is off by more than so many times what it may be, and by more than rounding.
pub fn is_beyond(off: f64, u: f64) -> bool {
    off.abs() > BEYOND * u * (1.0 + 1e-9)
}

/// A value and how far off it may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate<Q> {
    /// The value.
    pub value: Q,
    /// How far off it may be, either way.
    pub u: Q,
}

impl<Q: Measure> Estimate<Q> {
    /// From numbers in SI.
    pub(super) fn of(value: f64, u: f64) -> Self {
        Self {
            value: Q::from_base(value),
            u: Q::from_base(u),
        }
    }
}

/// The error of one reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Error {
    /// Share of the value.
    pub(super) share: f64,
    /// Its last digits, in the unit of the reading.
    pub(super) digits: f64,
    /// The meter, where it has a name.
    pub(super) meter: Option<usize>,
}

impl Error {
    /// By the meter of a reading; without one it tells its last digit and no more.
    pub(super) fn of(site: &Site, reading: &Reading) -> Self {
        let stated = stated(site, reading).unwrap_or(Accuracy {
            share: Ratio::from_base(0.0),
            digits: 1.0,
        });
        Self {
            share: stated.share.base(),
            digits: stated.digits * reading.digit,
            meter: match reading.meter {
                Some(MeterOf::Named(i)) => Some(i),
                _ => None,
            },
        }
    }

    /// Of a value, all together.
    pub(super) fn whole(&self, value: f64) -> f64 {
        self.share * value.abs() + self.digits
    }
}

/// The error that is stated for a reading, if any is.
pub(super) fn stated(site: &Site, reading: &Reading) -> Option<Accuracy> {
    match reading.meter? {
        MeterOf::Stated(accuracy) => Some(accuracy),
        MeterOf::Named(i) => {
            let meter = &site.meters[i];
            match reading.found {
                Found::Volts(_) => meter.volts,
                Found::Amps(_) => meter.amps,
                Found::Ohms(_) | Found::Insulation(_) => meter.ohms,
            }
        }
    }
}

/// A difference of two readings: its chance error, and the share of it that one meter's own error
/// is. Two meters, or meters without a name, are off each in its own way.
pub(super) fn of_difference((a, at): (f64, Error), (b, bt): (f64, Error)) -> (f64, f64) {
    if at.meter.is_some() && at.meter == bt.meter {
        (at.digits.hypot(bt.digits), at.share)
    } else {
        (at.whole(a).hypot(bt.whole(b)), 0.0)
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;

    /// 0.5 % + 2 digits of 10 mV at 27 V: 0.155 V each. Two meters: 0.22 V in a difference, which
    /// is 1.2 ohm at 0.18 A. One meter: 0.028 V, which is 0.16 ohm. (By hand.)
    #[test]
    fn one_meter_at_both_ends_cancels_its_own_error() {
        let error = |meter| Error {
            share: 0.005,
            digits: 0.02,
            meter,
        };
        assert_abs_diff_eq!(error(None).whole(-27.0), 0.155, epsilon = 1e-12);
        let (near, far) = (27.12, 26.28);
        let difference = |a, b| of_difference((near, error(a)), (far, error(b)));
        let (two, share) = difference(Some(0), Some(1));
        assert_abs_diff_eq!(two, 0.217, epsilon = 1e-3);
        assert_abs_diff_eq!(two / 0.18, 1.2, epsilon = 0.01);
        assert_abs_diff_eq!(share, 0.0);
        let (one, share) = difference(Some(0), Some(0));
        assert_abs_diff_eq!(one, 0.0283, epsilon = 1e-4);
        assert_abs_diff_eq!(one / 0.18, 0.157, epsilon = 1e-3);
        assert_abs_diff_eq!(share, 0.005);
        // Nobody knows whether two meters without a name are one.
        assert_abs_diff_eq!(difference(None, None).0, two);
    }
}
