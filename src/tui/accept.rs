//! Accepting a finding, with a signature, and withdrawing that.

use crate::checks::Finding;
use crate::diagnostic::Severity;
use crate::site::Edit;
use crate::tui::dialog::{Adds, Dialog, Form};
use crate::tui::form;
use crate::tui::state::State;
use crate::units::fixed;

/// Decimals of an accepted value; it holds up to half of the last one.
const DECIMALS: usize = 3;

/// What stands over the form.
pub(super) fn title(state: &State) -> String {
    let finding = selected(state);
    finding.map_or_else(String::new, |f| {
        format!("Accept {} of {}", f.code, f.subject)
    })
}

/// Who, why and when; who signed last likely signs again.
pub(super) fn lines(state: &State) -> Vec<(&'static str, String)> {
    let last = state.site().accepted.last().and_then(|a| a.by.clone());
    vec![
        ("by", last.unwrap_or_default()),
        ("why", String::new()),
        ("on", state.today.clone()),
    ]
}

fn selected(state: &State) -> Option<&Finding> {
    Some(&state.study.findings.get(state.finding)?.finding)
}

/// Where a finding's code and subject are already accepted, whether that still holds or not.
fn place(state: &State, finding: &Finding) -> Option<usize> {
    let same =
        |a: &crate::site::Accepted| a.finding == finding.code && a.subject == finding.subject;
    state.site().accepted.iter().position(same)
}

fn delete(at: usize) -> Edit {
    Edit::Delete {
        table: vec!["accepted".to_owned(), at.to_string()],
    }
}

/// Writes the acceptance of the selected finding into the file, in place of an older one.
pub(super) fn add(state: &mut State, form: &Form) -> Result<(), String> {
    let Some(finding) = selected(state) else {
        return Err("no findings".into());
    };
    for (label, question) in [("by", "who"), ("why", "why"), ("on", "when")] {
        if form.typed(label).is_empty() {
            return Err(format!(
                "'{label}' is empty: who accepts a finding says {question}"
            ));
        }
    }
    let what = format!("{} of {} accepted", finding.code, finding.subject);
    let mut keys = vec![
        ("finding".to_owned(), finding.code.to_owned()),
        ("subject".to_owned(), finding.subject.clone()),
    ];
    if let Some(value) = finding.value {
        let text = format!(
            "{} {}",
            fixed(value, DECIMALS),
            finding.unit.unwrap_or_default()
        );
        keys.push(("value".to_owned(), text.trim().to_owned()));
    }
    keys.extend(["by", "why", "on"].map(|label| (label.to_owned(), form.typed(label))));
    let older = place(state, finding);
    let last = state.site().accepted.len() - usize::from(older.is_some());
    let mut edits: Vec<Edit> = older.map(delete).into_iter().collect();
    edits.push(Edit::Add {
        table: vec!["accepted".to_owned(), last.to_string()],
        keys,
    });
    if state.apply(&edits, &what) {
        return Ok(());
    }
    Err(std::mem::take(&mut state.message))
}

impl State {
    /// Asks who accepts the selected finding, why and when.
    pub(crate) fn start_accepting(&mut self) {
        let refused = match self.study.findings.get(self.finding) {
            None => "no findings",
            Some(judged) if judged.accepted.is_some() => "it is accepted; X withdraws that",
            Some(judged) => match judged.finding.severity {
                Severity::Stop => "a STOP always counts: nobody can accept it",
                Severity::Note => "a note does not count: there is nothing to accept",
                Severity::Fail | Severity::Warn | Severity::Ask => {
                    let form = form::new(self, Adds::Acceptance);
                    self.dialog = Some(Dialog::Add(Box::new(form)));
                    return;
                }
            },
        };
        self.message = refused.into();
    }

    /// Takes the acceptance of the selected finding out of the file.
    pub(crate) fn withdraw(&mut self) {
        let finding = selected(self).cloned();
        match finding.and_then(|f| Some((place(self, &f)?, f))) {
            Some((at, f)) => {
                let what = format!("acceptance of {} of {} withdrawn", f.code, f.subject);
                self.apply(&[delete(at)], &what);
            }
            None => self.message = "nobody has accepted the selected finding".into(),
        }
    }
}
