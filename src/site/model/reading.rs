//! Readings taken on site, and the meters that took them.

use super::{End, Leg, Site, Thing, WhichEnd};
use crate::units::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Ratio, ThermodynamicTemperature,
};

/// A reading taken on site.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Where.
    pub at: Spot,
    /// What the meter showed.
    pub found: Found,
    /// One step of the last digit that it showed, in the SI unit of `found`.
    pub digit: f64,
    /// In which case.
    pub case: Option<String>,
    /// With which meter.
    pub meter: Option<MeterOf>,
    /// Readings of one set were taken within the same minute.
    pub set: Option<u32>,
    /// When, as typed.
    pub time: Option<String>,
    /// Who took it.
    pub by: Option<String>,
    /// Of the conductors, at that time.
    pub temperature: Option<ThermodynamicTemperature>,
    /// Ohms of the meter's own leads, which it showed as well.
    pub leads: Option<ElectricalResistance>,
    /// The end of the run at which its ohms were read; silent: one of them.
    pub end: Option<WhichEnd>,
}

/// Where a meter was held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spot {
    /// Between both terminals of a supply, output, device or junction; or what it gives or takes.
    Across(End),
    /// From one terminal or earth to another.
    Between(End, End),
    /// A run: amps in its first conductor, or ohms of all its way there and back.
    Run(usize),
    /// One conductor of a run.
    Conductor(usize, Leg),
}

impl Spot {
    /// The things that it names, one or two.
    pub fn things(self) -> impl Iterator<Item = Thing> {
        let (one, other) = match self {
            Self::Across(end) => (end.thing(), None),
            Self::Between(a, b) => (a.thing(), Some(b.thing())),
            Self::Run(i) | Self::Conductor(i, _) => (Thing::Run(i), None),
        };
        std::iter::once(one).chain(other)
    }
}

/// What a meter showed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Found {
    /// Volts.
    Volts(ElectricPotential),
    /// Amps.
    Amps(ElectricCurrent),
    /// Ohms along a dead run, its far end shorted, or along one dead conductor.
    Ohms(ElectricalResistance),
    /// Ohms between the conductors of a dead run or to earth, its far end open.
    Insulation(ElectricalResistance),
}

impl Reading {
    /// The value in its SI unit, the ohms of the leads taken off.
    pub fn value(&self) -> f64 {
        let leads = self.leads.map_or(0.0, |r| r.value);
        match self.found {
            Found::Volts(v) => v.value,
            Found::Amps(a) => a.value,
            Found::Ohms(r) | Found::Insulation(r) => r.value - leads,
        }
    }

    /// The SI unit of its value.
    pub const fn unit(&self) -> &'static str {
        match self.found {
            Found::Volts(_) => "V",
            Found::Amps(_) => "A",
            Found::Ohms(_) | Found::Insulation(_) => "ohm",
        }
    }
}

impl Site {
    /// Where a meter was held, as the file spells it.
    pub fn spot_text(&self, spot: Spot) -> String {
        match spot {
            Spot::Across(end) => self.end_text(end),
            Spot::Between(a, b) => format!("{} to {}", self.end_text(a), self.end_text(b)),
            Spot::Run(i) => self.runs[i].name.clone(),
            Spot::Conductor(i, leg) => format!("{}.{}", self.runs[i].name, leg.as_str()),
        }
    }
}

/// A meter or clamp.
#[derive(Clone, Debug, PartialEq)]
pub struct Meter {
    /// Its name.
    pub name: String,
    /// Its error in volts.
    pub volts: Option<Accuracy>,
    /// Its error in amps.
    pub amps: Option<Accuracy>,
    /// Its error in ohms.
    pub ohms: Option<Accuracy>,
    /// Least amps that a clamp tells.
    pub floor: Option<ElectricCurrent>,
}

/// The error that a meter's maker states: a share of the value and steps of the last digit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Accuracy {
    /// Share of the value.
    pub share: Ratio,
    /// Steps of the last digit.
    pub digits: f64,
}

/// With which meter a reading was taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MeterOf {
    /// Index into the site's meters.
    Named(usize),
    /// Some meter with this error.
    Stated(Accuracy),
}
