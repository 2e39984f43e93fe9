//! Power over Ethernet: what a supply's ports are.

use crate::units::Power;

/// `[supply.X.poe]`: judged, it changes no solution.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Poe {
    /// Class of its ports, 0 to 8.
    pub class: Option<u8>,
    /// Pairs on which its ports give power.
    pub pairs: Option<u32>,
    /// Watts of all its ports together.
    pub budget: Option<Power>,
}
