//! Accepted findings: who signs for one says why and when, and names a check that there is.

use crate::checks::{Check, Finding, Look, explained};
use crate::diagnostic::Severity;

pub(crate) const UNSIGNED: Check = Check {
    code: "acceptance-unsigned",
    question: "Does every accepted finding say who accepted it, why and when?",
    formula: "by, why and on are stated",
    source: "common practice, no source",
};
pub(crate) const UNKNOWN: Check = Check {
    code: "acceptance-unknown",
    question: "Does every accepted finding name a check that there is?",
    formula: "finding is the code of a check",
    source: "the list of all checks",
};

pub(crate) const WORSE: Check = Check {
    code: "acceptance-worse",
    question: "Is what was accepted still no worse than it was then?",
    formula: "value now no worse than value of the accepted finding, in the same case",
    source: "whoever accepted the one did not accept the other",
};
pub(crate) const GONE: Check = Check {
    code: "acceptance-gone",
    question: "Does every accepted finding still stand?",
    formula: "the check still finds something of that kind about that thing",
    source: "common practice, no source",
};

pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let site = look.site;
    for accepted in &site.accepted {
        let (code, subject) = (&accepted.finding, &accepted.subject);
        let thing = site.names.get(subject).copied();
        let mut add = |check: &Check, message: String| {
            let mut finding = check.finding(Severity::Warn, subject, message);
            finding.thing = thing;
            found.push(finding);
        };
        if let Err(nearest) = explained(code) {
            let meant = nearest.map_or_else(String::new, |n| format!("; did you mean '{n}'?"));
            add(
                &UNKNOWN,
                format!("no check is called '{code}', so nothing at {subject} is accepted{meant}"),
            );
            continue;
        }
        let keys = [
            ("by", &accepted.by),
            ("why", &accepted.why),
            ("on", &accepted.on),
        ];
        let blank = |text: &Option<String>| text.as_ref().is_none_or(|t| t.trim().is_empty());
        let missing: Vec<&str> = keys
            .iter()
            .filter(|(_, text)| blank(text))
            .map(|(key, _)| *key)
            .collect();
        if !missing.is_empty() {
            add(
                &UNSIGNED,
                format!(
                    "{code} at {subject} is accepted without {}: who accepts it says who, why and when",
                    missing.join(" and ")
                ),
            );
        }
    }
}
