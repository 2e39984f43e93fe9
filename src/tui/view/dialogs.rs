//! What lies over the screen.

use ratatui::Frame;
use ratatui::layout::{Constraint, Rect};
use ratatui::text::{Line, Text};
use ratatui::widgets::{Block, Borders, Clear, Paragraph, Wrap};
use unicode_width::UnicodeWidthStr as _;

use crate::tui::answers;
use crate::tui::dialog::{Adds, Dialog, Form, Typing};
use crate::tui::form::{self, welcome};
use crate::tui::state::State;
use crate::tui::typing::about;

pub(crate) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let Some(dialog) = &state.dialog else { return };
    match dialog {
        Dialog::Type(typing) => foot(frame, area, typing),
        Dialog::Add(form) => add(frame, area, state, form),
        Dialog::Read { title, lines, top } => popup(frame, area, state, title, lines, *top),
        Dialog::Answer(walk) => {
            popup(
                frame,
                area,
                state,
                "Questions",
                &answers::lines(state, walk),
                0,
            );
        }
        Dialog::Find(input) => one_line(frame, area, state, "Find a name", input),
        Dialog::SaveAs(input) => {
            one_line(
                frame,
                area,
                state,
                "Save as (Enter saves, Esc leaves it)",
                input,
            );
        }
        other => {
            let (title, lines) = question(other);
            popup(frame, area, state, title, &lines, 0);
        }
    }
}

/// What is typed, and what is wrong with it, in the last line, or in as many as that takes.
fn foot(frame: &mut Frame<'_>, area: Rect, typing: &Typing) {
    let text = typing.error.clone().unwrap_or_else(|| about(typing));
    let height = lines_of(&text, area.width).min(3);
    let place = Rect {
        y: area.bottom().saturating_sub(height),
        height,
        ..area
    };
    frame.render_widget(Clear, place);
    frame.render_widget(Paragraph::new(text).wrap(Wrap { trim: true }), place);
}

/// How many lines a text takes in a width, or one more where words break badly.
fn lines_of(text: &str, width: u16) -> u16 {
    let (length, width) = (text.width(), usize::from(width).max(1));
    let lines = if length <= width {
        1
    } else {
        (length + length / width * 8).div_ceil(width)
    };
    u16::try_from(lines).unwrap_or(u16::MAX)
}

/// Title and lines of what asks for one key.
fn question(dialog: &Dialog) -> (&'static str, Vec<String>) {
    let lines = |lines: &[&str]| lines.iter().map(|l| (*l).to_owned()).collect();
    match dialog {
        Dialog::Delete {
            name, goes, holds, ..
        } => ("Delete", delete(name, goes, holds)),
        Dialog::Fixes {
            title,
            fixes,
            selected,
        } => {
            let texts = fixes.iter().map(|fix| fix.text.clone());
            let help = "Up Down choose · y applies it · Esc leaves all as it is";
            let mut all = vec![title.clone(), String::new()];
            all.extend(choice(texts, *selected, help));
            ("Fixes, each re-solved over all cases and corners", all)
        }
        Dialog::Welcome { selected } => {
            let help = "Up Down choose · Enter opens · Esc stays on this one · q leaves";
            (
                "farend: what to open",
                choice(welcome().into_iter(), *selected, help),
            )
        }
        Dialog::Overwrite => (
            "Write over it?",
            lines(&[
                "The file on disk is not what was opened here: somebody else wrote it.",
                "",
                "y writes over it · S saves under another name · Esc leaves it",
            ]),
        ),
        Dialog::Recover(_) => (
            "Unsaved work",
            lines(&[
                "Unsaved work on this site from an earlier time was kept.",
                "",
                "y takes it up again · n leaves it aside",
            ]),
        ),
        _ => (
            "Leave?",
            lines(&[
                "There is unsaved work.",
                "",
                "y saves and leaves · n leaves without · Esc stays",
            ]),
        ),
    }
}

fn delete(name: &str, goes: &[String], holds: &[String]) -> Vec<String> {
    let mut lines = vec![format!("Delete {name}?")];
    lines.extend(goes.iter().map(|g| format!("  with it goes: {g}")));
    lines.extend(holds.iter().map(|h| format!("  not yet: {h}")));
    lines.push(String::new());
    let free = "y deletes · Esc leaves it (u would bring it back)";
    lines.push(
        if holds.is_empty() {
            free
        } else {
            "Esc leaves it"
        }
        .to_owned(),
    );
    lines
}

/// Lines of which one is chosen.
fn choice(texts: impl Iterator<Item = String>, selected: usize, help: &str) -> Vec<String> {
    let mark = |i: usize| if i == selected { ">" } else { " " };
    let mut lines: Vec<String> = texts
        .enumerate()
        .map(|(i, text)| format!("{} {text}", mark(i)))
        .collect();
    lines.extend([String::new(), help.to_owned()]);
    lines
}

fn block<'t>(state: &State, title: &str) -> Block<'t> {
    Block::new()
        .borders(Borders::ALL)
        .border_style(state.theme.severity(crate::diagnostic::Severity::Note))
        .title(format!(" {title} "))
}

fn popup(
    frame: &mut Frame<'_>,
    area: Rect,
    state: &State,
    title: &str,
    lines: &[String],
    top: u16,
) {
    let longest = lines
        .iter()
        .map(|l| l.chars().count())
        .max()
        .unwrap_or(0)
        .max(title.chars().count() + 2);
    let width = u16::try_from(longest + 4)
        .unwrap_or(u16::MAX)
        .min(area.width.saturating_sub(2));
    let inside = usize::from(width.saturating_sub(4)).max(1);
    let rows: usize = lines
        .iter()
        .map(|l| l.chars().count().div_ceil(inside).max(1))
        .sum();
    let height = u16::try_from(rows + 2)
        .unwrap_or(u16::MAX)
        .min(area.height.saturating_sub(2));
    let place = area.centered(Constraint::Length(width), Constraint::Length(height));
    frame.render_widget(Clear, place);
    let text: Text<'_> = lines
        .iter()
        .map(|l| Line::raw(format!(" {l}")))
        .collect::<Vec<_>>()
        .into();
    let mut border = block(state, title);
    if rows + 2 > usize::from(height) {
        border = border.title_bottom(" Up Down: more · Esc leaves ");
    }
    frame.render_widget(
        Paragraph::new(text)
            .wrap(Wrap { trim: false })
            .scroll((top, 0))
            .block(border),
        place,
    );
}

fn one_line(
    frame: &mut Frame<'_>,
    area: Rect,
    state: &State,
    title: &str,
    input: &ratatui_textarea::TextArea<'static>,
) {
    let place = area.centered(
        Constraint::Length(60.min(area.width.saturating_sub(2))),
        Constraint::Length(3),
    );
    let block = block(state, title);
    frame.render_widget(Clear, place);
    frame.render_widget(input, block.inner(place));
    frame.render_widget(block, place);
}

/// Width of a form.
const FORM: u16 = 66;

fn add(frame: &mut Frame<'_>, area: Rect, state: &State, form: &Form) {
    let width = FORM.min(area.width.saturating_sub(2));
    let inside = width.saturating_sub(2);
    let does = match form.adds {
        Adds::Site => "adds".to_owned(),
        Adds::Acceptance => "accepts".to_owned(),
        adds => format!("adds · F3 instead: {}", adds.next().as_str()),
    };
    let foot = [
        form.error.clone().unwrap_or_else(|| form::about(form)),
        format!("Up Down move · Enter on the last line {does} · Esc leaves"),
    ];
    let low: u16 = foot.iter().map(|text| lines_of(text, inside)).sum();
    let rows = u16::try_from(form.lines.len()).unwrap_or(8);
    let place = area.centered(
        Constraint::Length(width),
        Constraint::Length((rows + low + 3).min(area.height)),
    );
    let block = block(state, &form.title);
    let inner = block.inner(place);
    frame.render_widget(Clear, place);
    frame.render_widget(block, place);
    for (i, (label, input)) in form.lines.iter().enumerate() {
        let y = inner.y + u16::try_from(i).unwrap_or(0);
        if y >= inner.bottom() {
            break;
        }
        let mark = if i == form.at { ">" } else { " " };
        frame.render_widget(
            Line::raw(format!("{mark} {label}")),
            Rect {
                y,
                height: 1,
                ..inner
            },
        );
        let place = Rect {
            x: inner.x + 14.min(inner.width),
            y,
            width: inner.width.saturating_sub(14),
            height: 1,
        };
        if i == form.at {
            frame.render_widget(input, place);
        } else {
            frame.render_widget(Line::raw(crate::tui::dialog::text(input)), place);
        }
    }
    let low = low.min(inner.height);
    let below = Rect {
        y: inner.bottom() - low,
        height: low,
        ..inner
    };
    let text = Text::from(foot.map(Line::raw).to_vec());
    frame.render_widget(Paragraph::new(text).wrap(Wrap { trim: true }), below);
}
