//! The site as typed values: what the file says, with every reference resolved.
//!
//! Lists stand in file order; a reference is an index into one of them. A field that the file
//! leaves out is `None` where its absence matters, else the default of the format.

mod ac;
mod answers;
mod battery;
mod bid;
mod door;
mod poe;
mod raceway;
mod reading;
mod record;
mod run;
mod signal;
mod supply;
mod switched;
mod things;

use std::collections::HashMap;

pub use ac::{DcSide, Nameplate, Rectifier};
pub use answers::Answers;
pub use battery::{Battery, Chemistry, PostFuse, Solar};
pub use bid::{Alternate, Bid, Item, Wire};
pub use door::{Door, DoorFor, FireRelease, WithoutPower};
pub use poe::Poe;
pub use raceway::Raceway;
pub use reading::{Accuracy, Found, Meter, MeterOf, Reading, Spot};
pub use record::{Accepted, Case, Exclusive};
pub use run::{
    Cable, CableRef, Carries, DeviceRef, End, Leg, Part, Route, Run, ShieldBond, Throw, Whole,
};
pub use signal::{Bus, EndAt, InputLoop, LoopLayout, LoopState, Surge, WhichEnd, Wiegand};
pub use supply::{Limiting, Restrained, TerminalFit, Wake};
pub use switched::{AtBoot, Clamp, ClampAt, Coil, CoilKind, ContactMaterial, Does, Input};
pub use things::{
    AVERAGE, Device, Earth, Fuse, Junction, Output, Place, Relay, Supply, SupplyKind, Tie,
};

use crate::units::{ElectricalResistance, Length, Ratio, System, ThermodynamicTemperature};

/// A whole site: one file.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// Title of the site.
    pub name: String,
    /// Unit system in which results are shown.
    pub units: System,
    /// Code edition that cautions cite, as typed.
    pub code: String,
    /// Currency of the prices, text only.
    pub currency: String,
    /// Values for the whole site.
    pub design: Design,
    /// Supplies in file order.
    pub supplies: Vec<Supply>,
    /// Devices in file order.
    pub devices: Vec<Device>,
    /// Splice boxes and terminal blocks in file order.
    pub junctions: Vec<Junction>,
    /// Fuses and breakers in file order.
    pub fuses: Vec<Fuse>,
    /// Rods, building earths, bars and bonded metal in file order.
    pub earths: Vec<Earth>,
    /// Runs in file order.
    pub runs: Vec<Run>,
    /// Named cases in file order; empty means the default cases.
    pub cases: Vec<Case>,
    /// Cables: those of the site first, then every built-in one that a run names.
    pub cables: Vec<Cable>,
    /// How many of `cables` the file defines itself.
    pub own_cables: usize,
    /// Two-wire buses in file order.
    pub buses: Vec<Bus>,
    /// Surge parts in file order.
    pub surges: Vec<Surge>,
    /// Places with properties of their own.
    pub places: Vec<Place>,
    /// Doors and gates in file order.
    pub doors: Vec<Door>,
    /// Raceways in file order.
    pub raceways: Vec<Raceway>,
    /// States that never stand together.
    pub exclusive: Vec<Exclusive>,
    /// Cable choices for every power run, as indices into `cables`.
    pub choices: Vec<CableRef>,
    /// Meters in file order.
    pub meters: Vec<Meter>,
    /// Readings taken on site.
    pub readings: Vec<Reading>,
    /// Findings that somebody accepted.
    pub accepted: Vec<Accepted>,
    /// Answers to what is asked of the whole site.
    pub answers: Answers,
    /// What only a bid asks for.
    pub bid: Bid,
    /// Every name of the shared name space.
    pub names: HashMap<String, Thing>,
}

impl Site {
    /// How many things of each kind it has, in the order of [`Thing`].
    pub fn counts(&self) -> [usize; 6] {
        [
            self.supplies.len(),
            self.devices.len(),
            self.junctions.len(),
            self.fuses.len(),
            self.earths.len(),
            self.runs.len(),
        ]
    }

    /// Name of a thing.
    pub fn name_of(&self, thing: Thing) -> &str {
        match thing {
            Thing::Supply(i) => &self.supplies[i].name,
            Thing::Device(i) => &self.devices[i].name,
            Thing::Junction(i) => &self.junctions[i].name,
            Thing::Fuse(i) => &self.fuses[i].name,
            Thing::Earth(i) => &self.earths[i].name,
            Thing::Run(i) => &self.runs[i].name,
        }
    }

    /// An end as the file spells it.
    pub fn end_text(&self, end: End) -> String {
        match end {
            End::Supply(i) => self.supplies[i].name.clone(),
            End::Output(s, o) => self.whole_text(Whole::Output(s, o)),
            End::Device(i) => self.devices[i].name.clone(),
            End::Junction(i) => self.junctions[i].name.clone(),
            End::Earth(i) => self.earths[i].name.clone(),
            End::Terminal(whole, plus) => {
                format!(
                    "{}.{}",
                    self.whole_text(whole),
                    if plus { "plus" } else { "minus" }
                )
            }
        }
    }

    fn whole_text(&self, whole: Whole) -> String {
        match whole {
            Whole::Supply(i) => self.supplies[i].name.clone(),
            Whole::Output(s, o) => {
                format!(
                    "{}.{}",
                    self.supplies[s].name, self.supplies[s].outputs[o].name
                )
            }
            Whole::Device(i) => self.devices[i].name.clone(),
            Whole::Junction(i) => self.junctions[i].name.clone(),
        }
    }

    /// A part as the file spells it.
    pub fn part_text(&self, part: Part) -> String {
        match part {
            Part::Fuse(i) => self.fuses[i].name.clone(),
            Part::Contact(d, r, throw) => {
                let tail = match throw {
                    Throw::Bare => "",
                    Throw::Open => ".no",
                    Throw::Closed => ".nc",
                };
                format!(
                    "{}.{}{tail}",
                    self.devices[d].name, self.devices[d].relays[r].name
                )
            }
        }
    }
}

/// Something with a name of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Thing {
    /// Index into [`Site::supplies`].
    Supply(usize),
    /// Index into [`Site::devices`].
    Device(usize),
    /// Index into [`Site::junctions`].
    Junction(usize),
    /// Index into [`Site::fuses`].
    Fuse(usize),
    /// Index into [`Site::earths`].
    Earth(usize),
    /// Index into [`Site::runs`].
    Run(usize),
}

/// Temperatures of conductors: nominal, hot and cold.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Temperatures {
    /// In the corner `nominal`.
    pub nominal: Option<ThermodynamicTemperature>,
    /// In the corner `low`.
    pub hot: Option<ThermodynamicTemperature>,
    /// In the corners `high` and `heavy`.
    pub cold: Option<ThermodynamicTemperature>,
}

/// Values that hold for the whole site.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    /// Conductor temperatures; the reader fills in the defaults.
    pub temperatures: Temperatures,
    /// Temperatures by route; a run's own win.
    pub routes: [Temperatures; 4],
    /// Spread of draws, each way.
    pub draw_tolerance: Ratio,
    /// Share above `lowest` within which volts earn a warning.
    pub reserve: Ratio,
    /// Share below a rating within which amps earn a warning.
    pub spare: Ratio,
    /// Resistance of one splice in each leg that has it.
    pub splice: ElectricalResistance,
    /// Take-off only: length added at each end of a run.
    pub slack: Length,
    /// Take-off only: share added for waste.
    pub waste: Ratio,
}

impl Thing {
    /// Both its terminals, where it has them.
    pub const fn terminals(self) -> Option<End> {
        match self {
            Self::Supply(i) => Some(End::Supply(i)),
            Self::Device(i) => Some(End::Device(i)),
            Self::Junction(i) => Some(End::Junction(i)),
            Self::Fuse(_) | Self::Earth(_) | Self::Run(_) => None,
        }
    }

    /// Word of the table that it stands in.
    pub const fn table(self) -> &'static str {
        match self {
            Self::Supply(_) => "supply",
            Self::Device(_) => "device",
            Self::Junction(_) => "junction",
            Self::Fuse(_) => "fuse",
            Self::Earth(_) => "earth",
            Self::Run(_) => "run",
        }
    }
}
