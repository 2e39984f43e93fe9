//! What alternating current adds: a transformer's nameplate, and the rectifier of a device.

use crate::units::{
    ApparentPower, Capacitance, ElectricCurrent, ElectricPotential, ElectricalResistance, Measure,
    Ratio,
};

/// The nameplate of a transformer, as far as it is stated.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Nameplate {
    /// Volts at rated load.
    pub voltage: Option<ElectricPotential>,
    /// Rated volt-amperes.
    pub rating: Option<ApparentPower>,
    /// Rise of the volts from rated load to no load, as a part of the rated volts.
    pub regulation: Option<Ratio>,
}

/// What follows from a nameplate.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Following {
    /// Volts without load.
    pub voltage: Option<ElectricPotential>,
    /// Source resistance.
    pub resistance: Option<ElectricalResistance>,
    /// Rated current.
    pub current: Option<ElectricCurrent>,
}

impl Nameplate {
    /// What follows: with V the rated volts, S the rating and g the regulation, V (1 + g) without
    /// load, V g / (S / V) behind it, which leaves V at the rated S / V; silent g is 0.
    pub fn following(&self) -> Following {
        let Some(rated) = self.voltage else {
            return Following::default();
        };
        let regulation = self.regulation.map_or(0.0, |g| g.value);
        let amps = |va: ApparentPower| ElectricCurrent::from_base(va.base() / rated.base());
        let current = self.rating.map(amps);
        Following {
            voltage: Some(rated * (1.0 + regulation)),
            resistance: current
                .filter(|_| self.regulation.is_some())
                .map(|amps| rated * regulation / amps),
            current,
        }
    }
}

/// How a device on ac makes its own dc.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Rectifier {
    /// It has none.
    #[default]
    None,
    /// One diode in leg 1: its dc negative is leg 2.
    HalfWave,
    /// Four diodes: its dc negative lies one diode below either leg.
    Bridge,
    /// It has one, of a kind that is not known.
    Unknown,
}

impl Rectifier {
    /// Diodes in the way of the current; those of a bridge where the kind is unknown.
    pub const fn diodes(self) -> u8 {
        match self {
            Self::None => 0,
            Self::HalfWave => 1,
            Self::Bridge | Self::Unknown => 2,
        }
    }
}

/// The dc side of a device.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DcSide {
    /// What makes its dc.
    pub rectifier: Rectifier,
    /// Volts lost in one diode; silent: none.
    pub diode_drop: Option<ElectricPotential>,
    /// The capacitor behind the rectifier; silent: so large that nothing ripples.
    pub reservoir: Option<Capacitance>,
    /// Least dc volts behind the rectifier.
    pub lowest: Option<ElectricPotential>,
    /// Most dc volts behind the rectifier.
    pub highest: Option<ElectricPotential>,
}

impl DcSide {
    /// Whether there is a rectifier, and with it a dc side.
    pub fn is_rectified(&self) -> bool {
        self.rectifier != Rectifier::None
    }

    /// Volts lost in all the diodes that the current passes.
    pub fn diodes(&self) -> ElectricPotential {
        let one = self.diode_drop.unwrap_or_default();
        one * f64::from(self.rectifier.diodes())
    }
}
