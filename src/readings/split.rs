//! In which leg of a run the ohms are.

use crate::readings::error::Estimate;
use crate::readings::model::{Ohms, Way};
use crate::readings::path::PathOhms;
use crate::site::{Leg, Site};
use crate::units::{ElectricalResistance, Measure};

/// A leg with this part of what is too much has it all; what is alike in both is this much off even
/// at most (common practice, no source).
const ALL: f64 = 0.8;
const ALIKE: f64 = 0.15;

/// What both legs have over what they should have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Split {
    /// The positive leg.
    pub plus: Estimate<ElectricalResistance>,
    /// The negative leg.
    pub minus: Estimate<ElectricalResistance>,
    /// Where it is.
    pub lies: Lies,
}

/// Where the ohms are that a run has too many.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lies {
    /// Shared as the wire itself is: its gauge, metal or length, or joints in both legs.
    Alike,
    /// Nearly all in one leg.
    In(Leg),
    /// Neither.
    Uneven,
}

impl Split {
    /// From both legs, or from one and the whole loop.
    pub(super) fn of(site: &Site, whole: &PathOhms, legs: [Option<&PathOhms>; 2]) -> Option<Self> {
        if legs.iter().all(Option::is_none) {
            return None;
        }
        let run = &site.runs[whole.run];
        let should =
            [Leg::Plus, Leg::Minus].map(|leg| Ohms::of(site, run, Way::Leg(leg), whole.at));
        let [Some(plus), Some(minus)] = should else {
            return None;
        };
        let should = [plus, minus].map(Ohms::estimate);
        // Fuses and contacts are in no leg: what they have is taken off the whole.
        let parts = whole.expected.value - should[0].value - should[1].value;
        let excess = |i: usize| -> Option<Estimate<ElectricalResistance>> {
            let (found, u) = match legs[i] {
                Some(leg) => (leg.found.value, leg.found.u.base()),
                None => {
                    let other = legs[1 - i]?;
                    let u = whole.found.u.base().hypot(other.found.u.base());
                    (whole.found.value - parts - other.found.value, u)
                }
            };
            let over = (found - should[i].value).base();
            Some(Estimate::of(over, u.hypot(should[i].u.base())))
        };
        let (plus, minus) = (excess(0)?, excess(1)?);
        let all = (plus.value + minus.value).base();
        let share = plus.value.base() / all;
        let wire = should[0].value.base() / (should[0].value + should[1].value).base();
        let lies = if share >= ALL {
            Lies::In(Leg::Plus)
        } else if share <= 1.0 - ALL {
            Lies::In(Leg::Minus)
        } else if (share - wire).abs() <= ALIKE {
            Lies::Alike
        } else {
            Lies::Uneven
        };
        Some(Self { plus, minus, lies })
    }
}
