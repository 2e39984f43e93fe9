//! Findings that somebody accepted, and whether that still holds.

use crate::checks::{BEYOND, DIFFERS, Finding, GONE, SILENT, WORSE, Worse, explained};
use crate::diagnostic::Severity;
use crate::results::Results;
use crate::site::{Accepted, Site};
use crate::study::Judged;
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

/// What is found later than by the checks: by the review below, by searching states, by trying
/// silent inputs.
pub(crate) fn is_later(finding: &Finding) -> bool {
    [
        WORSE.code,
        GONE.code,
        BEYOND.code,
        SILENT.code,
        DIFFERS.code,
    ]
    .contains(&finding.code)
}

/// Accepted findings that no longer hold, or have nothing left to hold: what is only found later,
/// by searching states or trying silent inputs, is left out.
pub(crate) fn review(site: &Site, results: &Results, findings: &[Judged]) -> Vec<Finding> {
    let later = [BEYOND.code, SILENT.code, DIFFERS.code];
    let mut found = Vec::new();
    for (i, a) in site.accepted.iter().enumerate() {
        let known = explained(&a.finding).is_ok();
        let holds = findings.iter().any(|j| j.accepted == Some(i));
        if holds || !known || later.contains(&a.finding.as_str()) {
            continue;
        }
        let about = |j: &&Judged| j.finding.code == a.finding && j.finding.subject == a.subject;
        // Two may accept the same, the second for more than the first.
        let now = findings.iter().find(about).filter(|j| j.accepted.is_none());
        let mut next = match now {
            Some(now) => WORSE.finding(Severity::Warn, &a.subject, worse(results, a, &now.finding)),
            None if findings.iter().any(|j| about(&j)) => continue,
            None => {
                let message = format!(
                    "{} was accepted at {} and is found no more: take it off the list, or it lets the next one pass unseen",
                    a.finding, a.subject
                );
                GONE.finding(Severity::Note, &a.subject, message)
            }
        };
        if let Some(now) = now {
            (next.case, next.corner) = (now.finding.case, now.finding.corner);
        }
        next.thing = site.names.get(&a.subject).copied();
        if !found
            .iter()
            .any(|f: &Finding| f.code == next.code && f.subject == next.subject)
        {
            found.push(next);
        }
    }
    found
}

/// Why a finding counts in spite of somebody's word.
fn worse(results: &Results, accepted: &Accepted, now: &Finding) -> String {
    let head = format!("{} at {}", now.code, now.subject);
    let value = |v: f64| {
        format!("{v:.3} {}", now.unit.unwrap_or_default())
            .trim_end()
            .to_owned()
    };
    let case = now.case.map(|c| results.cases[c].name.as_str());
    if now.severity == Severity::Stop {
        return format!("{head} was accepted, and a stop counts whatever anybody accepts");
    }
    if let (Some(then), Some(case)) = (&accepted.case, case)
        && then != case
    {
        return format!(
            "{head} was accepted in case {then}, and is worst in case {case} now: it counts again"
        );
    }
    match (&accepted.value, now.value) {
        (Some(then), Some(v)) => format!(
            "{head} was accepted at {then} and is {} now: it counts again until somebody looks at it anew",
            value(v)
        ),
        (Some(then), None) => format!(
            "{head} was accepted at {then}, and has no value to hold against it: leave the value out"
        ),
        _ => format!("{head} is not what was accepted: it counts again"),
    }
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
