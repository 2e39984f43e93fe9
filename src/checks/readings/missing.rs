//! What the readings leave out.

use crate::checks::{Check, Finding};
use crate::diagnostic::Severity;
use crate::readings::Readings;

pub(crate) const MISSING: Check = Check {
    code: "reading-missing",
    question: "is everything noted that readings need to be of use?",
    formula: "volts at both ends, amps, case, meter, time and temperature are noted",
    source: "common practice, no source",
};

/// One ask for the whole site.
pub(super) fn check(readings: &Readings, found: &mut Vec<Finding>) {
    if readings.missing.is_empty() {
        return;
    }
    let list = readings.missing.join("; ");
    let message = format!("the readings leave something out: {list}");
    found.push(MISSING.finding(Severity::Ask, "site", message));
}
