//! What lies between two rows, and how its current follows its volts.

use crate::circuit::{Law, Source};

/// Ohms of an ideal source that closes a loop of ideal sources.
const LOOP_OHM: f64 = 1e-6;

/// How an element's current, from its first end to its second, follows its volts v.
#[derive(Clone, Copy, Debug)]
pub(super) enum Flow {
    /// None.
    Open,
    /// g (v - e).
    Linear { siemens: f64, emf_v: f64 },
    /// A constant, times the demand on loads.
    Current(f64),
    /// A constant power over v, times the demand on loads.
    Power(f64),
    /// The power of this feed, an unknown, over v.
    Feed(usize),
}

/// A branch, source, load or feeding device.
#[derive(Clone, Copy, Debug)]
pub(super) struct Element {
    /// Rows of the ends.
    pub(super) rows: (u32, u32),
    /// Nodes of the ends.
    pub(super) nodes: (u32, u32),
    /// Volts to add to the difference of the rows' potentials.
    pub(super) shift_v: f64,
    pub(super) flow: Flow,
}

/// Potentials of the rows and powers of the feeds.
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

impl Element {
    /// Returns the volts across, for the potentials of the rows.
    pub(super) fn volts(&self, x: &[f64]) -> f64 {
        x[self.rows.0 as usize] - x[self.rows.1 as usize] + self.shift_v
    }

    /// Returns the current and its derivative by volts.
    pub(super) fn current(&self, state: &State, demand: Demand) -> (f64, f64) {
        match self.flow {
            Flow::Open => (0.0, 0.0),
            Flow::Linear { siemens, emf_v } => (siemens * (self.volts(&state.x) - emf_v), siemens),
            Flow::Current(amps) => (amps * demand.loads, 0.0),
            Flow::Power(watts) => over(watts * demand.loads, self.volts(&state.x)),
            Flow::Feed(feed) => over(state.p[feed], self.volts(&state.x)),
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

/// Returns how a resistance draws.
pub(super) fn resistor(ohm: f64) -> Flow {
    if ohm.is_finite() {
        Flow::Linear {
            siemens: ohm.recip(),
            emf_v: 0.0,
        }
    } else {
        Flow::Open
    }
}

/// Returns how a source that holds no group together draws.
pub(super) fn source_flow(source: &Source) -> Flow {
    if !source.live {
        return Flow::Open;
    }
    let ohm = if source.resistance_ohm > 0.0 {
        source.resistance_ohm
    } else {
        LOOP_OHM
    };
    if ohm.is_finite() {
        Flow::Linear {
            siemens: ohm.recip(),
            emf_v: source.volts_v,
        }
    } else {
        Flow::Open
    }
}

/// Returns how a load draws, with its current or power multiplied.
pub(super) fn flow(law: Law, factor: f64) -> Flow {
    match law {
        Law::Off => Flow::Open,
        Law::Current(amps) => Flow::Current(amps * factor),
        Law::Power(watts) => Flow::Power(watts * factor),
        Law::Resistance(ohm) => resistor(ohm),
    }
}
