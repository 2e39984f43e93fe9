//! The published figures against the references they come from.
//!
//! Expected values are retyped from the reference named beside them, not read from the tables.

mod catalog;
mod files;
mod limits;
mod raceway;
mod resistance;

use farend::units::Size;
use farend::units::{LinearResistance, ThermodynamicTemperature};
use uom::si::electrical_resistance::ohm;
use uom::si::length::{foot, kilometer};
use uom::si::thermodynamic_temperature::degree_celsius;

use farend::units::Length;

/// Every gauge that a site may name, thickest first: 4/0 is -3.
fn gauges() -> impl Iterator<Item = Size> {
    (-3..=40).map(Size::Awg)
}

fn celsius(t: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<degree_celsius>(t)
}

fn ohm_per_kft(r: LinearResistance) -> f64 {
    (r * Length::new::<foot>(1000.0)).get::<ohm>()
}

fn ohm_per_km(r: LinearResistance) -> f64 {
    (r * Length::new::<kilometer>(1.0)).get::<ohm>()
}
