//! The site as typed values: what the file says, with every reference resolved.
//!
//! Lists stand in file order; a reference is an index into one of them. A field that the file
//! leaves out is `None` where its absence matters, else the default of the format.

use std::collections::HashMap;

use crate::tables::{Material, Stranding};
use crate::units::{
    Draw, ElectricCurrent, ElectricPotential, ElectricalResistance, Frequency, Length,
    LinearCapacitance, LinearResistance, PricePerLength, Ratio, Size, System,
    ThermodynamicTemperature,
};

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
    /// Places with properties of their own.
    pub places: Vec<Place>,
    /// States that never stand together.
    pub exclusive: Vec<Exclusive>,
    /// Cable choices for every power run, as indices into `cables`.
    pub choices: Vec<CableRef>,
    /// Readings taken on site.
    pub readings: Vec<Reading>,
    /// Findings that somebody accepted.
    pub accepted: Vec<Accepted>,
    /// Every name of the shared name space.
    pub names: HashMap<String, Thing>,
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

/// Direct or alternating current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SupplyKind {
    /// Direct current.
    Dc,
    /// Alternating current; volts are rms.
    Ac,
}

/// A supply: a source of voltage behind a resistance.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// Its name.
    pub name: String,
    /// Where it stands.
    pub place: Option<String>,
    /// dc or ac.
    pub kind: SupplyKind,
    /// Frequency of an ac supply.
    pub frequency: Option<Frequency>,
    /// Volts without load.
    pub voltage: ElectricPotential,
    /// Spread of the volts, each way; silent: none.
    pub tolerance: Option<Ratio>,
    /// Least volts, instead of the tolerance.
    pub lowest: Option<ElectricPotential>,
    /// Most volts, instead of the tolerance.
    pub highest: Option<ElectricPotential>,
    /// Resistance of the source, stated or following from `loaded`; silent: ideal.
    pub resistance: Option<ElectricalResistance>,
    /// Volts and amps of a loaded reading, from which the resistance follows.
    pub loaded: Option<(ElectricPotential, ElectricCurrent)>,
    /// Rated current, continuous.
    pub current: Option<ElectricCurrent>,
    /// Current for inrush cases; silent: as `current`.
    pub peak: Option<ElectricCurrent>,
    /// Power-limited class that it is listed as: 2 or 3.
    pub class: Option<u8>,
    /// Negative tied to the earth terminal.
    pub negative_earthed: bool,
    /// Device whose output this supply is.
    pub fed_by: Option<DeviceRef>,
    /// Share of the device's power that arrives; silent: all.
    pub efficiency: Option<Ratio>,
    /// With `fed_by`: its negative is its own.
    pub isolated: bool,
    /// Terminals that it sits on, instead of a run.
    pub on: Option<End>,
    /// Protected outputs in file order.
    pub outputs: Vec<Output>,
}

/// One protected output of a supply.
#[derive(Clone, Debug, PartialEq)]
pub struct Output {
    /// Name within the supply.
    pub name: String,
    /// Rated current.
    pub current: Option<ElectricCurrent>,
    /// Resistance in the positive leg; silent: none.
    pub resistance: Option<ElectricalResistance>,
}

/// A device: anything that draws, switches or only listens.
#[derive(Clone, Debug, PartialEq)]
pub struct Device {
    /// Its name.
    pub name: String,
    /// What it is; one of [`super::fields::DEVICE_KINDS`].
    pub kind: Option<String>,
    /// Row of the built-in device table.
    pub like: Option<String>,
    /// Keys that the row filled in.
    pub filled: Vec<(&'static str, String)>,
    /// Where it stands.
    pub place: Option<String>,
    /// Least volts at its terminals.
    pub lowest: Option<ElectricPotential>,
    /// Most volts at its terminals.
    pub highest: Option<ElectricPotential>,
    /// Negative tied to the earth terminal.
    pub negative_earthed: bool,
    /// Terminals that it sits on, instead of a run.
    pub on: Option<End>,
    /// What it draws by state, in file order.
    pub draw: Vec<(String, Draw)>,
    /// Power factor of its VA and W draws, lagging.
    pub power_factor: Option<f64>,
    /// Relays in file order.
    pub relays: Vec<Relay>,
    /// What lies between its data common and its negative.
    pub tie: Tie,
}

/// What lies between a device's data common and its negative.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tie {
    /// The two are one.
    Joined,
    /// A resistance.
    Through(ElectricalResistance),
    /// An isolator.
    Isolated,
}

/// A relay of a device.
#[derive(Clone, Debug, PartialEq)]
pub struct Relay {
    /// Name within the device.
    pub name: String,
    /// Contact resistance; silent: none.
    pub resistance: Option<ElectricalResistance>,
    /// Rated current of the contact.
    pub current: Option<ElectricCurrent>,
    /// Rated volts of the contact.
    pub voltage: Option<ElectricPotential>,
    /// Kind of contact as typed.
    pub contact: Option<String>,
}

/// A splice box or terminal block.
#[derive(Clone, Debug, PartialEq)]
pub struct Junction {
    /// Its name.
    pub name: String,
    /// Where it stands.
    pub place: Option<String>,
    /// Terminals that it sits on, instead of a run.
    pub on: Option<End>,
}

/// A fuse, breaker or other overcurrent device.
#[derive(Clone, Debug, PartialEq)]
pub struct Fuse {
    /// Its name.
    pub name: String,
    /// Where it stands.
    pub place: Option<String>,
    /// Rated current.
    pub current: Option<ElectricCurrent>,
    /// fuse, breaker, resettable or electronic.
    pub kind: Option<String>,
    /// Resistance; silent: none.
    pub resistance: Option<ElectricalResistance>,
}

/// A connection to earth or to bonded metal.
#[derive(Clone, Debug, PartialEq)]
pub struct Earth {
    /// Its name.
    pub name: String,
    /// Where it stands.
    pub place: Option<String>,
    /// rod, building, bar or metal.
    pub kind: Option<String>,
    /// Resistance to remote earth.
    pub resistance: Option<ElectricalResistance>,
}

/// A place with properties that checks ask for.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Its name, as things spell it in `place`.
    pub name: String,
    /// It gets wet.
    pub wet: Option<bool>,
    /// People touch it with wet skin.
    pub wet_contact: Option<bool>,
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

/// Index into [`Site::cables`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct CableRef(pub usize);

/// A device named by another thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DeviceRef(pub usize);

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
    /// Keys that the file left out and that matter.
    pub silent: Vec<&'static str>,
}

/// What happens at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Its name.
    pub name: String,
    /// State of devices that are not idle.
    pub states: Vec<(usize, String)>,
    /// Relays that the case sets: device, relay, pulled.
    pub relays: Vec<(usize, usize, bool)>,
    /// Conductors that are open.
    pub broken: Vec<(usize, Leg)>,
    /// Runs that this case fits.
    pub fitted: Vec<usize>,
    /// Replaces all conductor temperatures.
    pub temperature: Option<ThermodynamicTemperature>,
}

/// States that never stand together: device, state.
#[derive(Clone, Debug, PartialEq)]
pub struct Exclusive {
    /// Members.
    pub states: Vec<(usize, String)>,
}

/// A reading taken on site.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Where, as typed.
    pub at: String,
    /// Other lead, as typed.
    pub to: Option<String>,
    /// What the meter showed, as typed.
    pub value: String,
    /// In which case.
    pub case: Option<String>,
    /// The meter, as typed.
    pub meter: Option<String>,
}

/// A finding that somebody accepted.
#[derive(Clone, Debug, PartialEq)]
pub struct Accepted {
    /// Code of the check.
    pub finding: String,
    /// Name of the subject.
    pub subject: String,
    /// In which case; absent: all.
    pub case: Option<String>,
    /// Holds while it is no worse than this, as typed.
    pub value: Option<String>,
    /// Who.
    pub by: Option<String>,
    /// Why.
    pub why: Option<String>,
    /// When.
    pub on: Option<String>,
}

impl Site {
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

impl Run {
    /// Cable of a run that has one.
    pub fn cable<'s>(&self, site: &'s Site) -> Option<&'s Cable> {
        self.cable.map(|CableRef(i)| &site.cables[i])
    }
}

impl Device {
    /// What the device draws in a state: the state's own draw, else the one that stands in for it
    /// (inrush as active, any other state as active, active as idle).
    pub fn draw_in(&self, state: &str) -> Draw {
        let find = |key: &str| self.draw.iter().find(|(k, _)| k == key).map(|(_, d)| *d);
        if state == "off" {
            return Draw::Off;
        }
        let own = find(state);
        match state {
            "idle" => own,
            "active" => own.or_else(|| find("idle")),
            _ => own.or_else(|| find("active")).or_else(|| find("idle")),
        }
        .unwrap_or(Draw::Off)
    }

    /// Draws nothing in any state.
    pub fn draws_nothing(&self) -> bool {
        self.draw.iter().all(|(_, d)| matches!(d, Draw::Off))
    }
}
