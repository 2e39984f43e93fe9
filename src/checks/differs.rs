//! The site as built beside the one that was bid: what is not the same.

use crate::checks::{Check, Finding};
use crate::diagnostic::Severity;
use crate::site::{Difference, Differs, Site};

pub(crate) const DIFFERS: Check = Check {
    code: "differs-from-bid",
    question: "what differs between this site and the one that was bid?",
    formula: "each key of each table in both files, as what it means; readings, meters, accepted findings, alternates and sizing are left out",
    source: "both files, common practice, no source",
};

/// One note for each thing that is not as it was bid.
pub fn differs(site: &Site, differences: &[Difference]) -> Vec<Finding> {
    let told = differences.iter().map(|difference| {
        let Difference { kind, name, what } = difference;
        let subject = name.as_deref().unwrap_or(kind);
        let called = match name {
            Some(name) => format!("{kind} {name}"),
            None => kind.clone(),
        };
        let message = match what {
            Differs::Gone => format!("{called} of the bid is not here"),
            Differs::New => format!("{called} is not in the bid"),
            Differs::Values(values) => {
                let each = values.iter().map(|(key, [bid, here])| {
                    let key = key.replace('_', " ");
                    match (bid, here) {
                        (Some(bid), Some(here)) => format!("{key} {bid} in the bid, {here} here"),
                        (Some(bid), None) => format!("{key} {bid} in the bid, not stated here"),
                        (None, here) => format!(
                            "{key} not stated in the bid, {} here",
                            here.as_deref().unwrap_or("not stated")
                        ),
                    }
                });
                format!("{called}: {}", each.collect::<Vec<_>>().join("; "))
            }
        };
        let mut finding = DIFFERS.finding(Severity::Note, subject, message);
        finding.thing = name.as_ref().and_then(|name| site.names.get(name).copied());
        finding
    });
    told.collect()
}
