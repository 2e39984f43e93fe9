//! Soils, and the resistance of a rod in one.

use std::f64::consts::PI;
use std::sync::LazyLock;

use serde::Deserialize;

use super::Pedigree;
use crate::units::{ElectricalResistance, Length, Measure, Resistivity};

/// Resistance of one vertical rod to remote earth.
///
/// R = rho / (2 pi L) x (ln(4 L / a) - 1), with a the radius; L in the soil, far longer than a.
///
/// # Source
/// H. B. Dwight, Calculation of resistances to ground, AIEE Transactions 1936; IEEE Std 142.
pub fn rod_ohms(soil: Resistivity, length: Length, diameter: Length) -> ElectricalResistance {
    let (l, a) = (length.base(), diameter.base() / 2.0);
    let ohms = soil.base() / (2.0 * PI * l) * ((4.0 * l / a).ln() - 1.0);
    ElectricalResistance::from_base(ohms)
}

/// One kind of soil.
///
/// # Source
/// IEEE Std 142, resistivity of soils; from memory.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Soil {
    /// What it is made of.
    pub name: &'static str,
    /// Low end of the usual range.
    pub low: Resistivity,
    /// Middle of it.
    pub middle: Resistivity,
    /// High end of it.
    pub high: Resistivity,
}

/// The soils, best first.
pub fn soils() -> impl Iterator<Item = Soil> {
    SOIL.soil.iter().map(|row| Soil {
        name: &row.name,
        low: Resistivity::from_base(row.low_ohm_m),
        middle: Resistivity::from_base(row.middle_ohm_m),
        high: Resistivity::from_base(row.high_ohm_m),
    })
}

pub(super) fn pedigree() -> &'static Pedigree {
    &SOIL.head
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    head: Pedigree,
    soil: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    low_ohm_m: f64,
    middle_ohm_m: f64,
    high_ohm_m: f64,
}

static SOIL: LazyLock<File> = LazyLock::new(|| table!("soil"));
