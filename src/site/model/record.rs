//! What happens on a site and what people noted: cases, accepted findings.

use super::Leg;
use crate::units::ThermodynamicTemperature;

/// What happens at once.
#[derive(Clone, Debug, Default, PartialEq)]
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
