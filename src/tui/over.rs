//! Keys while something lies over the screen.

use crossterm::event::{KeyCode, KeyEvent};

use crate::site::Project;
use crate::tui::dialog::{Dialog, Effect, text};
use crate::tui::form;
use crate::tui::state::State;
use crate::tui::typing::{leaves, type_into};

impl State {
    /// Takes a key while something lies over the screen.
    pub(crate) fn dialog_key(&mut self, key: KeyEvent) -> Effect {
        let Some(dialog) = self.dialog.take() else {
            return Effect::None;
        };
        match dialog {
            Dialog::Type(typing) => self.typing_key(typing, key),
            Dialog::Add(form) => form::key(self, form, key),
            Dialog::Answer(walk) => self.answer_key(walk, key),
            Dialog::Delete {
                name,
                goes,
                holds,
                edits,
            } => {
                if key.code == KeyCode::Char('y') && holds.is_empty() {
                    self.apply(&edits, &format!("{name} deleted"));
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
                        self.apply(&fixes[selected].edits, &what);
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
        match Project::open(text) {
            Ok(project) => {
                self.project = project;
                self.project.mark_unsaved();
                self.changed();
                self.message = "unsaved work is back; s saves it".into();
            }
            Err(_) => self.message = "the unsaved work does not read any more".into(),
        }
    }
}
