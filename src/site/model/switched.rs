//! What relays switch: coils with their suppression, and the inputs that a contact closes.

use crate::units::{ElectricCurrent, ElectricPotential, Inductance, Ratio, Time};

/// The current that a coil is made for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CoilKind {
    /// Direct current.
    Dc,
    /// Alternating current.
    Ac,
}

/// The part that takes up what a coil gives back when it is switched off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clamp {
    /// There is none.
    None,
    /// A diode across the coil, cathode to plus.
    Diode,
    /// A diode and a zener diode in series.
    DiodeAndZener,
    /// A varistor.
    Varistor,
    /// A zener pair that clamps both ways.
    TwoWay,
    /// A resistor and a capacitor in series.
    Rc,
    /// Somebody looked and could not tell.
    Unknown,
}

/// Where a clamp sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClampAt {
    /// At the coil.
    Load,
    /// At the contact that switches it.
    Contact,
}

/// The coil of a lock, a strike or the like. Judged, it changes no solution.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Coil {
    /// What it is made for; silent: as its supply.
    pub kind: Option<CoilKind>,
    /// Its suppression; silent: not known.
    pub clamp: Option<Clamp>,
    /// Where that sits; silent: at the coil.
    pub clamp_at: Option<ClampAt>,
    /// Volts across the clamp while the coil gives back its current.
    pub clamp_voltage: Option<ElectricPotential>,
    /// Its inductance.
    pub inductance: Option<Inductance>,
    /// Amps at which it lets go.
    pub release_current: Option<ElectricCurrent>,
    /// Longest time that it may be energised at one go.
    pub on_time: Option<Time>,
    /// How often it is switched in a day.
    pub cycles: Option<f64>,
    /// Share of the time that it may be energised; the whole: made for always.
    pub duty: Option<Ratio>,
}

/// What the contacts of a relay are made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ContactMaterial {
    /// Silver or one of its alloys.
    Silver,
    /// Gold, or gold over silver.
    Gold,
    /// No contact at all: a transistor or the like.
    SolidState,
}

/// How a relay stands while its device starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AtBoot {
    /// At rest.
    Rest,
    /// Pulled.
    Pulled,
    /// Nobody can tell.
    Unknown,
}

/// What an input makes its device do; one of [`crate::site::fields::DOES`] by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Does {
    /// Opens.
    Open,
    /// Closes.
    Close,
    /// Stops.
    Stop,
    /// Opens, stops, closes, in turn.
    Step,
    /// Holds open as long as it is closed.
    HoldOpen,
    /// Takes what protects people.
    Safety,
    /// Puts what protects people out of work.
    Bypass,
    /// Starts the device anew after a fault.
    Reset,
    /// Lets a door go.
    Release,
    /// Anything else.
    Other,
}

impl Does {
    /// All, in the order of the words of the format.
    pub const ALL: [Self; 10] = [
        Self::Open,
        Self::Close,
        Self::Stop,
        Self::Step,
        Self::HoldOpen,
        Self::Safety,
        Self::Bypass,
        Self::Reset,
        Self::Release,
        Self::Other,
    ];
}

/// `[device.X.input.Y]`, also of a supply: an input that a contact closes.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// Name within its device or supply.
    pub name: String,
    /// What it makes it do.
    pub does: Option<Does>,
    /// Volts that it puts on the open contact itself.
    pub voltage: Option<ElectricPotential>,
    /// Amps that it drives through the closed contact.
    pub current: Option<ElectricCurrent>,
    /// It supplies its own volts and bears no others.
    pub dry: Option<bool>,
    /// Shortest pulse that it sees.
    pub shortest: Option<Time>,
    /// Longest pulse that it takes for a pulse.
    pub longest: Option<Time>,
}
