//! The physical quantities in use, as typed values, and how people write them.

use std::ops::Div;

pub use uom::si::f64::{
    Area, Capacitance, ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance,
    Frequency, Inductance, Length, Power, Ratio, TemperatureInterval, ThermodynamicTemperature,
    Time,
};

/// Resistance (or reactance) per length of one conductor.
pub type LinearResistance = <ElectricalResistance as Div<Length>>::Output;
/// Capacitance per length.
pub type LinearCapacitance = <Capacitance as Div<Length>>::Output;
