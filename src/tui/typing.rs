//! Typing a value: checked and solved at every key, brought back by Esc.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui_textarea::TextArea;

use crate::diagnostic::InputError;
use crate::site::Edit;
use crate::site::fields::Holds;
use crate::tui::dialog::{Dialog, Effect, Typing, input, select, text};
use crate::tui::fields::with_unit;
use crate::tui::state::State;
use crate::units::System;

/// Starts to type the selected value.
pub(crate) fn start(state: &State) -> Option<Dialog> {
    let value = state.values().into_iter().nth(state.value)?;
    let input = input(value.typed.as_deref().unwrap_or_default());
    Some(Dialog::Type(Box::new(Typing {
        value,
        input,
        applied: false,
        error: None,
    })))
}

/// Esc, Ctrl-G or Ctrl-C: leave it.
pub(crate) fn leaves(key: KeyEvent) -> bool {
    let ctrl = key.modifiers.contains(KeyModifiers::CONTROL);
    key.code == KeyCode::Esc || (ctrl && matches!(key.code, KeyCode::Char('g' | 'c')))
}

/// A key for a one-line input; a line break never enters it.
pub(crate) fn type_into(area: &mut TextArea<'_>, key: KeyEvent) -> bool {
    let ctrl = key.modifiers.contains(KeyModifiers::CONTROL);
    if matches!(key.code, KeyCode::Enter | KeyCode::Tab | KeyCode::BackTab)
        || (ctrl && matches!(key.code, KeyCode::Char('m' | 'j')))
    {
        return false;
    }
    if ctrl && key.code == KeyCode::Char('u') {
        select(area);
        return area.delete_char();
    }
    area.input(key)
}

/// What is wrong, the nearest spelling or next step, and what is allowed.
pub(crate) fn said(error: &InputError) -> String {
    let hint = error.hint.iter().map(|hint| format!(" ({hint})"));
    let lines = error.lines.iter().map(|line| format!("; {line}"));
    hint.chain(lines)
        .fold(error.message.clone(), |text, more| text + &more)
}

/// The words that a value is one of.
fn words(holds: Holds) -> &'static [&'static str] {
    match holds {
        Holds::Choice(words) => words,
        Holds::Flag => &["true", "false"],
        _ => &[],
    }
}

/// Up and Down: the next word before or after the typed one.
fn next_word(typing: &Typing, key: KeyEvent) -> Option<&'static str> {
    let words = words(typing.value.holds);
    let last = words.len().checked_sub(1)?;
    let typed = text(&typing.input);
    let at = words.iter().position(|word| *word == typed.trim());
    Some(match key.code {
        KeyCode::Down => words[at.map_or(0, |i| if i == last { 0 } else { i + 1 })],
        KeyCode::Up => words[at.map_or(last, |i| i.checked_sub(1).unwrap_or(last))],
        _ => return None,
    })
}

/// What a value is, and which keys serve it.
pub(crate) fn about(typing: &Typing) -> String {
    let (key, help) = (&typing.value.key, typing.value.help);
    let choose = if words(typing.value.holds).is_empty() {
        ""
    } else {
        " · Up Down choose"
    };
    format!("{key}: {help}{choose} · Enter keeps it · Esc brings the old one back · Ctrl-U empties")
}

impl State {
    /// Solves at every valid keystroke; leaving brings the old value back.
    pub(crate) fn typing_key(&mut self, mut typing: Box<Typing>, key: KeyEvent) -> Effect {
        if leaves(key) {
            self.untype(&mut typing);
            return Effect::None;
        }
        if key.code == KeyCode::Enter {
            if typing.error.is_some() {
                self.dialog = Some(Dialog::Type(typing));
            } else if typing.applied {
                self.message = format!(
                    "{}; u takes it back",
                    self.project.next_undo().unwrap_or_default()
                );
            }
            return Effect::None;
        }
        let word = next_word(&typing, key);
        if let Some(word) = word {
            typing.input = input(word);
        }
        if word.is_some() || type_into(&mut typing.input, key) {
            if !typing.applied {
                self.remember();
            }
            self.untype(&mut typing);
            self.try_typed(&mut typing);
        }
        self.dialog = Some(Dialog::Type(typing));
        Effect::None
    }

    /// Applies what is typed so far, if it reads.
    fn try_typed(&mut self, typing: &mut Typing) {
        let us = self.site().units == System::Us;
        let typed = with_unit(typing.value.holds, &text(&typing.input), us);
        if Some(&typed) == typing.value.typed.as_ref()
            || (typed.is_empty() && typing.value.typed.is_none())
        {
            typing.error = None;
            return;
        }
        let edit = Edit::Set {
            table: typing.value.table.clone(),
            key: typing.value.key.clone(),
            text: typed,
        };
        match self.project.apply(&edit) {
            Ok(()) => {
                (typing.applied, typing.error) = (true, None);
                self.stale = true;
            }
            Err(errors) => {
                typing.error = errors.first().map(said);
            }
        }
    }

    /// Takes back what this typing applied, without a trace in what can be done again.
    fn untype(&mut self, typing: &mut Typing) {
        if typing.applied {
            self.project.forget();
            self.stale = true;
            typing.applied = false;
        }
        typing.error = None;
    }
}
