//! What stands on a site: supplies, devices, junctions, fuses, earths and places.

use super::{
    Answers, AtBoot, Battery, Coil, ContactMaterial, DcSide, DeviceRef, End, Input, Limiting,
    Nameplate, Poe, Restrained, Solar, TerminalFit, Wake, WithoutPower,
};
use crate::units::{
    Draw, ElectricCurrent, ElectricPotential, ElectricalResistance, Frequency, Length, Ratio,
    Resistivity, Time,
};

/// The key of a draw that is no state: what a device takes over a day, for energy alone.
pub const AVERAGE: &str = "average";

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
    /// What its nameplate states, from which volts, resistance and current follow.
    pub nameplate: Nameplate,
    /// Volts without load, stated or following from the nameplate.
    pub voltage: ElectricPotential,
    /// Spread of the volts, each way; silent: none.
    pub tolerance: Option<Ratio>,
    /// Least volts, instead of the tolerance.
    pub lowest: Option<ElectricPotential>,
    /// Most volts, instead of the tolerance.
    pub highest: Option<ElectricPotential>,
    /// Resistance of the source, stated or following from `loaded` or the nameplate; silent: ideal.
    pub resistance: Option<ElectricalResistance>,
    /// Volts and amps of a loaded reading, from which the resistance follows.
    pub loaded: Option<(ElectricPotential, ElectricCurrent)>,
    /// Rated current, continuous, stated or following from the nameplate.
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
    /// Its limiter and the diode at its output.
    pub restrained: Restrained,
    /// What its terminals take.
    pub fit: TerminalFit,
    /// Protected outputs in file order.
    pub outputs: Vec<Output>,
    /// Its ports, where it is a switch.
    pub poe: Option<Poe>,
    /// The battery behind it.
    pub battery: Option<Battery>,
    /// The panel that charges the battery.
    pub solar: Option<Solar>,
    /// Answers to what is asked of it.
    pub answers: Answers,
    /// Inputs for contacts, where it is an operator, in file order.
    pub inputs: Vec<Input>,
}

impl Supply {
    /// The amps at which its limiter holds: as stated, else its peak, else its rated current.
    pub fn limits_at(&self) -> Option<ElectricCurrent> {
        let stated = self.restrained.limit_current;
        stated.or(self.peak).or(self.current)
    }

    /// Whether its limiter or its diode enters the solution.
    pub fn is_restrained(&self) -> bool {
        let limit = self
            .restrained
            .limit
            .filter(|limit| *limit != Limiting::None);
        let limits = limit.is_some() && self.limits_at().is_some();
        limits || self.restrained.one_way.is_some()
    }
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
    /// Class of power over Ethernet of this port, instead of the supply's.
    pub poe_class: Option<u8>,
}

/// A device: anything that draws, switches or only listens.
#[derive(Clone, Debug, PartialEq)]
pub struct Device {
    /// Its name.
    pub name: String,
    /// What it is; one of [`crate::site::fields::DEVICE_KINDS`].
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
    /// Its rectifier and what lies behind it.
    pub dc: DcSide,
    /// Under which volts it gives up, and over which it starts.
    pub wake: Wake,
    /// What its terminals take.
    pub fit: TerminalFit,
    /// Relays in file order.
    pub relays: Vec<Relay>,
    /// What lies between its data common and its negative.
    pub tie: Tie,
    /// Class of power over Ethernet that it asks for.
    pub poe_class: Option<u8>,
    /// Protects people from the gate.
    pub safety: Option<bool>,
    /// The door or gate that it is on, as an index.
    pub door: Option<usize>,
    /// What it does without power, where it locks something.
    pub without_power: Option<WithoutPower>,
    /// Its coil and what suppresses it.
    pub coil: Coil,
    /// Inputs for contacts in file order.
    pub inputs: Vec<Input>,
    /// Answers to what is asked of it.
    pub answers: Answers,
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

    /// The draws of its states; what it draws on average is for energy alone, and no state.
    pub fn state_draws(&self) -> impl Iterator<Item = &(String, Draw)> {
        self.draw.iter().filter(|(state, _)| state != AVERAGE)
    }

    /// Is of a kind that everything else hangs on.
    pub fn is_head(&self) -> bool {
        matches!(self.kind.as_deref(), Some("hub" | "panel" | "controller"))
    }

    /// Draws nothing in any state.
    pub fn draws_nothing(&self) -> bool {
        self.draw.iter().all(|(_, d)| matches!(d, Draw::Off))
    }
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
    /// Rated volts of the contact, dc.
    pub voltage: Option<ElectricPotential>,
    /// Rated volts of the contact, ac.
    pub ac_voltage: Option<ElectricPotential>,
    /// Kind of contact as typed.
    pub contact: Option<String>,
    /// What it is made of.
    pub material: Option<ContactMaterial>,
    /// How it stands while its device starts.
    pub at_boot: Option<AtBoot>,
    /// How long it stays pulled.
    pub pulse: Option<Time>,
    /// Operations that it is good for at its rating.
    pub life: Option<f64>,
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
    /// Answers to what is asked of it.
    pub answers: Answers,
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
    /// Answers to what is asked of it.
    pub answers: Answers,
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
    /// Resistance to remote earth, stated or following from soil and rod.
    pub resistance: Option<ElectricalResistance>,
    /// Resistivity of the soil.
    pub soil: Option<Resistivity>,
    /// Length of the rod in the soil.
    pub length: Option<Length>,
    /// Diameter of the rod.
    pub diameter: Option<Length>,
    /// Answers to what is asked of it.
    pub answers: Answers,
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
    /// The building that it is part of.
    pub building: Option<String>,
    /// The sun shines on it.
    pub sun: Option<bool>,
    /// Salt, ammonia or chlorine is in the air.
    pub corrosive: Option<bool>,
    /// What its box is made of, as typed.
    pub made_of: Option<String>,
    /// Width, height and depth of its box.
    pub box_size: Option<[Length; 3]>,
}
