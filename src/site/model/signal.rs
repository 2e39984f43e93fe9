//! What lines carry besides power: Wiegand data, supervised loops, two-wire buses; and the surge
//! parts on them.

use super::{Answers, DeviceRef};
use crate::units::{
    BitRate, ElectricCurrent, ElectricPotential, ElectricalResistance, Ratio, Time,
};

/// `[run.X.wiegand]`: both ends of a Wiegand line. Judged, it changes no solution.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Wiegand {
    /// The device that sends; silent: the reader or keypad at one end.
    pub sender: Option<DeviceRef>,
    /// Volts to which the data is pulled up.
    pub voltage: Option<ElectricPotential>,
    /// The resistor that pulls each data conductor up.
    pub pull_up: Option<ElectricalResistance>,
    /// The device that has it; silent: the receiver.
    pub pull_up_at: Option<DeviceRef>,
    /// Most volts of a low at the sender.
    pub low_out: Option<ElectricPotential>,
    /// Most volts that the receiver takes for a low.
    pub low_in: Option<ElectricPotential>,
    /// Least volts that the receiver takes for a high.
    pub high_in: Option<ElectricPotential>,
    /// Amps that the sender can sink.
    pub drive: Option<ElectricCurrent>,
    /// Length of a pulse as sent.
    pub pulse: Option<Time>,
    /// Time between two pulses as sent.
    pub gap: Option<Time>,
    /// Whether the two data conductors are one twisted pair.
    pub twisted_together: Option<bool>,
}

/// How the resistors of a supervised loop stand with its contact.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoopLayout {
    /// The contact lies across `trip`: closed shows end, open shows end + trip.
    Series,
    /// Contact and `trip` lie across `end`: open shows end, closed shows both in parallel.
    Parallel,
}

/// Where the end resistor of a supervised loop sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EndAt {
    /// At the contact, so that the cable is watched.
    Device,
    /// In the hub's box, so that it is not.
    Hub,
}

/// A state that the input of a supervised loop tells from the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LoopState {
    /// The cable is shorted.
    Short,
    /// The contact as it stands most of the time.
    Normal,
    /// The contact as it stands when something happens.
    Active,
    /// The cable is cut.
    Open,
}

impl LoopState {
    /// All states, in the order of the format.
    pub const ALL: [Self; 4] = [Self::Short, Self::Normal, Self::Active, Self::Open];

    /// The key of its window.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Short => "short",
            Self::Normal => "normal",
            Self::Active => "active",
            Self::Open => "open",
        }
    }
}

/// `[run.X.loop]`: an input that watches a contact and its cable by volts. It changes no solution.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct InputLoop {
    /// Volts behind the pull-up.
    pub voltage: Option<ElectricPotential>,
    /// The resistor between those volts and the input.
    pub pull_up: Option<ElectricalResistance>,
    /// The end resistor.
    pub end: Option<ElectricalResistance>,
    /// The resistor that the contact switches.
    pub trip: Option<ElectricalResistance>,
    /// How they stand with the contact.
    pub layout: Option<LoopLayout>,
    /// Where the end resistor sits.
    pub end_at: Option<EndAt>,
    /// Resistance of the closed contact; silent: none.
    pub contact: Option<ElectricalResistance>,
    /// Spread of all resistors, each way.
    pub tolerance: Option<Ratio>,
    /// Least resistance across the cable when it is wet.
    pub leakage: Option<ElectricalResistance>,
    /// Volts between which the input reads each state, in the order of [`LoopState::ALL`].
    pub windows: [Option<(ElectricPotential, ElectricPotential)>; 4],
}

/// `[bus.X]`: a balanced two-wire bus over several runs. It changes no solution.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bus {
    /// Its name.
    pub name: String,
    /// Bits in a second.
    pub rate: Option<BitRate>,
    /// Devices that have a terminator, as indices; silent: not known.
    pub terminators: Option<Vec<usize>>,
    /// Resistance of one terminator.
    pub terminator: Option<ElectricalResistance>,
    /// Each of the two bias resistors; silent: there are none.
    pub bias: Option<ElectricalResistance>,
    /// The devices that have a pair of them, as indices; silent: one does.
    pub bias_at: Vec<usize>,
    /// Volts across both bias resistors and the line.
    pub bias_voltage: Option<ElectricPotential>,
    /// Volts of a driver between the two conductors, loaded.
    pub driver: Option<ElectricPotential>,
    /// Whether all receivers take an idle line for a one by themselves.
    pub holds_idle: Option<bool>,
    /// Unit loads of all receivers together; silent: one for each device.
    pub units: Option<f64>,
    /// Answers to what is asked of it.
    pub answers: Answers,
}

/// Which end of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WhichEnd {
    /// `from`.
    From,
    /// `to`.
    To,
}

/// `[surge.X]`: a surge part on one end of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Surge {
    /// Its name.
    pub name: String,
    /// The run, as an index.
    pub line: usize,
    /// The end at which it sits.
    pub end: Option<WhichEnd>,
    /// Most volts at which it does nothing.
    pub working: Option<ElectricPotential>,
    /// Resistance in each leg, solved; silent: none.
    pub resistance: Option<ElectricalResistance>,
    /// The earth that it leads to, as an index.
    pub earth: Option<usize>,
}
