//! Walking the open questions: yes, no or skip, each answer an edit that can be taken back.

use crossterm::event::{KeyCode, KeyEvent};

use crate::practice::{Asked, Subject, asked, cited};
use crate::site::Edit;
use crate::tui::dialog::{Dialog, Effect};
use crate::tui::pages::Page;
use crate::tui::state::State;
use crate::tui::typing::leaves;

/// The open questions that are walked through.
#[derive(Debug)]
pub struct Walk {
    /// The questions, as they were open when the walk began.
    pub open: Vec<Asked>,
    /// The one that is asked.
    pub at: usize,
}

/// The open questions of what is selected, or, where it has none, of the whole site.
pub(crate) fn start(state: &State) -> Option<Dialog> {
    let open: Vec<Asked> = asked(state.site())
        .into_iter()
        .filter(|one| one.answer.is_none())
        .collect();
    let selected = selected(state);
    let own: Vec<Asked> = open
        .iter()
        .filter(|one| Some(one.subject) == selected)
        .copied()
        .collect();
    let open = if own.is_empty() { open } else { own };
    (!open.is_empty()).then_some(Dialog::Answer(Walk { open, at: 0 }))
}

/// What is selected: on the page of findings what the finding is about, else the line's thing.
fn selected(state: &State) -> Option<Subject> {
    if state.shows == Page::Findings {
        let finding = &state.study.findings.get(state.finding)?.finding;
        if finding.thing.is_none() {
            let bus = |b: &crate::site::Bus| b.name == finding.subject;
            let bus = state.site().buses.iter().position(bus);
            return Some(bus.map_or(Subject::Site, Subject::Bus));
        }
    }
    state.thing().map(Subject::Thing)
}

impl State {
    /// Takes a key while questions are walked through.
    pub(crate) fn answer_key(&mut self, mut walk: Walk, key: KeyEvent) -> Effect {
        if leaves(key) {
            return Effect::None;
        }
        let step = match key.code {
            KeyCode::Char('y' | 'Y') => self.answer(&walk, "true"),
            KeyCode::Char('n' | 'N') => self.answer(&walk, "false"),
            KeyCode::Char('s' | ' ') | KeyCode::Down | KeyCode::Enter => true,
            KeyCode::Up => {
                walk.at = walk.at.saturating_sub(1);
                false
            }
            _ => false,
        };
        walk.at += usize::from(step);
        if walk.at < walk.open.len() {
            self.dialog = Some(Dialog::Answer(walk));
        }
        Effect::None
    }

    /// Writes an answer into the file; one answer, one step back.
    fn answer(&mut self, walk: &Walk, text: &str) -> bool {
        let one = &walk.open[walk.at];
        let (table, before) = one.subject.place(self.site());
        let edit = Edit::Set {
            table,
            key: format!("{before}{}", one.question.code),
            text: text.to_owned(),
        };
        let what = edit.describe();
        self.apply(&[edit], &what)
    }
}

/// The question that is asked, with what hangs on it.
pub(crate) fn lines(state: &State, walk: &Walk) -> Vec<String> {
    let Some(one) = walk.open.get(walk.at) else {
        return Vec::new();
    };
    let (site, question) = (state.site(), one.question);
    vec![
        format!(
            "{} of {}: {}",
            walk.at + 1,
            walk.open.len(),
            one.subject.name(site)
        ),
        String::new(),
        question.question.clone(),
        String::new(),
        format!(
            "if no ({}): {}",
            question.no,
            cited(site, &question.caution)
        ),
        format!("source: {}", cited(site, &question.source)),
        String::new(),
        "y yes · n no · s skip · Up back · Esc leaves; u takes an answer back".to_owned(),
    ]
}
