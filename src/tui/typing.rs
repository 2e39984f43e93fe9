//! Typing a value: checked and solved at every key, brought back by Esc.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui_textarea::TextArea;

use crate::site::Edit;
use crate::tui::dialog::{Dialog, Effect, Typing, input, text};
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
    area.input(key)
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
        if type_into(&mut typing.input, key) {
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
                typing.error = errors.first().map(|e| match &e.hint {
                    Some(hint) => format!("{} ({hint})", e.message),
                    None => e.message.clone(),
                });
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
