//! What lies between two rows, and how its current follows its volts.

use crate::circuit::{Law, Source};

/// Ohms of an ideal source that closes a loop of ideal sources.
const LOOP_OHM: f64 = 1e-6;

/// A branch or source: g (v - e) - h from its first end to its second.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wire {
    /// Rows of the ends.
    pub(super) rows: (u32, u32),
    /// 0 where it is open.
    pub(super) siemens: f64,
    /// The source's volts, less those that the ends have over their rows.
    pub(super) emf_v: f64,
    /// Amperes from its second end to its first whatever the volts.
    pub(super) held_a: f64,
}

/// A load or feeding device.
#[derive(Clone, Copy, Debug)]
pub(super) struct Draw {
    /// Rows of the ends.
    pub(super) rows: (u32, u32),
    /// Matrix entry of the two rows.
    pub(super) slot: u32,
    /// Volts to add to the difference of the rows' potentials.
    pub(super) shift_v: f64,
    pub(super) flow: Flow,
}

/// How a draw's current, from its first end to its second, follows its volts v.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Flow {
    /// None.
    Open,
    /// These siemens times v.
    Linear(f64),
    /// A constant, times the demand on loads.
    Current(f64),
    /// A constant power over v, times the demand on loads.
    Power(f64),
    /// The power of this feed, an unknown, over v.
    Feed(usize),
}

/// Potentials of the rows, one more that stays 0, and powers of the feeds.
#[derive(Clone, Debug)]
pub(super) struct State {
    pub(super) x: Vec<f64>,
    pub(super) p: Vec<f64>,
}

/// Factors on what is drawn: on all Current and Power loads, and on all feeds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Demand {
    pub(super) loads: f64,
    pub(super) feeds: f64,
}

impl Demand {
    /// What the circuit says.
    pub(super) const FULL: Self = Self {
        loads: 1.0,
        feeds: 1.0,
    };
}

/// Returns the difference of two rows' potentials.
pub(super) fn between(rows: (u32, u32), x: &[f64]) -> f64 {
    x[rows.0 as usize] - x[rows.1 as usize]
}

impl Wire {
    /// Returns the current, for the potentials of the rows.
    pub(super) fn current(&self, x: &[f64]) -> f64 {
        self.siemens * (between(self.rows, x) - self.emf_v) - self.held_a
    }
}

impl Draw {
    /// Returns the volts across, for the potentials of the rows.
    pub(super) fn volts(&self, x: &[f64]) -> f64 {
        between(self.rows, x) + self.shift_v
    }

    /// Returns the current and its derivative by volts.
    pub(super) fn current(&self, state: &State, demand: Demand) -> (f64, f64) {
        match self.flow {
            Flow::Open => (0.0, 0.0),
            Flow::Linear(siemens) => (siemens * self.volts(&state.x), siemens),
            Flow::Current(amps) => (amps * demand.loads, 0.0),
            Flow::Power(watts) => over(watts * demand.loads, self.volts(&state.x)),
            Flow::Feed(feed) => over(state.p[feed], self.volts(&state.x)),
        }
    }

    /// Returns whether it draws power under a demand.
    pub(super) fn draws_power(&self, demand: Demand) -> bool {
        match self.flow {
            Flow::Power(watts) => watts * demand.loads != 0.0,
            Flow::Feed(_) => true,
            _ => false,
        }
    }
}

impl Flow {
    /// Returns how a load draws, with its current or power multiplied.
    pub(super) fn of(law: Law, factor: f64) -> Self {
        match law {
            Law::Off => Self::Open,
            Law::Current(amps) => Self::Current(amps * factor),
            Law::Power(watts) => Self::Power(watts * factor),
            Law::Resistance(ohm) => match conductance(ohm) {
                siemens if siemens > 0.0 => Self::Linear(siemens),
                _ => Self::Open,
            },
        }
    }

    /// Returns the siemens that join its ends whatever the volts.
    pub(super) fn siemens(self) -> f64 {
        match self {
            Self::Linear(siemens) => siemens,
            _ => 0.0,
        }
    }
}

fn over(watts: f64, volts: f64) -> (f64, f64) {
    // What draws nothing may stand at no volts.
    if watts == 0.0 {
        return (0.0, 0.0);
    }
    let amps = watts / volts;
    (amps, -amps / volts)
}

/// Returns the siemens of a resistance; 0 if it is open.
pub(super) fn conductance(ohm: f64) -> f64 {
    if ohm.is_finite() { ohm.recip() } else { 0.0 }
}

/// Returns the siemens of a source that holds no group together; 0 if it is dead, under 0 where it
/// folds back.
pub(super) fn source_conductance(source: &Source) -> f64 {
    if !source.live {
        return 0.0;
    }
    if let Some(held) = source.held {
        return -held.siemens;
    }
    conductance(if source.resistance_ohm > 0.0 {
        source.resistance_ohm
    } else {
        LOOP_OHM
    })
}
