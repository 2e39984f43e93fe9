//! Ohms between the conductors of a run or to earth: how dry its cable and splices are.

use crate::diagnostic::Severity;
use crate::units::{ElectricalResistance, Measure};

/// Cable that is dry has this and more: common practice, no source.
pub const DRY_OHM: f64 = 1e6;
/// What a wet splice may well leak; under it is a warning: common practice, no source.
pub const WET_OHM: f64 = 100e3;

/// What there is to say of some insulation; none where it is dry.
pub fn wetness(found: ElectricalResistance) -> Option<Severity> {
    match found.base() {
        ohm if ohm < WET_OHM => Some(Severity::Warn),
        ohm if ohm < DRY_OHM => Some(Severity::Ask),
        _ => None,
    }
}
