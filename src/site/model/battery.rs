//! The battery of a supply, and the panel that charges it.

use crate::tables;
use crate::units::{
    Draw, ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Measure, Power,
    Ratio, SunHours, ThermodynamicTemperature, Time, VoltsPerDegree,
};

/// What a battery is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chemistry {
    /// Lead and acid, sealed or not: typical figures stand in for silent keys.
    LeadAcid,
    /// Lithium iron phosphate.
    LithiumIronPhosphate,
    /// Anything else.
    Other,
}

/// The battery of a supply; what the file leaves out is filled in and noted.
#[derive(Clone, Debug, PartialEq)]
pub struct Battery {
    /// What it is made of.
    pub chemistry: Chemistry,
    /// Capacity at `rate` and 25 C, new.
    pub capacity: ElectricCharge,
    /// Time over which the capacity is stated.
    pub rate: Time,
    /// Cells in series.
    pub cells: u32,
    /// Its lowest temperature.
    pub coldest: ThermodynamicTemperature,
    /// Share of the capacity at its coldest.
    pub cold_capacity: Ratio,
    /// Share of the capacity when it is old.
    pub aged: Ratio,
    /// Share of what is then left that may be drawn.
    pub usable: Ratio,
    /// Peukert's exponent, 1 or more.
    pub peukert: f64,
    /// Volts at rest, full.
    pub full: ElectricPotential,
    /// Volts at rest, empty.
    pub empty: ElectricPotential,
    /// Resistance of the battery itself.
    pub resistance: ElectricalResistance,
    /// Terminal volts at which it is switched off.
    pub disconnect: Option<ElectricPotential>,
    /// Terminal volts at which it is switched on again.
    pub reconnect: Option<ElectricPotential>,
    /// Volts on charge at 25 C.
    pub charge: Option<ElectricPotential>,
    /// Rise of the charge volts for each degree colder, of the whole battery.
    pub charge_slope: VoltsPerDegree,
    /// The fuse at its post; `None` where nothing is said about one.
    pub fuse: Option<PostFuse>,
    /// Time that it must bridge.
    pub hours: Option<Time>,
    /// Keys that were filled in, and with what.
    pub filled: Vec<(&'static str, String)>,
}

/// What stands at the post of a battery.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PostFuse {
    /// Nothing.
    None,
    /// A fuse of so many amps.
    Rated(ElectricCurrent),
    /// Index into [`crate::site::Site::fuses`].
    Named(usize),
}

impl Battery {
    /// The capacity when it is coldest and old.
    pub fn left(&self) -> ElectricCharge {
        self.capacity * self.cold_capacity * self.aged
    }

    /// Volts halfway between full and empty, which stand for those of the whole discharge.
    pub fn mean_volts(&self) -> ElectricPotential {
        (self.full + self.empty) * 0.5
    }

    /// Volts on charge when it is coldest.
    pub fn charge_when_cold(&self) -> Option<ElectricPotential> {
        let colder_k = 298.15 - self.coldest.base();
        let rise = ElectricPotential::from_base(self.charge_slope.base() * colder_k);
        self.charge.map(|volts| volts + rise)
    }

    /// The same battery at another temperature: a capacity that was filled in follows.
    pub fn at(mut self, coldest: ThermodynamicTemperature) -> Self {
        self.coldest = coldest;
        let filled = |(key, _): &(&str, String)| *key == "battery.cold_capacity";
        if self.filled.iter().any(filled) && self.chemistry == Chemistry::LeadAcid {
            self.cold_capacity = tables::battery::cold_capacity(coldest);
        }
        self
    }
}

/// The panel that charges a battery.
#[derive(Clone, Debug, PartialEq)]
pub struct Solar {
    /// Rated power.
    pub panel: Option<Power>,
    /// Hours of full sun in the worst month.
    pub sun: Option<SunHours>,
    /// Share of the panel's power that arrives.
    pub efficiency: Ratio,
    /// What the charge controller takes all day.
    pub controller_draw: Draw,
    /// Days without sun to bridge.
    pub dark_days: f64,
    /// Keys that were filled in, and with what.
    pub filled: Vec<(&'static str, String)>,
}
