//! What a rectifier makes of a sine: dc volts, their ripple, and amps in short pulses.
//!
//! A sine behind R and L, diodes that lose a fixed number of volts, a reservoir C and a constant
//! power P behind it:
//!
//! L di/dt = e - R i - d - v while i > 0, and C dv/dt = i - P / v.
//!
//! The periodic state is that from whose volts at the start of a pulse one period leads back to
//! the same volts. As with any constant power there are two; the one at the higher volts is meant.

use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};

/// Steps in one cycle of the sine: half a degree each.
const STEPS: f64 = 720.0;
/// Parts of the peak in which the volts are searched for, from the top down.
const RUNGS: u32 = 64;
/// Width of the volts at the start of a pulse, as a part of the peak, at which the search ends.
const WIDTH: f64 = 1e-10;
const MOST_TRIES: usize = 60;
/// Of the L-stable Runge-Kutta method of two stages and second order.
const GAMMA: f64 = 1.0 - FRAC_1_SQRT_2;

/// A rectifier between a sine and a dc draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulse {
    /// Rms volts of the sine.
    pub open_v: f64,
    /// Frequency of the sine.
    pub hertz: f64,
    /// Resistance behind the sine.
    pub ohm: f64,
    /// Inductance behind the sine.
    pub henry: f64,
    /// Volts lost in all the diodes that the current passes.
    pub lost_v: f64,
    /// A pulse in each half of the sine, not in one.
    pub both_halves: bool,
    /// The reservoir; `f64::INFINITY` does not ripple.
    pub farad: f64,
    /// Power drawn from the reservoir.
    pub watts: f64,
}

/// The periodic state behind a rectifier.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulsed {
    /// Mean dc volts.
    pub mean_v: f64,
    /// Least dc volts.
    pub least_v: f64,
    /// Most dc volts.
    pub most_v: f64,
    /// Mean amps of the dc side.
    pub dc_a: f64,
    /// Rms amps of the ac side.
    pub rms_a: f64,
    /// Largest amps of the ac side.
    pub peak_a: f64,
}

/// One period, from the start of a pulse to the start of the next.
#[derive(Clone, Copy, Debug, Default)]
struct Period {
    /// Volts at its end.
    end_v: f64,
    least_v: f64,
    most_v: f64,
    peak_a: f64,
    /// Integrals over the period.
    volt_seconds: f64,
    coulombs: f64,
    square: f64,
}

impl Pulse {
    /// Dc volts with nothing drawn: the peak less the diodes.
    pub fn light_v(&self) -> f64 {
        (SQRT_2 * self.open_v - self.lost_v).max(0.0)
    }

    /// The periodic state; nothing where the power cannot be drawn.
    pub fn steady(&self) -> Option<Pulsed> {
        let top = self.light_v();
        if top <= 0.0 {
            return None;
        }
        if self.watts <= 0.0 {
            return Some(Pulsed {
                mean_v: top,
                least_v: top,
                most_v: top,
                dc_a: 0.0,
                rms_a: 0.0,
                peak_a: 0.0,
            });
        }
        let start = self.start(top)?;
        let period = self.period(start)?;
        let seconds = self.seconds();
        // In half a wave only every other half of the sine has a pulse.
        Some(Pulsed {
            mean_v: period.volt_seconds / seconds,
            least_v: period.least_v,
            most_v: period.most_v,
            dc_a: period.coulombs / seconds,
            rms_a: (period.square / seconds).sqrt(),
            peak_a: period.peak_a,
        })
    }

    fn seconds(&self) -> f64 {
        let pulses = if self.both_halves { 2.0 } else { 1.0 };
        (self.hertz * pulses).recip()
    }

    /// Volts at the start of a pulse in the periodic state.
    fn start(&self, top: f64) -> Option<f64> {
        let gain = |start: f64| self.gain(start).unwrap_or(-top);
        let rung = |k: u32| top * (1.0 - f64::from(k) / f64::from(RUNGS));
        let first = (1..RUNGS).find(|k| gain(rung(*k)) >= 0.0)?;
        let (mut low, mut high) = (rung(first), rung(first - 1).min(top * (1.0 - 1e-9)));
        let (mut at_low, mut at_high) = (gain(low), gain(high));
        // False position, with the value at an end that stays put halved (Illinois).
        for _ in 0..MOST_TRIES {
            if high - low <= WIDTH * top {
                break;
            }
            let middle = low + (high - low) * at_low / (at_low - at_high);
            let middle = if middle > low && middle < high {
                middle
            } else {
                f64::midpoint(low, high)
            };
            let here = gain(middle);
            if here >= 0.0 {
                (low, at_low) = (middle, here);
                at_high /= 2.0;
            } else {
                (high, at_high) = (middle, here);
                at_low /= 2.0;
            }
            if here.abs() <= WIDTH * top {
                return Some(middle);
            }
        }
        Some(low)
    }

    /// What a period gains: volts of the reservoir; of one that does not ripple, watts over watts.
    fn gain(&self, start: f64) -> Option<f64> {
        let period = self.period(start)?;
        Some(if self.farad.is_finite() {
            period.end_v - start
        } else {
            start * (period.coulombs / self.seconds() * start / self.watts - 1.0)
        })
    }

    /// Follows one period; nothing if the reservoir runs empty.
    fn period(&self, start: f64) -> Option<Period> {
        let omega = 2.0 * PI * self.hertz;
        let peak = SQRT_2 * self.open_v;
        let begin = ((start + self.lost_v) / peak).min(1.0).asin() / omega;
        let step = (self.hertz * STEPS).recip();
        let mut period = Period {
            least_v: start,
            most_v: start,
            ..Period::default()
        };
        let (mut time, mut amps, mut volts) = (begin, 0.0, start);
        let end = begin + self.seconds();
        while time < end {
            let (mut next_a, mut next_v) = self.step((amps, volts), (time, step), peak, omega);
            let mut took = step;
            let ends = next_a <= 0.0;
            if ends {
                let part = if amps > next_a {
                    amps / (amps - next_a)
                } else {
                    1.0
                };
                (took, next_a) = (step * part, 0.0);
                next_v = volts + (next_v - volts) * part;
            }
            period.volt_seconds += took * f64::midpoint(volts, next_v);
            period.coulombs += took * f64::midpoint(amps, next_a);
            period.square += took * (amps * amps + amps * next_a + next_a * next_a) / 3.0;
            (time, amps, volts) = (time + took, next_a, next_v);
            period.least_v = period.least_v.min(volts);
            period.most_v = period.most_v.max(volts);
            period.peak_a = period.peak_a.max(amps);
            if !volts.is_finite() || volts <= 0.0 {
                return None;
            }
            if ends {
                break;
            }
        }
        self.rest(period, (time, volts), (begin, peak, omega))
    }

    /// One step of the pulse: both stages implicit, each a Newton iteration for the volts.
    fn step(
        &self,
        (amps, volts): (f64, f64),
        (time, step): (f64, f64),
        peak: f64,
        omega: f64,
    ) -> (f64, f64) {
        let (inertia, charge) = (self.henry / (GAMMA * step), GAMMA * step / self.farad);
        let impedance = (inertia + self.ohm).max(f64::MIN_POSITIVE);
        let stage = |base: (f64, f64), at: f64| {
            let drive = peak * (omega * at).sin() - self.lost_v + inertia * base.0;
            let mut v = base.1;
            for _ in 0..4 {
                let off = v - base.1 - charge * ((drive - v) / impedance - self.watts / v);
                let slope = 1.0 + charge * (impedance.recip() - self.watts / (v * v));
                v -= off / slope;
            }
            ((drive - v) / impedance, v)
        };
        let first = stage((amps, volts), time + GAMMA * step);
        let on = (1.0 - GAMMA) / GAMMA;
        let between = (amps + on * (first.0 - amps), volts + on * (first.1 - volts));
        stage(between, time + step)
    }

    /// From the end of a pulse to the start of the next: the reservoir alone gives the power,
    /// v² = v₀² - 2 P t / C.
    fn rest(
        &self,
        mut period: Period,
        (time, volts): (f64, f64),
        (begin, peak, omega): (f64, f64, f64),
    ) -> Option<Period> {
        let fall = 2.0 * self.watts / self.farad;
        let left = |at: f64| (volts * volts - fall * (at - time)).max(0.0).sqrt();
        let offer = |at: f64| peak * (omega * (at - self.seconds())).sin() - self.lost_v;
        let crest = self.seconds() + PI / (2.0 * omega);
        let (mut low, mut high) = (time.max(self.seconds()), crest.max(time));
        if self.farad.is_finite() && offer(high) < left(high) {
            return None;
        }
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if offer(middle) < left(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        let next = if self.farad.is_finite() {
            high
        } else {
            begin + self.seconds()
        };
        period.end_v = left(next);
        if period.end_v <= 0.0 {
            return None;
        }
        period.volt_seconds += if fall > 0.0 {
            2.0 / (3.0 * fall) * (volts.powi(3) - period.end_v.powi(3))
        } else {
            volts * (next - time)
        };
        period.least_v = period.least_v.min(period.end_v);
        // In the periodic state the next pulse begins as this one did.
        Some(period)
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    /// R small, C large: the reservoir stands near the peak, and what comes in goes out.
    #[test]
    fn watts_in_are_watts_out_and_heat() {
        let pulse = Pulse {
            open_v: 26.88,
            hertz: 60.0,
            ohm: 3.356,
            henry: 0.0,
            lost_v: 1.6,
            both_halves: true,
            farad: 2200e-6,
            watts: 9.0,
        };
        let found = pulse.steady().unwrap();
        // The mean of P / v is a little over P / mean v.
        assert_relative_eq!(found.dc_a * found.mean_v, 9.0, max_relative = 2e-3);
        assert!(found.least_v < found.mean_v && found.mean_v < found.most_v);
        assert!(found.most_v < pulse.light_v());
    }

    #[test]
    fn too_much_power_has_no_steady_state() {
        let pulse = Pulse {
            open_v: 24.0,
            hertz: 60.0,
            ohm: 10.0,
            henry: 0.0,
            lost_v: 0.0,
            both_halves: true,
            farad: f64::INFINITY,
            watts: 60.0,
        };
        assert_eq!(pulse.steady(), None);
    }
}
