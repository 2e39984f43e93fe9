//! Every finding in full: the selected one with its formula, its source and who accepted it.

use super::{Row, Table};
use crate::report::{place, signed};
use crate::tui::state::State;

pub(super) fn table(state: &State) -> Table {
    let study = &state.study;
    let rows = study.findings.iter().map(|judged| {
        let finding = &judged.finding;
        let accepted = if judged.accepted.is_some() {
            " (accepted)"
        } else {
            ""
        };
        Row {
            cells: vec![
                format!("{}{accepted}", finding.severity.as_str()),
                finding.subject.clone(),
                finding.message().into_owned(),
                finding.code.to_owned(),
            ],
            severity: Some(finding.severity),
            thing: finding.thing,
            ..Row::default()
        }
    });
    Table {
        head: &["how grave", "subject", "what", "check"],
        rows: rows.collect(),
        detail: detail(state),
        enter: "fixes · x accepts · X withdraws that",
    }
}

fn detail(state: &State) -> Vec<String> {
    let Some(judged) = state.study.findings.get(state.row) else {
        return vec!["Nothing found.".to_owned()];
    };
    let finding = &judged.finding;
    let mut lines = vec![finding.message().into_owned()];
    if let Some(accepted) = judged.accepted.map(|a| &state.site().accepted[a]) {
        lines.push(signed(accepted));
    }
    let place = place(&state.study, finding.case, finding.corner);
    if !place.is_empty() {
        lines.push(format!("worst in: {place}"));
    }
    lines.push(finding.worked());
    lines.push(format!("source: {}", finding.source(state.site())));
    lines
}
