//! Nodes and branches: the electrical network of one site in one case and corner, without names.
//!
//! Numbers here are raw `f64` in SI units, with the unit in the field's name: this is the border
//! of the numeric kernel.

mod corner;
mod filling;
mod hertz;
mod live;
mod lower;
mod ohms;
mod phase;
mod restraint;
mod wire;

pub use corner::{Corner, cases, is_inrush, states};
pub use filling::{Filling, law_of};
pub use hertz::Hertz;
pub use live::Live;
pub use lower::{BranchId, RunBranches, Template, part_resistance};
pub use ohms::{per_length, run_ohms};
pub use phase::run_reactance;
pub use restraint::{Held, Limiter, Manner, Restraint, SHORT_SHARE};
pub use wire::{Pair, Terminals};

/// Index of a node, `0..Circuit::nodes`.
pub type NodeId = u32;

/// A conductor: one resistance between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Branch {
    /// End from which positive current is counted.
    pub from: NodeId,
    /// Other end.
    pub to: NodeId,
    /// Ohms, over 0; `f64::INFINITY` is an open conductor.
    pub resistance_ohm: f64,
}

/// A source of voltage behind its own resistance, linear both ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Source {
    /// Positive terminal.
    pub plus: NodeId,
    /// Negative terminal.
    pub minus: NodeId,
    /// Volts without load.
    pub volts_v: f64,
    /// Source resistance in ohms; 0 is an ideal source.
    pub resistance_ohm: f64,
    /// A dead source is an open circuit.
    pub live: bool,
    /// What it gives instead, while a limiter holds it.
    pub held: Option<Held>,
}

impl Source {
    /// Whether it holds its volts whatever it gives.
    pub fn is_ideal(&self) -> bool {
        self.live && self.resistance_ohm <= 0.0 && self.held.is_none()
    }
}

/// How a load's current follows its volts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// Draws nothing and needs no volts.
    Off,
    /// Constant current in amperes.
    Current(f64),
    /// Constant power in watts.
    Power(f64),
    /// A resistance in ohms.
    Resistance(f64),
}

/// Something that draws between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Positive terminal.
    pub plus: NodeId,
    /// Negative terminal.
    pub minus: NodeId,
    /// What it draws.
    pub law: Law,
}

/// A source that is an output of a device: the power that leaves its terminals, divided by the
/// efficiency, is drawn from the device's own terminals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feed {
    /// Index into `Circuit::sources`.
    pub source: usize,
    /// Positive terminal of the feeding device.
    pub plus: NodeId,
    /// Negative terminal of the feeding device.
    pub minus: NodeId,
    /// Over 0, at most 1.
    pub efficiency: f64,
}

impl Circuit {
    /// Takes out what a device draws for a supply that it feeds.
    pub fn drop_feed_of(&mut self, source: usize) {
        let kept: Vec<bool> = self.feeds.iter().map(|f| f.source != source).collect();
        let mut at = kept.iter();
        self.feeds.retain(|_| *at.next().unwrap_or(&true));
        if let Some(ac) = &mut self.ac {
            let mut at = kept.iter();
            ac.feeds.retain(|_| *at.next().unwrap_or(&true));
        }
    }
}

/// What phase angles add to a circuit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ac {
    /// Reactance in series with each branch's resistance, in ohms.
    pub reactance_ohm: Vec<f64>,
    /// By load.
    pub loads: Vec<Lag>,
    /// By feed.
    pub feeds: Vec<Lag>,
}

/// How a draw of power follows its volts besides by its law.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lag {
    /// Vars, lagging, for each watt.
    pub vars_per_watt: f64,
    /// Rms volts lost before the watts, in diodes: amps in phase = watts / (volts - these).
    pub lost_v: f64,
}

/// The network of one site in one case and corner.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Circuit {
    /// Number of nodes.
    pub nodes: usize,
    /// Conductors.
    pub branches: Vec<Branch>,
    /// Supplies.
    pub sources: Vec<Source>,
    /// Draws.
    pub loads: Vec<Load>,
    /// Supplies that devices feed.
    pub feeds: Vec<Feed>,
    /// Diodes and limiters of sources, at most one entry a source.
    pub restraints: Vec<Restraint>,
    /// Phase angles, where some volts and amps are not in phase; all volts are rms then.
    pub ac: Option<Box<Ac>>,
}
