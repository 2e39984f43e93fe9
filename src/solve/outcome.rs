//! What comes of solving a circuit: its operating point, or how much of its loads can be served.

use num_complex::Complex64;

use super::Regime;

/// What came of solving a circuit.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// The operating point.
    Solved(Solution),
    /// There is no operating point.
    Unserved(Unserved),
}

/// The operating point of a circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Volts of each node; 0 is the minus of the first live source of each separate network.
    pub node_v: Vec<f64>,
    /// Amperes through each branch, positive from `from` to `to`; 0 if open.
    pub branch_a: Vec<f64>,
    /// Amperes out of the plus of each source; 0 if dead.
    pub source_a: Vec<f64>,
    /// Amperes through each load from plus to minus.
    pub load_a: Vec<f64>,
    /// Volts of each load, plus over minus.
    pub load_v: Vec<f64>,
    /// Watts each feed draws from its device's terminals.
    pub feed_w: Vec<f64>,
    /// Amperes each feed draws from its device's terminals.
    pub feed_a: Vec<f64>,
    /// Largest sum of currents, in amperes, left at any node.
    pub imbalance_a: f64,
    /// Volts and amps as phasors, of a circuit with angles. The fields above are then rms
    /// magnitudes, with the sign of the real part in `branch_a` and of the power in `source_a`;
    /// `node_v` are real parts, from which no magnitude follows.
    pub phasors: Option<Box<Phasors>>,
    /// Sources with a diode or a limiter, and how they stand.
    pub regimes: Vec<(usize, Regime)>,
}

/// The operating point of a circuit with angles, as rms phasors; see [`Solution`].
#[derive(Clone, Debug, PartialEq)]
pub struct Phasors {
    /// Volts of each node.
    pub node_v: Vec<Complex64>,
    /// Amperes through each branch.
    pub branch_a: Vec<Complex64>,
    /// Amperes out of the plus of each source.
    pub source_a: Vec<Complex64>,
    /// Amperes through each load.
    pub load_a: Vec<Complex64>,
    /// Amperes each feed draws.
    pub feed_a: Vec<Complex64>,
}

/// Where the loads of a circuit without operating point stop being served.
#[derive(Clone, Debug, PartialEq)]
pub struct Unserved {
    /// Largest common factor on all Current and Power loads, below 1, that still has an operating
    /// point; 0 if none has.
    pub served: f64,
    /// Volts of each load there.
    pub load_v: Vec<f64>,
    /// Volts at the terminals of each feeding device there.
    pub feed_v: Vec<f64>,
    /// Sources that would have to give more than their limit.
    pub overdrawn: Vec<Overdrawn>,
}

/// A source over a limit that leaves the circuit no operating point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overdrawn {
    /// The source.
    pub source: usize,
    /// Amperes that it would give without the limit.
    pub amps_a: f64,
    /// The limit.
    pub limit_a: f64,
}

impl Solution {
    /// How a source with a diode or a limiter stands; nothing for any other.
    pub fn regime(&self, source: usize) -> Option<Regime> {
        let mut all = self.regimes.iter();
        all.find(|(s, _)| *s == source).map(|(_, regime)| *regime)
    }

    /// Volts of one node over another; of a circuit with angles their rms magnitude.
    pub fn across(&self, plus: u32, minus: u32) -> f64 {
        let (plus, minus) = (plus as usize, minus as usize);
        match &self.phasors {
            Some(phasors) => (phasors.node_v[plus] - phasors.node_v[minus]).norm(),
            None => self.node_v[plus] - self.node_v[minus],
        }
    }
}
