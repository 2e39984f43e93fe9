//! What keeps a source from giving whatever its ohms let through: a diode and a limiter.

use crate::site::{Limiting, Supply, SupplyKind};
use crate::units::Measure;

/// How a limiter holds the current back once it would pass its limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Manner {
    /// The current stays at the limit, and the volts fall.
    Hard,
    /// The current falls with the volts, in a straight line, to [`SHORT_SHARE`] of the limit at
    /// no volts.
    Foldback,
    /// The source stops and tries again for ever: there is no steady state.
    Hiccup,
}

/// Part of its limit that a folding limiter leaves at no volts. Common practice, no source; made
/// limiters lie between a quarter and a half.
pub const SHORT_SHARE: f64 = 1.0 / 3.0;

/// A limiter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limiter {
    /// What it does at the limit.
    pub manner: Manner,
    /// The limit in amperes.
    pub amps_a: f64,
}

/// A diode and a limiter of one source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Restraint {
    /// Index into `Circuit::sources`.
    pub source: usize,
    /// Volts that a diode at the output loses while it conducts; it lets nothing back.
    pub diode_v: Option<f64>,
    /// The limiter.
    pub limiter: Option<Limiter>,
}

/// A source at its limit: what it gives no longer follows from its own volts and ohms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// Amperes out of the plus at no volts between the terminals.
    pub amps_a: f64,
    /// Amperes more for each volt.
    pub siemens: f64,
}

impl Restraint {
    /// The diode and the limiter of a supply that states one with its amps.
    ///
    /// What an ac supply at its limit gives is no sine and has no steady rms that is solved here: any
    /// limiter of it counts as one without a steady state, and a diode of it does not count.
    pub(super) fn of(source: usize, supply: &Supply) -> Option<Self> {
        let ac = supply.kind == SupplyKind::Ac;
        let manner = match supply.restrained.limit {
            None | Some(Limiting::None) => None,
            Some(_) if ac => Some(Manner::Hiccup),
            Some(Limiting::Hard) => Some(Manner::Hard),
            Some(Limiting::Foldback) => Some(Manner::Foldback),
            Some(Limiting::Hiccup) => Some(Manner::Hiccup),
        };
        let limiter = manner
            .zip(supply.limits_at())
            .map(|(manner, amps)| Limiter {
                manner,
                amps_a: amps.base(),
            });
        let diode_v = supply.restrained.one_way.filter(|_| !ac).map(Measure::base);
        (limiter.is_some() || diode_v.is_some()).then_some(Self {
            source,
            diode_v,
            limiter,
        })
    }

    /// Volts that the source has without load, behind its diode.
    pub fn open_v(&self, volts_v: f64) -> f64 {
        (volts_v - self.diode_v.unwrap_or(0.0)).max(0.0)
    }
}

impl Limiter {
    /// Volts at the terminals at which the limiter begins to hold, of a source of these open volts
    /// and ohms: V - R I.
    pub fn knee_v(&self, open_v: f64, resistance_ohm: f64) -> f64 {
        open_v - resistance_ohm * self.amps_a
    }

    /// What the source gives while the limiter holds; nothing where there is no steady state, or
    /// where the ohms alone keep the current under the limit.
    pub fn held(&self, knee_v: f64) -> Option<Held> {
        if knee_v <= 0.0 {
            return None;
        }
        match self.manner {
            Manner::Hard => Some(Held {
                amps_a: self.amps_a,
                siemens: 0.0,
            }),
            Manner::Foldback => Some(Held {
                amps_a: self.amps_a * SHORT_SHARE,
                siemens: self.amps_a * (1.0 - SHORT_SHARE) / knee_v,
            }),
            Manner::Hiccup => None,
        }
    }
}
