//! Typical figures of batteries, and the sizing factors of a standard.

use std::sync::LazyLock;

use serde::Deserialize;
use uom::si::electric_charge::ampere_hour;
use uom::si::electric_potential::volt;
use uom::si::electrical_resistance::milliohm;
use uom::si::ratio::{percent, ratio};
use uom::si::thermodynamic_temperature::{degree_celsius, degree_fahrenheit};

use super::Pedigree;
use crate::units::{
    ElectricCharge, ElectricPotential, ElectricalResistance, Measure, Ratio,
    ThermodynamicTemperature, VoltsPerDegree,
};

/// Returns the share of its capacity that a lead-acid battery has at a temperature.
///
/// Beyond the table the share of its last row stands: nothing is extrapolated.
///
/// # Source
/// Typical of valve-regulated batteries, 20 h rate (from memory); a straight line between rows.
pub fn cold_capacity(at: ThermodynamicTemperature) -> Ratio {
    let rows = BATTERIES.cold.row.iter();
    let points = rows.map(|row| (row.temperature_c, row.capacity_pct));
    Ratio::new::<percent>(held(points, at.get::<degree_celsius>()))
}

/// Returns the exponent by which a lead-acid battery gives less when more is drawn.
///
/// # Source
/// From t / H = (C / (I H))^k at the capacities of 20 h and 1 h, which stand in the table.
pub fn peukert() -> f64 {
    let rows = &BATTERIES.rate.row;
    let at = |hours: f64| {
        let row = rows
            .iter()
            .find(|row| (row.discharge_h - hours).abs() < 1e-9);
        row.map_or(1.0, |row| row.capacity_pct / 100.0)
    };
    let long = rows.iter().map(|row| row.discharge_h).fold(1.0, f64::max);
    long.ln() / (long * at(1.0) / at(long)).ln()
}

/// Returns the resistance of a lead-acid battery of so many ampere-hours and cells.
///
/// Beyond the table, capacity times resistance stays what it is in the nearest row.
///
/// # Source
/// Typical, full and warm (from memory); a straight line of logarithms between rows.
pub fn resistance(capacity: ElectricCharge, cells: u32) -> ElectricalResistance {
    let capacity_ah = capacity.get::<ampere_hour>().max(1e-3);
    let rows = BATTERIES.resistance.row.iter();
    let points = rows.map(|row| {
        let constant = row.resistance_mohm * row.capacity_ah;
        (row.capacity_ah.ln(), constant.ln())
    });
    let six_mohm = held(points, capacity_ah.ln()).exp() / capacity_ah;
    ElectricalResistance::new::<milliohm>(six_mohm * f64::from(cells) / 6.0)
}

/// What holds for one cell, and for any lead-acid battery and panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellFigures {
    /// Volts at rest when full.
    pub full: ElectricPotential,
    /// Volts at rest when empty.
    pub empty: ElectricPotential,
    /// Volts under load at which the discharge must end.
    pub end: ElectricPotential,
    /// Rise of the charge volts for each degree colder.
    pub charge_slope: VoltsPerDegree,
}

/// Returns the figures of one lead-acid cell.
///
/// # Source
/// Typical; 1.75 V as end of discharge is practice with IEEE 485 (all from memory).
pub fn cell() -> CellFigures {
    let cell = &BATTERIES.cell;
    CellFigures {
        full: ElectricPotential::new::<volt>(cell.full_v),
        empty: ElectricPotential::new::<volt>(cell.empty_v),
        end: ElectricPotential::new::<volt>(cell.end_v),
        charge_slope: VoltsPerDegree::from_base(cell.charge_mv_per_c / 1e3),
    }
}

/// Returns the share of its capacity that a battery has at the end of its life.
///
/// # Source
/// IEEE 485: replaced at 80 % (from memory).
pub fn aged() -> Ratio {
    Ratio::new::<percent>(BATTERIES.life.aged_pct)
}

/// What a panel's site is taken for where the file is silent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunFigures {
    /// Share of the panel's rating that arrives in the battery.
    pub efficiency: Ratio,
    /// Days without sun that a battery should bridge.
    pub dark_days: f64,
    /// How much more than it draws a site should harvest.
    pub array_to_load: f64,
}

/// Returns the figures for panels.
///
/// # Source
/// Method of IEEE 1013 and IEEE 1562 (from memory); the efficiency is common practice, no source.
pub fn sun() -> SunFigures {
    let sun = &BATTERIES.sun;
    SunFigures {
        efficiency: Ratio::new::<percent>(sun.efficiency_pct),
        dark_days: sun.dark_days,
        array_to_load: sun.array_to_load,
    }
}

/// Returns the factor by which a cell must be larger at a temperature, none outside the table.
///
/// # Source
/// IEEE 485 Table 1; a straight line between rows. For sealed batteries it stands by analogy.
pub fn cell_size_factor(at: ThermodynamicTemperature) -> Option<Ratio> {
    let rows = &IEEE_485.factor.row;
    let at_f = at.get::<degree_fahrenheit>();
    let (first, last) = (rows.first()?.temperature_f, rows.last()?.temperature_f);
    // Half a thousandth of a degree: 32 F and 0 C are the same.
    if at_f < first - 5e-4 || at_f > last + 5e-4 {
        return None;
    }
    let points = rows.iter().map(|row| (row.temperature_f, row.factor));
    Some(Ratio::new::<ratio>(held(points, at_f)))
}

pub(super) fn batteries_pedigree() -> &'static Pedigree {
    &BATTERIES.head
}

pub(super) fn ieee_485_pedigree() -> &'static Pedigree {
    &IEEE_485.head
}

/// The value at `x` on straight lines through points whose `x` run one way; held at the ends.
fn held(points: impl Iterator<Item = (f64, f64)>, x: f64) -> f64 {
    let mut points: Vec<(f64, f64)> = points.collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let above = points.partition_point(|p| p.0 < x);
    match (above.checked_sub(1).map(|i| points[i]), points.get(above)) {
        (Some((x0, y0)), Some((x1, y1))) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
        (Some((_, y)), None) => y,
        (None, Some((_, y))) => *y,
        (None, None) => f64::NAN,
    }
}

static BATTERIES: LazyLock<Batteries> = LazyLock::new(|| table!("batteries"));
static IEEE_485: LazyLock<Ieee485> = LazyLock::new(|| table!("ieee-485"));

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Batteries {
    head: Pedigree,
    cold: Rows<Cold>,
    rate: Rows<Rate>,
    resistance: Rows<Resistance>,
    cell: Cell,
    life: Life,
    sun: Sun,
}

#[derive(Deserialize)]
struct Rows<T> {
    row: Vec<T>,
}

#[derive(Deserialize)]
struct Cold {
    temperature_c: f64,
    capacity_pct: f64,
}

#[derive(Deserialize)]
struct Rate {
    discharge_h: f64,
    capacity_pct: f64,
}

#[derive(Deserialize)]
struct Resistance {
    capacity_ah: f64,
    resistance_mohm: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Cell {
    full_v: f64,
    empty_v: f64,
    end_v: f64,
    charge_mv_per_c: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Life {
    aged_pct: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sun {
    efficiency_pct: f64,
    dark_days: f64,
    array_to_load: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Ieee485 {
    head: Pedigree,
    factor: Rows<SizeFactor>,
}

#[derive(Deserialize)]
struct SizeFactor {
    temperature_f: f64,
    factor: f64,
}
