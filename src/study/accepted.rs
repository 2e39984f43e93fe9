//! Findings that somebody accepted, and whether that still holds.

use crate::checks::{Finding, Worse};
use crate::diagnostic::Severity;
use crate::results::Results;
use crate::site::Site;
use crate::units::{self, ElectricCurrent, ElectricPotential, Measure};

/// The acceptance under which a finding no longer counts. A stop always counts, and so does
/// whatever got worse than it was when it was accepted.
pub(crate) fn holds(site: &Site, results: &Results, finding: &Finding) -> Option<usize> {
    if finding.severity == Severity::Stop {
        return None;
    }
    site.accepted.iter().position(|a| {
        let case = finding.case.map(|c| results.cases[c].name.as_str());
        let about = a.finding == finding.code && a.subject == finding.subject;
        let same_case = a.case.is_none() || a.case.as_deref() == case;
        about && same_case && no_worse(finding, a.value.as_deref())
    })
}

fn no_worse(finding: &Finding, accepted: Option<&str>) -> bool {
    let (Some(text), Some(value)) = (accepted, finding.value) else {
        return accepted.is_none();
    };
    let volts = || units::read::<ElectricPotential>(text).map(Measure::base);
    let amps = || units::read::<ElectricCurrent>(text).map(Measure::base);
    // Hours, days, watt-hours and factors stand as the finding itself has them.
    let bare = finding
        .unit
        .and_then(|unit| text.trim().strip_suffix(unit))
        .unwrap_or(text);
    let Ok(accepted) = volts()
        .or_else(|_| amps())
        .or_else(|_| bare.trim().parse::<f64>())
    else {
        return false;
    };
    // The accepted value is what was read off the screen: its last digit is rounded.
    let rounding = 0.5 * 10_f64.powi(-decimals(text)) + 1e-9;
    match finding.worse {
        Worse::Lower => value >= accepted - rounding,
        Worse::Higher => value <= accepted + rounding,
    }
}

fn decimals(text: &str) -> i32 {
    let digits = text.split_once('.').map_or("", |(_, after)| after);
    let count = digits.chars().take_while(char::is_ascii_digit).count();
    i32::try_from(count).unwrap_or(0)
}
