//! Signals and ground paths in numbers that people read side by side, whether or not they are at
//! fault.

use crate::checks::{Look, ground, signal};
use crate::circuit::{BranchId, Corner};
use crate::results::Results;
use crate::site::{Site, Thing};

/// One way of a loop at zero volts.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// The conductor by which it begins, as people call it.
    pub name: String,
    /// Its branch.
    pub branch: Option<BranchId>,
    /// Amps in the case and corner in which most go by the smaller of the two ways.
    pub amps: f64,
    /// Part of the return that divides there.
    pub share: f64,
}

/// A loop at zero volts.
#[derive(Clone, Debug, PartialEq)]
pub struct GroundPath {
    /// Everything that it goes through, back to where it starts.
    pub path: String,
    /// What closes it.
    pub thing: Thing,
    /// Where the return divides.
    pub at: String,
    /// Both ways; none where no current divides.
    pub ways: Vec<Way>,
    /// Where that was: case and corner.
    pub worst: Option<(usize, Corner)>,
}

/// A low of a Wiegand line as it arrives.
#[derive(Clone, Debug, PartialEq)]
pub struct Low {
    /// The run that stands for the line.
    pub run: usize,
    /// The thing that sends.
    pub sender: Thing,
    /// Whether that is stated, or follows from kinds; else it is taken so.
    pub certain: bool,
    /// Volts by case and corner.
    pub volts: Vec<(usize, Corner, f64)>,
    /// Most volts that the receiver takes for a low.
    pub limit: f64,
}

/// What the page of data and grounds shows beside the findings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Overview {
    /// Loops at zero volts.
    pub loops: Vec<GroundPath>,
    /// Lows of Wiegand lines.
    pub lows: Vec<Low>,
}

/// Looks at signals and ground paths.
pub fn overview(site: &Site, results: &Results) -> Overview {
    let look = Look::new(site, results);
    Overview {
        loops: ground::paths(&look),
        lows: signal::lows(&look),
    }
}
