//! Typical devices and cables by plain trade names.

use std::sync::LazyLock;

use serde::Deserialize;
use uom::si::capacitance::picofarad;
use uom::si::electrical_resistance::ohm;
use uom::si::length::{kilometer, meter};
use uom::si::thermodynamic_temperature::degree_celsius;

use super::{Material, Pedigree, Stranding};
use crate::units::{
    Capacitance, ElectricalResistance, Length, LinearCapacitance, LinearResistance, Size,
    ThermodynamicTemperature,
};

/// A typical device. Values are written as in a site file, so that they fill in what a site leaves unsaid.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct DeviceRow {
    /// The name by which a site's `like` finds it.
    pub name: String,
    /// Kind of device, a word of the site file.
    pub kind: String,
    /// What it draws; all absent for a passive device.
    #[serde(default)]
    pub draw: TypicalDraw,
    /// Least usual steady draw of its kind, in the law of `draw`; absent where unknown.
    pub least: Option<String>,
    /// Greatest usual steady draw of its kind, in the law of `draw`; absent where unknown.
    pub most: Option<String>,
    /// Least volts at its terminals; absent for a passive device.
    pub lowest: Option<String>,
    /// Greatest volts at its terminals; absent for a passive device.
    pub highest: Option<String>,
    /// What else to know; absent where nothing.
    pub note: Option<String>,
    /// Where the figures come from.
    pub source: String,
    /// How they were checked.
    pub checked: String,
}

/// The draw of a typical device, a value with its unit for each state that has one.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct TypicalDraw {
    /// At rest; absent: nothing is drawn.
    pub idle: Option<String>,
    /// At work; absent: as idle.
    pub active: Option<String>,
    /// While switching on; absent: as active.
    pub inrush: Option<String>,
}

impl TypicalDraw {
    /// Returns the states that are stated, with their values, calmest first.
    pub fn states(&self) -> impl Iterator<Item = (&'static str, &str)> {
        [
            ("idle", &self.idle),
            ("active", &self.active),
            ("inrush", &self.inrush),
        ]
        .into_iter()
        .filter_map(|(state, value)| Some((state, value.as_deref()?)))
    }
}

/// Returns the typical device of that name, upper and lower case told apart.
pub fn device(name: &str) -> Option<&'static DeviceRow> {
    DEVICES.device.iter().find(|row| row.name == name)
}

/// Returns the names of all typical devices, in the order of the table.
pub fn device_names() -> impl Iterator<Item = &'static str> {
    DEVICES.device.iter().map(|row| row.name.as_str())
}

/// A typical cable.
#[derive(Clone, Debug, Deserialize, PartialEq)]
#[serde(from = "CableFigures")]
pub struct CableRow {
    /// Plain trade description by which a site names it.
    pub name: String,
    /// Number of conductors.
    pub conductors: u32,
    /// Size of each conductor.
    pub gauge: Size,
    /// How each conductor is built.
    pub stranding: Stranding,
    /// What each conductor is made of.
    pub material: Material,
    /// Whether a shield surrounds the conductors.
    pub shielded: bool,
    /// Typical or greatest, between the two conductors of a pair; absent where unknown.
    pub capacitance: Option<LinearCapacitance>,
    /// Typical, of one conductor to all others and the shield; absent where unknown.
    pub capacitance_to_rest: Option<LinearCapacitance>,
    /// Stated resistance of one conductor instead of the tables'; absent: the tables rule.
    pub resistance: Option<StatedResistance>,
    /// What its jacket is rated for, in words of the site file.
    pub rated: Vec<String>,
    /// What else to know; absent where nothing.
    pub note: Option<String>,
    /// Where the figures come from.
    pub source: String,
    /// How they were checked.
    pub checked: String,
}

/// A resistance per length and the temperature at which it holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StatedResistance {
    /// Of one conductor.
    pub per_length: LinearResistance,
    /// Temperature of the conductor.
    pub at: ThermodynamicTemperature,
}

/// Returns the typical cable of that name, upper and lower case told apart.
pub fn cable(name: &str) -> Option<&'static CableRow> {
    CABLES.cable.iter().find(|row| row.name == name)
}

/// Returns the names of all typical cables, in the order of the table.
pub fn cable_names() -> impl Iterator<Item = &'static str> {
    CABLES.cable.iter().map(|row| row.name.as_str())
}

pub(super) fn devices_pedigree() -> &'static Pedigree {
    &DEVICES.head
}

pub(super) fn cables_pedigree() -> &'static Pedigree {
    &CABLES.head
}

static DEVICES: LazyLock<Devices> = LazyLock::new(|| table!("devices"));
static CABLES: LazyLock<Cables> = LazyLock::new(|| table!("cables"));

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Devices {
    head: Pedigree,
    device: Vec<DeviceRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Cables {
    head: Pedigree,
    cable: Vec<CableRow>,
}

/// A cable as the file has it, with the unit in the key.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CableFigures {
    name: String,
    conductors: u32,
    size: Size,
    stranding: Stranding,
    material: Material,
    shielded: bool,
    capacitance_pf_per_m: Option<f64>,
    capacitance_to_rest_pf_per_m: Option<f64>,
    resistance_20c_ohm_per_km: Option<f64>,
    #[serde(default)]
    rated: Vec<String>,
    note: Option<String>,
    source: String,
    checked: String,
}

impl From<CableFigures> for CableRow {
    fn from(row: CableFigures) -> Self {
        let per_metre = |pf: f64| Capacitance::new::<picofarad>(pf) / Length::new::<meter>(1.0);
        Self {
            name: row.name,
            conductors: row.conductors,
            gauge: row.size,
            stranding: row.stranding,
            material: row.material,
            shielded: row.shielded,
            capacitance: row.capacitance_pf_per_m.map(per_metre),
            capacitance_to_rest: row.capacitance_to_rest_pf_per_m.map(per_metre),
            resistance: row.resistance_20c_ohm_per_km.map(|r| StatedResistance {
                per_length: ElectricalResistance::new::<ohm>(r) / Length::new::<kilometer>(1.0),
                at: ThermodynamicTemperature::new::<degree_celsius>(20.0),
            }),
            rated: row.rated,
            note: row.note,
            source: row.source,
            checked: row.checked,
        }
    }
}
