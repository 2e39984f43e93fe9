//! Volts of a supervised loop in each of its states: a divider, with every resistor at the ends of
//! its spread, more or less cable, dry or wet.
//!
//! Numbers are raw SI: this is a kernel.

use crate::site::{LoopLayout, LoopState};

/// A supervised loop in numbers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Divider {
    pub(super) voltage_v: f64,
    pub(super) pull_up_ohm: f64,
    pub(super) end_ohm: f64,
    /// 0 where there is none.
    pub(super) trip_ohm: f64,
    pub(super) has_trip: bool,
    pub(super) layout: LoopLayout,
    pub(super) contact_ohm: f64,
    /// Both conductors of the cable.
    pub(super) cable_ohm: f64,
    pub(super) tolerance: f64,
    /// Across the cable when it is wet; infinite when it never is.
    pub(super) leakage_ohm: f64,
}

/// Least and most volts of a state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Range {
    pub(super) low_v: f64,
    pub(super) high_v: f64,
}

/// Two resistances side by side.
fn beside(a: f64, b: f64) -> f64 {
    match (a.is_infinite(), b.is_infinite()) {
        (true, _) => b,
        (_, true) => a,
        _ if a + b == 0.0 => 0.0,
        _ => a * b / (a + b),
    }
}

impl Divider {
    /// Ohms of a loop in a state, with end and trip times a factor, without cable and leakage.
    fn ohms(&self, state: LoopState, factor: f64, contact: f64) -> f64 {
        let (end, trip) = (self.end_ohm * factor, self.trip_ohm * factor);
        match (state, self.layout) {
            (LoopState::Short, _) => 0.0,
            (LoopState::Open, _) => f64::INFINITY,
            (LoopState::Normal, LoopLayout::Series) => end + contact,
            (LoopState::Active, LoopLayout::Series) if self.has_trip => end + trip,
            (LoopState::Active, LoopLayout::Series) => f64::INFINITY,
            (LoopState::Normal, LoopLayout::Parallel) => end,
            (LoopState::Active, LoopLayout::Parallel) => beside(end, trip + contact),
        }
    }

    fn volts(&self, loop_ohm: f64, pull_up: f64) -> f64 {
        if loop_ohm.is_infinite() {
            return self.voltage_v;
        }
        self.voltage_v * loop_ohm / (pull_up + loop_ohm)
    }

    /// Volts of a state: least with resistors low, no cable, all the leakage and the pull-up high;
    /// most the other way round, with all the cable and no leakage.
    pub(super) fn range(&self, state: LoopState) -> Range {
        let t = self.tolerance;
        let least = beside(self.ohms(state, 1.0 - t, 0.0), self.leakage_ohm);
        let most = self.ohms(state, 1.0 + t, self.contact_ohm) + self.cable_ohm;
        Range {
            low_v: self.volts(least, self.pull_up_ohm * (1.0 + t)),
            high_v: self.volts(most, self.pull_up_ohm * (1.0 - t)),
        }
    }

    /// The leakage at which nominal resistors pull a state down to some volts; `None` where they
    /// lie under them in the dry, infinite where they only just do not.
    pub(super) fn leakage_to(&self, state: LoopState, volts: f64) -> Option<f64> {
        let dry = self.ohms(state, 1.0, 0.0);
        if volts >= self.voltage_v || self.volts(dry, self.pull_up_ohm) < volts {
            return None;
        }
        let wanted = self.pull_up_ohm * volts / (self.voltage_v - volts);
        if dry.is_infinite() {
            return Some(wanted);
        }
        Some(if dry > wanted {
            dry * wanted / (dry - wanted)
        } else {
            f64::INFINITY
        })
    }
}
