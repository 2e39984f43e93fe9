//! The physical quantities in use, as typed values, and how people write them.
//!
//! A value is written as a number and its unit, `"180 ft"`. [`read`] turns that text into a typed
//! quantity by closed tables of units, [`show`] rounds a quantity for people and [`spell`] writes
//! it so that reading gives the same value again.
//!
//! text → number and unit → quantity → text

use uom::si::{ISQ, Quantity, SI};
use uom::typenum::{N1, N2, N3, P1, P2, P3, P4, Z0};

pub use uom::si::f64::{
    Area, Capacitance, ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance,
    Frequency, Inductance, Length, Power, Ratio, TemperatureInterval, ThermodynamicTemperature,
    Time,
};

mod draw;
mod error;
mod measure;
mod number;
mod pattern;
mod read;
mod show;
mod size;
mod spelling;
mod tables;
mod text;

pub use draw::{Draw, read_draw};
pub use error::ReadError;
pub use measure::{Digits, Measure, Sign, Step, System, Unit};
pub use pattern::{Written, draw_pattern, written};
pub use read::{Kind, last_digit, read, read_signed, read_with_default, volts_kind};
pub use show::{amps, fixed, ohms, percent, show, spell, volts, watts};
pub use size::{Size, read_gauge, read_size};
pub use text::{excerpt, is_unprintable};

/// Resistance (or reactance) per length of one conductor.
///
/// Spelled out, since a trait cannot be implemented for two computed quotients.
pub type LinearResistance = Quantity<ISQ<P1, P1, N3, N2, Z0, Z0, Z0>, SI<f64>, f64>;
/// Resistance of a material: ohms across a cube of it, times its side.
pub type Resistivity = Quantity<ISQ<P3, P1, N3, N2, Z0, Z0, Z0>, SI<f64>, f64>;
/// Capacitance per length.
pub type LinearCapacitance = Quantity<ISQ<N3, N1, P4, P2, Z0, Z0, Z0>, SI<f64>, f64>;

/// Apparent power on ac, kept apart from real power because the two must never be added.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct ApparentPower {
    volt_amperes: f64,
}

/// Money for a length of cable, in the currency of the site.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct PricePerLength {
    per_metre: f64,
}

/// Money for one piece, in the currency of the site.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct PriceEach {
    each: f64,
}

/// Money for an hour of work, in the currency of the site.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct PricePerHour {
    per_second: f64,
}

impl PricePerHour {
    /// Returns what this time costs.
    pub fn of(self, time: Time) -> f64 {
        self.per_second * time.value
    }
}

impl PricePerLength {
    /// Returns what this length costs.
    pub fn of(self, length: Length) -> f64 {
        self.per_metre * length.value
    }
}

/// Hours of full sun in a day: what falls on a panel in a day, over 1000 W/m2.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct SunHours {
    hours_per_day: f64,
}

/// How far volts move with temperature.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct VoltsPerDegree {
    volts_per_kelvin: f64,
}

/// Bits in a second on a line.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct BitRate {
    bits_per_second: f64,
}
