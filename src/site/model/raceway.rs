//! Raceways, and what is said of the place that they lie in.

use crate::tables::{Cover, RacewayKind};
use crate::units::{Length, PricePerLength};

/// `[raceway.X]`: a pipe or duct. It changes no solution.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Raceway {
    /// Its name, as runs spell it.
    pub name: String,
    /// What it is.
    pub kind: Option<RacewayKind>,
    /// Trade size, as the table of areas spells it.
    pub size: Option<String>,
    /// Inside diameter, instead of the table.
    pub inside: Option<Length>,
    /// Its length.
    pub length: Option<Length>,
    /// It gets wet inside.
    pub wet: Option<bool>,
    /// Ground between its top and the surface.
    pub cover: Option<Length>,
    /// What lies over it.
    pub under: Option<Cover>,
    /// Light, power or anything else of mains lies in it.
    pub mains_inside: Option<bool>,
    /// A barrier parts that from the low voltage.
    pub barrier: Option<bool>,
    /// Degrees of all bends between two pull points.
    pub bends: Option<u32>,
    /// Closed against air at the end where it turns warm.
    pub sealed: Option<bool>,
    /// Water runs out at its lowest point.
    pub drained: Option<bool>,
    /// Metal: bonded at both ends.
    pub bonded: Option<bool>,
    /// Price per length.
    pub price: Option<PricePerLength>,
}
