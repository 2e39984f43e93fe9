//! What a report keeps for the record: the findings with who accepted which, and the cautions.

use super::sheets::{Cell, Sheet, head, text};
use crate::practice::cautions;
use crate::report::place;
use crate::site::Site;
use crate::study::Study;

/// Every finding, and who accepted it, when and why.
pub(super) fn findings(site: &Site, study: &Study) -> Sheet {
    let rows = study.findings.iter().map(|judged| {
        let finding = &judged.finding;
        let accepted = judged.accepted.map(|a| &site.accepted[a]);
        let said = |of: Option<&Option<String>>| match of {
            None => Cell::Empty,
            Some(None) => text("not stated"),
            Some(Some(words)) => text(words),
        };
        vec![
            text(finding.severity.as_str()),
            text(finding.code),
            text(&finding.subject),
            text(place(study, finding.case, finding.corner)),
            text(finding.message()),
            said(accepted.map(|a| &a.by)),
            said(accepted.map(|a| &a.on)),
            said(accepted.map(|a| &a.why)),
        ]
    });
    Sheet {
        name: "findings",
        head: head(&[
            "how grave",
            "check",
            "subject",
            "worst in",
            "what",
            "accepted by",
            "on",
            "why",
        ]),
        rows: rows.collect(),
        summed: Vec::new(),
        remarks: Vec::new(),
    }
}

/// The cautions that the site earns.
pub(super) fn warnings(site: &Site) -> Sheet {
    let rows = cautions(site)
        .into_iter()
        .map(|c| vec![text(c.code), text(&c.words)]);
    Sheet {
        name: "cautions",
        head: head(&["caution", "words"]),
        rows: rows.collect(),
        summed: Vec::new(),
        remarks: Vec::new(),
    }
}
