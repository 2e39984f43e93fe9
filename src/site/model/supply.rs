//! What holds a supply back, what its terminals take, and when a device gives up.

use crate::units::{ElectricCurrent, ElectricPotential, Size};

/// How a supply limits its current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limiting {
    /// Not at all: it gives what its ohms let through.
    None,
    /// The current stays at the limit, and the volts fall.
    Hard,
    /// The current falls with the volts.
    Foldback,
    /// It stops and tries again.
    Hiccup,
}

/// What holds a supply back.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Restrained {
    /// How it limits its current; silent: not known, and solved as none.
    pub limit: Option<Limiting>,
    /// Where it limits; silent: at the peak, else at the rated current.
    pub limit_current: Option<ElectricCurrent>,
    /// Volts that the diode at its output loses; silent: there is none.
    pub one_way: Option<ElectricPotential>,
}

/// What the terminals of a supply or device take.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TerminalFit {
    /// Thickest conductor.
    pub max_gauge: Option<Size>,
    /// Conductors under one screw.
    pub wires: Option<u32>,
}

/// Under which volts a device gives up, and over which it starts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Wake {
    /// Under these volts it is off.
    pub cutoff: Option<ElectricPotential>,
    /// Over these volts it starts again; silent: at `cutoff`.
    pub restart: Option<ElectricPotential>,
}
