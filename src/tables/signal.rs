//! Wiegand lines and balanced two-wire buses.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Pedigree;
use crate::units::{ElectricPotential, ElectricalResistance, Length, Measure, Time};

/// What the times of Wiegand pulses must be.
///
/// # Source
/// SIA AC-01-1996.10, timing of pulses; secondary copy seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WiegandTiming {
    /// Shortest pulse.
    pub least_pulse: Time,
    /// Longest pulse.
    pub most_pulse: Time,
    /// Least time between two pulses.
    pub least_gap: Time,
    /// Most time between two pulses.
    pub most_gap: Time,
}

/// The times of Wiegand pulses.
pub fn wiegand_timing() -> WiegandTiming {
    let us = |us: f64| Time::from_base(us * 1e-6);
    let timing = &WIEGAND.timing;
    WiegandTiming {
        least_pulse: us(timing.least_pulse_us),
        most_pulse: us(timing.most_pulse_us),
        least_gap: us(timing.least_gap_us),
        most_gap: us(timing.most_gap_us),
    }
}

/// How far Wiegand data may go on conductors of a gauge: the row of the next thinner one where
/// there is none; `None` where it is thinner than all rows.
///
/// # Source
/// SIA AC-01-1996.10, recommended cable; secondary copy seen.
pub fn wiegand_length(gauge_awg: f64) -> Option<Length> {
    let rows = WIEGAND.cable.row.iter();
    let enough = rows.filter(|row| f64::from(row.gauge_awg) >= gauge_awg - 1e-9);
    let row = enough.min_by_key(|row| row.gauge_awg)?;
    Some(Length::from_base(row.length_ft * 0.3048))
}

/// What drivers and receivers of a balanced bus are made for.
///
/// # Source
/// ANSI/TIA/EIA-485-A; secondary copy seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BusLimits {
    /// Least volts of a driver into the test load.
    pub driver: ElectricPotential,
    /// Least load that it is made for.
    pub test_load: ElectricalResistance,
    /// Volts that a receiver surely senses.
    pub sensed: ElectricPotential,
    /// One unit load.
    pub unit_load: ElectricalResistance,
    /// Most unit loads.
    pub most_units: f64,
    /// Least volts of a conductor against the receiver's ground.
    pub common_mode_low: ElectricPotential,
    /// Most volts of a conductor against the receiver's ground.
    pub common_mode_high: ElectricPotential,
}

/// The limits of a balanced bus.
pub fn bus_limits() -> BusLimits {
    let limits = &BUS.limits;
    let (volts, ohms) = (
        ElectricPotential::from_base,
        ElectricalResistance::from_base,
    );
    BusLimits {
        driver: volts(limits.driver_v),
        test_load: ohms(limits.test_load_ohm),
        sensed: volts(limits.sensed_v),
        unit_load: ohms(limits.unit_load_ohm),
        most_units: limits.most_units,
        common_mode_low: volts(limits.common_mode_low_v),
        common_mode_high: volts(limits.common_mode_high_v),
    }
}

pub(super) fn wiegand_pedigree() -> &'static Pedigree {
    &WIEGAND.head
}

pub(super) fn bus_pedigree() -> &'static Pedigree {
    &BUS.head
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WiegandFile {
    head: Pedigree,
    timing: Timing,
    cable: Cable,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(
    clippy::struct_field_names,
    reason = "the unit stands in each key of the file"
)]
struct Timing {
    least_pulse_us: f64,
    most_pulse_us: f64,
    least_gap_us: f64,
    most_gap_us: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Cable {
    row: Vec<CableLength>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CableLength {
    gauge_awg: i32,
    length_ft: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct BusFile {
    head: Pedigree,
    limits: Limits,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Limits {
    driver_v: f64,
    test_load_ohm: f64,
    sensed_v: f64,
    unit_load_ohm: f64,
    most_units: f64,
    common_mode_low_v: f64,
    common_mode_high_v: f64,
}

static WIEGAND: LazyLock<WiegandFile> = LazyLock::new(|| table!("sia-ac-01"));
static BUS: LazyLock<BusFile> = LazyLock::new(|| table!("tia-485"));
