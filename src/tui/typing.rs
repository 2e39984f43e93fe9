//! Keys while something lies over the screen.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui_textarea::TextArea;

use crate::site::Edit;
use crate::tui::dialog::{Dialog, Typing, input, text};
use crate::tui::fields::with_unit;
use crate::tui::form;
use crate::tui::state::State;
use crate::tui::update::Effect;
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
    /// Takes a key while something lies over the screen.
    pub(crate) fn dialog_key(&mut self, key: KeyEvent) -> Effect {
        let Some(dialog) = self.dialog.take() else {
            return Effect::None;
        };
        match dialog {
            Dialog::Type(typing) => self.typing_key(typing, key),
            Dialog::Add(form) => form::key(self, form, key),
            Dialog::Delete {
                name,
                goes,
                holds,
                edits,
            } => {
                if key.code == KeyCode::Char('y') && holds.is_empty() {
                    self.apply(&edits, format!("{name} deleted"));
                } else if !leaves(key) && key.code != KeyCode::Char('n') {
                    self.dialog = Some(Dialog::Delete {
                        name,
                        goes,
                        holds,
                        edits,
                    });
                }
                Effect::None
            }
            Dialog::Fixes {
                title,
                fixes,
                selected,
            } => {
                let last = fixes.len().saturating_sub(1);
                let selected = match key.code {
                    KeyCode::Up | KeyCode::Char('k') => selected.saturating_sub(1),
                    KeyCode::Down | KeyCode::Char('j') => (selected + 1).min(last),
                    // Not the key that opened this: Enter from the findings, f from anywhere.
                    KeyCode::Char('y') => {
                        let what = fixes[selected]
                            .text
                            .split(':')
                            .next()
                            .unwrap_or_default()
                            .to_owned();
                        self.apply(&fixes[selected].edits, what);
                        return Effect::None;
                    }
                    _ if leaves(key) => return Effect::None,
                    _ => selected,
                };
                self.dialog = Some(Dialog::Fixes {
                    title,
                    fixes,
                    selected,
                });
                Effect::None
            }
            Dialog::Read { title, lines, top } => {
                let last = u16::try_from(lines.len())
                    .unwrap_or(u16::MAX)
                    .saturating_sub(1);
                let top = match key.code {
                    KeyCode::Up | KeyCode::Char('k') => top.saturating_sub(1),
                    KeyCode::Down | KeyCode::Char('j') => (top + 1).min(last),
                    KeyCode::PageUp => top.saturating_sub(10),
                    KeyCode::PageDown | KeyCode::Char(' ') => (top + 10).min(last),
                    _ => return Effect::None,
                };
                self.dialog = Some(Dialog::Read { title, lines, top });
                Effect::None
            }
            other => self.asking_key(other, key),
        }
    }

    /// Names to type and questions to answer.
    fn asking_key(&mut self, dialog: Dialog, key: KeyEvent) -> Effect {
        match dialog {
            Dialog::Find(mut area) => {
                if key.code == KeyCode::Enter {
                    self.sought = text(&area);
                    self.find_next();
                } else if !leaves(key) {
                    type_into(&mut area, key);
                    self.dialog = Some(Dialog::Find(area));
                }
                Effect::None
            }
            Dialog::SaveAs(mut area) => {
                if key.code == KeyCode::Enter {
                    return self.take_name(&area);
                }
                if !leaves(key) {
                    type_into(&mut area, key);
                    self.dialog = Some(Dialog::SaveAs(area));
                }
                Effect::None
            }
            Dialog::Quit => match key.code {
                KeyCode::Char('y' | 'Y') => Effect::SaveAndQuit,
                KeyCode::Char('n' | 'N') => Effect::Quit,
                _ if leaves(key) => Effect::None,
                _ => {
                    self.dialog = Some(Dialog::Quit);
                    Effect::None
                }
            },
            Dialog::Overwrite => match key.code {
                KeyCode::Char('y' | 'Y') => Effect::Save(true),
                KeyCode::Char('S') => {
                    self.ask_name();
                    Effect::None
                }
                _ if leaves(key) || key.code == KeyCode::Char('n') => Effect::None,
                _ => {
                    self.dialog = Some(Dialog::Overwrite);
                    Effect::None
                }
            },
            Dialog::Recover(text) => {
                match key.code {
                    KeyCode::Char('y' | 'Y') => self.recover(&text),
                    KeyCode::Char('n' | 'N') => {}
                    _ => self.dialog = Some(Dialog::Recover(text)),
                }
                Effect::None
            }
            Dialog::Welcome { selected } => form::welcome_key(self, selected, key),
            other => {
                self.dialog = Some(other);
                Effect::None
            }
        }
    }

    fn recover(&mut self, text: &str) {
        match crate::site::Project::open(text) {
            Ok(project) => {
                self.project = project;
                self.project.mark_unsaved();
                self.changed();
                self.message = "unsaved work is back; s saves it".into();
            }
            Err(_) => self.message = "the unsaved work does not read any more".into(),
        }
    }

    /// Solves at every valid keystroke; leaving brings the old value back.
    fn typing_key(&mut self, mut typing: Box<Typing>, key: KeyEvent) -> Effect {
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
