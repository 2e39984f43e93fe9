//! What joins the things of a site: runs, their ends, parts and cables.

use super::{
    Answers, Input, InputLoop, Raceway, Site, Temperatures, Thing, WhichEnd, Wiegand, Wire,
};
use crate::tables::{Material, Stranding};
use crate::units::{
    ElectricCurrent, ElectricalResistance, Length, LinearCapacitance, LinearResistance,
    PricePerLength, Size, System, ThermodynamicTemperature,
};

/// A run of cable, or a stated resistance, between two ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Its name.
    pub name: String,
    /// First end.
    pub from: End,
    /// Other end.
    pub to: End,
    /// The cable, unless `resistance` is stated.
    pub cable: Option<CableRef>,
    /// The cable as typed.
    pub cable_text: String,
    /// Electrical length, one way.
    pub length: Length,
    /// The units in which its length is typed.
    pub typed: Option<System>,
    /// Stated resistance of each leg, instead of cable and length.
    pub resistance: Option<ElectricalResistance>,
    /// What it carries.
    pub carries: Carries,
    /// Conductors in each leg.
    pub parallel: u32,
    /// Conductors in the negative leg; 0: it has none.
    pub minus_parallel: u32,
    /// Parts that the positive leg passes, in order, from the `from` end.
    pub through: Vec<Part>,
    /// Splices in each leg.
    pub splices: u32,
    /// Resistance of one of its splices, instead of the design's.
    pub splice: Option<ElectricalResistance>,
    /// Has a data common of its own.
    pub common: bool,
    /// Its own conductor temperatures.
    pub temperatures: Temperatures,
    /// Where it lies.
    pub route: Option<Route>,
    /// Raceway in which it lies.
    pub raceway: Option<String>,
    /// Connected unless a case fits it.
    pub fitted: bool,
    /// Where its shield is bonded.
    pub shield: Option<ShieldBond>,
    /// Resistance of the shield per length.
    pub shield_resistance: Option<LinearResistance>,
    /// Its own cable choices.
    pub choices: Vec<CableRef>,
    /// The cable that is bought for it: `cable`, or the one of several elements that has it.
    pub jacket: Option<CableRef>,
    /// Which element of its cable it uses, from 1.
    pub element: u32,
    /// The run in whose jacket it lies.
    pub shares: Option<usize>,
    /// The runs that lie in its jacket.
    pub sharers: Vec<usize>,
    /// Length as measured, without risers; `length` is both together.
    pub measured: Option<Length>,
    /// What goes up and down, over the measured length.
    pub risers: Option<Length>,
    /// Conductors for signals beside what it carries.
    pub signal_wires: u32,
    /// Conductors as the person marks them.
    pub wires: Vec<Wire>,
    /// The two-wire bus that it is part of, as an index.
    pub bus: Option<usize>,
    /// Both ends of its Wiegand line.
    pub wiegand: Option<Wiegand>,
    /// Its supervised loop.
    pub input_loop: Option<InputLoop>,
    /// The inputs of things at which it ends, by name.
    pub inputs: Vec<(WhichEnd, String)>,
    /// Resistance of the surge parts on it, in each leg.
    pub surge: ElectricalResistance,
    /// Answers to what is asked of it.
    pub answers: Answers,
}

impl Run {
    /// Cable of a run that has one.
    pub fn cable<'s>(&self, site: &'s Site) -> Option<&'s Cable> {
        self.cable.map(|CableRef(i)| &site.cables[i])
    }

    /// Whether it lies outdoors, in the ground or overhead.
    pub fn is_outside(&self) -> bool {
        matches!(
            self.route,
            Some(Route::Outdoor | Route::Buried | Route::Overhead)
        )
    }

    /// The cable that is bought for it.
    pub fn jacket<'s>(&self, site: &'s Site) -> Option<&'s Cable> {
        self.jacket.map(|CableRef(i)| &site.cables[i])
    }

    /// Lies in another run's jacket: its cable, length, route and raceway.
    pub(crate) fn lie_in(&mut self, other: &Self, index: usize) {
        self.shares = Some(index);
        self.cable = other.jacket;
        self.jacket = other.jacket;
        self.cable_text.clone_from(&other.cable_text);
        self.length = other.length;
        self.route = other.route;
        self.raceway.clone_from(&other.raceway);
    }
}

impl Site {
    /// The runs that lie in a raceway and whose cable is bought: of one jacket the first alone.
    pub(crate) fn bought_in(&self, raceway: &Raceway) -> Vec<usize> {
        let runs = self.runs.iter().enumerate();
        runs.filter(|(_, run)| run.raceway.as_ref() == Some(&raceway.name))
            .filter(|(_, run)| run.shares.is_none() && run.jacket.is_some())
            .map(|(i, _)| i)
            .collect()
    }

    /// The input that a contact run closes at one of its ends: the one that it names there, else
    /// the only one of the thing.
    pub fn input_at(&self, run: &Run, which: WhichEnd) -> Option<&Input> {
        let end = match which {
            WhichEnd::From => run.from,
            WhichEnd::To => run.to,
        };
        let inputs = self.inputs_of(end.thing());
        match run.inputs.iter().find(|(at, _)| *at == which) {
            Some((_, name)) => inputs.iter().find(|input| input.name == *name),
            None => inputs.first().filter(|_| inputs.len() == 1),
        }
    }

    /// The inputs of a supply or device.
    pub fn inputs_of(&self, thing: Thing) -> &[Input] {
        match thing {
            Thing::Device(i) => &self.devices[i].inputs,
            Thing::Supply(i) => &self.supplies[i].inputs,
            _ => &[],
        }
    }

    /// A run and the others that use the same cable of the same jacket.
    pub fn runs_beside(&self, run: usize) -> impl Iterator<Item = &Run> {
        let owner = self.runs[run].shares.unwrap_or(run);
        let element = self.runs[run].element;
        let all = std::iter::once(owner).chain(self.runs[owner].sharers.iter().copied());
        all.map(|i| &self.runs[i])
            .filter(move |run| run.element == element)
    }
}

/// What a run carries.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "a set of eight independent members"
)]
pub struct Carries {
    /// Power: positive and negative.
    pub power: bool,
    /// Wiegand data.
    pub wiegand: bool,
    /// A balanced two-wire bus.
    pub rs485: bool,
    /// Other data.
    pub data: bool,
    /// A supervised loop.
    pub supervised: bool,
    /// A plain contact.
    pub contact: bool,
    /// Ethernet.
    pub ethernet: bool,
    /// One bonding conductor.
    pub bond: bool,
}

/// Where a cable lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Route {
    /// Inside a building.
    Indoor,
    /// In the open.
    Outdoor,
    /// In the ground.
    Buried,
    /// Overhead.
    Overhead,
}

/// One end of a run, or terminals that something sits on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// Both terminals of a supply.
    Supply(usize),
    /// A protected output: supply, output.
    Output(usize, usize),
    /// Both terminals of a device.
    Device(usize),
    /// Both terminals of a junction.
    Junction(usize),
    /// An earth.
    Earth(usize),
    /// One terminal, of bonds only: the whole, and true for plus.
    Terminal(Whole, bool),
}

/// Something that has a positive and a negative terminal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whole {
    /// A supply.
    Supply(usize),
    /// A protected output: supply, output.
    Output(usize, usize),
    /// A device.
    Device(usize),
    /// A junction.
    Junction(usize),
}

/// A part that a positive leg passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Part {
    /// A fuse.
    Fuse(usize),
    /// A relay contact: device, relay, which contact.
    Contact(usize, usize, Throw),
}

/// Which contact of a relay.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Throw {
    /// The bare relay: closed when pulled.
    Bare,
    /// Normally open: closed when pulled.
    Open,
    /// Normally closed: closed at rest.
    Closed,
}

/// Where a shield is bonded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShieldBond {
    /// At `from`.
    From,
    /// At `to`.
    To,
    /// At both ends.
    Both,
    /// Nowhere.
    None,
}

/// One conductor of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Leg {
    /// The positive leg, or the one conductor of a bond.
    Plus,
    /// The negative leg.
    Minus,
    /// The data common.
    Common,
    /// The shield.
    Shield,
}

impl Leg {
    /// All conductors.
    pub const ALL: [Self; 4] = [Self::Plus, Self::Minus, Self::Common, Self::Shield];

    /// The word behind the dot.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Plus => "plus",
            Self::Minus => "minus",
            Self::Common => "common",
            Self::Shield => "shield",
        }
    }
}

/// A cable: the site's own, a built-in one, or one spelled by gauge and count.
#[derive(Clone, Debug, PartialEq)]
pub struct Cable {
    /// Its name.
    pub name: String,
    /// Conductor size.
    pub size: Size,
    /// Number of conductors.
    pub conductors: u32,
    /// How conductors are stranded.
    pub stranding: Stranding,
    /// What conductors are made of.
    pub material: Material,
    /// Has a shield.
    pub shielded: bool,
    /// Stated resistance per length of one conductor, instead of the table.
    pub resistance: Option<LinearResistance>,
    /// Temperature of the stated resistance.
    pub resistance_at: ThermodynamicTemperature,
    /// Reactance per length of one conductor at 60 Hz.
    pub reactance: Option<LinearResistance>,
    /// Stated current limit of one conductor.
    pub current: Option<ElectricCurrent>,
    /// Capacitance per length.
    pub capacitance: Option<LinearCapacitance>,
    /// Outer diameter.
    pub diameter: Option<Length>,
    /// Rated for: wet, burial and the like, as typed.
    pub rated: Option<Vec<String>>,
    /// Price per length.
    pub price: Option<PricePerLength>,
    /// Cables that lie in this one's jacket; empty: it is one.
    pub elements: Vec<CableRef>,
    /// Lengths that it is sold on; empty: cut to length.
    pub spools: Vec<Length>,
    /// Colours of its conductors, in order.
    pub colours: Vec<String>,
    /// Keys that the file left out and that matter.
    pub silent: Vec<&'static str>,
}

/// Index into [`Site::cables`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct CableRef(pub usize);

/// A device named by another thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DeviceRef(pub usize);

impl End {
    /// The thing that it is, or is a part of.
    pub const fn thing(self) -> Thing {
        match self {
            Self::Supply(i) | Self::Output(i, _) => Thing::Supply(i),
            Self::Device(i) => Thing::Device(i),
            Self::Junction(i) => Thing::Junction(i),
            Self::Earth(i) => Thing::Earth(i),
            Self::Terminal(whole, _) => match whole {
                Whole::Supply(i) | Whole::Output(i, _) => Thing::Supply(i),
                Whole::Device(i) => Thing::Device(i),
                Whole::Junction(i) => Thing::Junction(i),
            },
        }
    }
}
