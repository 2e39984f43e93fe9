//! Signal lines: whether what is sent still arrives as what it was.
//!
//! Lines are judged in cases with nothing broken: what a break does is told where the paths of the
//! return current are judged.

mod bus;
mod line;
mod lows;
mod safety;
mod shield;
mod supervised;
mod wiegand;

pub(crate) use bus::taken as bus_taken;
pub(crate) use bus::{BIAS, COMMON_MODE, IDLE, RATE, REFERENCE, STUBS, SWING, TERMINATORS, UNITS};
pub(crate) use line::{Line, lines, sent_from, taken_at};
pub(crate) use lows::lows;
pub(crate) use safety::SAFETY;
pub(crate) use shield::SHIELD;
pub(crate) use supervised::crossing as leak_that_crosses;
pub(crate) use supervised::taken as loop_taken;
pub(crate) use supervised::{CABLE, END, HIDES, LEAKAGE, LOOP_COMMON, WINDOWS};
pub(crate) use wiegand::low_with as wiegand_low;
pub(crate) use wiegand::taken as wiegand_taken;
pub(crate) use wiegand::worst_low as wiegand_worst;
pub(crate) use wiegand::{BELOW, DRIVE, EDGE, HIGH, LENGTH, LOW, PULSE, TWIST, ZERO};

use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look};

pub(crate) const UNKNOWN: Check = Check {
    code: "signal-unknown",
    question: "What is missing to judge this line?",
    formula: "what is not stated decides",
    source: "the data sheets of both ends; unknown never passes",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let mut asks = Asks::of(UNKNOWN);
    wiegand::check(look, &mut asks, found);
    bus::check(look, &mut asks, found);
    supervised::check(look, &mut asks, found);
    shield::check(look, &mut asks, found);
    safety::check(look, &mut asks, found);
    found.extend(asks.into_findings());
}
