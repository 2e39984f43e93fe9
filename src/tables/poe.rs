//! Classes of power over Ethernet.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Pedigree;
use crate::units::{ElectricPotential, ElectricalResistance, Length, Measure, Power};

/// One class: what the port gives at least, what the device may take, the channel between.
///
/// # Source
/// IEEE 802.3-2018 with amendment bt, clauses 33 and 145.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PoeClass {
    /// Pairs that carry power.
    pub pairs: u32,
    /// Watts that the port gives at least.
    pub port: Power,
    /// Least volts of the port.
    pub least_volts: ElectricPotential,
    /// Most ohms of the channel, out and back, all pairs in use.
    pub channel: ElectricalResistance,
    /// Watts that the device may take.
    pub device: Power,
}

/// The class of a number from 0 to 8.
pub fn poe_class(class: u8) -> Option<PoeClass> {
    let row = POE.row.iter().find(|row| row.class == class)?;
    Some(PoeClass {
        pairs: row.pairs,
        port: Power::from_base(row.port_w),
        least_volts: ElectricPotential::from_base(row.port_v),
        channel: ElectricalResistance::from_base(row.loop_ohm),
        device: Power::from_base(row.device_w),
    })
}

/// Longest channel, cords and all.
///
/// # Source
/// ANSI/TIA-568 and ISO/IEC 11801: 90 m fixed and 10 m of cords; secondary copy seen.
pub fn longest_channel() -> Length {
    Length::from_base(100.0)
}

pub(super) fn pedigree() -> &'static Pedigree {
    &POE.head
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    head: Pedigree,
    row: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    class: u8,
    pairs: u32,
    port_w: f64,
    port_v: f64,
    loop_ohm: f64,
    device_w: f64,
}

static POE: LazyLock<File> = LazyLock::new(|| table!("poe"));
