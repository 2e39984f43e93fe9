//! A page as a table over the whole width, with what to know of the selected row below.

use std::ops::Range;

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::{Modifier, Style};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Block, Borders};
use unicode_width::UnicodeWidthStr as _;

use crate::tui::pages::{Page, Row, Table, table};
use crate::tui::state::State;
use crate::tui::theme::mark;
use crate::tui::view::{cut, put};

/// First row shown in so much room.
pub(crate) fn top(state: &State, rows: usize, room: usize) -> usize {
    let last = rows.saturating_sub(room);
    state.row.saturating_sub(room / 2).min(last)
}

/// Where rows stand in the page's area.
pub(crate) fn rows_of(area: Rect, table: &Table) -> Rect {
    let [upper, _] = halves(area, table);
    let inner = Block::new().borders(Borders::ALL).inner(upper);
    let head = u16::from(!table.head.is_empty()).min(inner.height);
    Rect {
        y: inner.y + head,
        height: inner.height - head,
        ..inner
    }
}

fn halves(area: Rect, table: &Table) -> [Rect; 2] {
    let width = usize::from(area.width.saturating_sub(2)).max(1);
    let needed: usize = table.detail.iter().map(|l| wrapped(l, width).len()).sum();
    let most = usize::from(area.height) * 2 / 5;
    let low = if needed == 0 {
        0
    } else {
        (needed + 2).min(most.max(3))
    };
    Layout::vertical([
        Constraint::Min(4),
        Constraint::Length(u16::try_from(low).unwrap_or(0)),
    ])
    .areas(area)
}

pub(crate) fn draw(frame: &mut Frame<'_>, area: Rect, state: &mut State) {
    let table = table(state);
    state.row = state.row.min(table.rows.len().saturating_sub(1));
    let [upper, lower] = halves(area, &table);
    let (key, name) = state.shows.label();
    let others = Page::ALL
        .iter()
        .map(|(_, key, name)| format!("{key} {name}"));
    let block = Block::new()
        .borders(Borders::ALL)
        .border_style(state.theme.quiet())
        .title(format!("[{key} {name}]"))
        .title_bottom(cut(
            &format!(
                " Enter: {}   {} ",
                table.enter,
                others.collect::<Vec<_>>().join(" · ")
            ),
            usize::from(area.width.saturating_sub(2)),
        ));
    let inner = block.inner(upper);
    frame.render_widget(block, upper);
    let place = rows_of(area, &table);
    let room = usize::from(place.height).max(1);
    state.page = room;
    let first = top(state, table.rows.len(), room);
    let shown = &table.rows[first..table.rows.len().min(first + room)];
    let width = usize::from(inner.width);
    if !table.head.is_empty() {
        let heads = table
            .head
            .iter()
            .map(|h| h.trim_start_matches('>').to_owned());
        let widths = widths(&table, &table.rows, width);
        let text = line(&table, &heads.collect::<Vec<_>>(), &widths);
        frame.render_widget(Line::styled(text, state.theme.quiet()), inner);
    }
    let mut measured: (Range<usize>, Vec<usize>) = Default::default();
    let lines: Vec<Line<'_>> = shown
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let rows = part(&table, first + i);
            if measured.0 != rows {
                let widths = widths(&table, &table.rows[rows.clone()], width);
                measured = (rows, widths);
            }
            drawn(state, &table, row, &measured.1, first + i == state.row)
        })
        .collect();
    put(frame, place, &lines);
    if lower.height > 0 {
        below(frame, lower, state, &table);
    }
}

/// What there is to know of the selected row; where the box is too small for it, one boxful.
fn below(frame: &mut Frame<'_>, area: Rect, state: &mut State, table: &Table) {
    let mut block = Block::new()
        .borders(Borders::ALL)
        .border_style(state.theme.quiet());
    let inner = block.inner(area);
    let (width, room) = (usize::from(inner.width), usize::from(inner.height).max(1));
    let lines: Vec<String> = (table.detail.iter())
        .flat_map(|text| wrapped(text, width))
        .collect();
    let boxfuls = lines.len().div_ceil(room).max(1);
    state.below %= boxfuls;
    if boxfuls > 1 {
        block = block.title_bottom(format!(" Tab: more, {} of {boxfuls} ", state.below + 1));
    }
    frame.render_widget(block, area);
    let shown = lines.iter().skip(state.below * room).take(room);
    put(frame, inner, &shown.map(Line::raw).collect::<Vec<_>>());
}

/// A text in lines of so many cells at most, broken between words where it can be.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let full = lines
            .last()
            .is_some_and(|line| !line.is_empty() && line.width() + 1 + word.width() > width);
        if full {
            lines.push(String::new());
        }
        for (i, letter) in word.chars().enumerate() {
            let Some(line) = lines.last_mut() else { break };
            if i == 0 && !line.is_empty() {
                line.push(' ');
            }
            line.push(letter);
            if line.width() > width.max(1) {
                line.pop();
                lines.push(letter.to_string());
            }
        }
    }
    lines
}

fn drawn<'l>(
    state: &State,
    table: &Table,
    row: &Row,
    widths: &[usize],
    selected: bool,
) -> Line<'l> {
    if row.is_head {
        let words = row.cells.first().cloned().unwrap_or_default();
        let style = Style::new().add_modifier(Modifier::BOLD);
        let line = Line::styled(words, style);
        return if selected {
            line.style(state.theme.selected(true))
        } else {
            line
        };
    }
    let sign = row.severity.map_or(" ", mark);
    let style = row
        .severity
        .map_or_else(Style::new, |s| state.theme.severity(s));
    let line = Line::from(vec![
        Span::styled(format!("{sign} "), style),
        Span::raw(line(table, &row.cells, widths).split_off(2)),
    ]);
    if selected {
        line.style(state.theme.selected(true))
    } else {
        line
    }
}

/// Least width of a column before the first one gives way.
const LEAST: usize = 12;

/// The rows whose columns stand under one another: those of a part with a heading of its own, or
/// all.
fn part(table: &Table, i: usize) -> Range<usize> {
    if !table.head.is_empty() {
        return 0..table.rows.len();
    }
    let from = table.rows[..i].iter().rposition(|r| r.is_head).unwrap_or(0);
    let next = table.rows[i..].iter().skip(1).position(|r| r.is_head);
    from..next.map_or(table.rows.len(), |n| i + 1 + n)
}

/// Widths of the columns: as wide as what is in them. Where that is more than the room, the widest
/// gives way, and the first, which says what a row is about, last.
fn widths(table: &Table, rows: &[Row], room: usize) -> Vec<usize> {
    let rows = rows.iter().filter(|r| !r.is_head);
    let columns = rows.clone().map(|r| r.cells.len()).max().unwrap_or(0);
    let columns = columns.max(table.head.len());
    let mut widths: Vec<usize> = (0..columns)
        .map(|c| {
            let cells = rows.clone().filter_map(|r| r.cells.get(c));
            let head = table.head.get(c).map(|h| h.trim_start_matches('>').width());
            let widest = cells.map(|t| t.width()).chain(head).max().unwrap_or(0);
            widest.max(1)
        })
        .collect();
    // Two blanks before each column.
    let room = room.saturating_sub(2 * columns).max(columns);
    let mut over = widths.iter().sum::<usize>().saturating_sub(room);
    while over > 0 {
        let others = widths.iter_mut().skip(1);
        match others.max().filter(|width| **width > LEAST) {
            Some(widest) => *widest -= 1,
            None => {
                if let Some(widest) = widths.iter_mut().max() {
                    *widest -= 1;
                }
            }
        }
        over -= 1;
    }
    widths
}

/// Fields beside one another, numbers to the right, behind two blanks for the mark.
fn line(table: &Table, cells: &[String], widths: &[usize]) -> String {
    let mut text = "  ".to_owned();
    for (c, (cell, width)) in cells.iter().zip(widths).enumerate() {
        if *width == 0 {
            continue;
        }
        let cell = cut(cell, *width);
        let blanks = " ".repeat(width.saturating_sub(cell.width()));
        let is_number = match table.head.get(c) {
            Some(head) => head.starts_with('>'),
            None => cell.parse::<f64>().is_ok(),
        };
        if is_number {
            text += &format!("{blanks}{cell}  ");
        } else {
            text += &format!("{cell}{blanks}  ");
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_lose_nothing() {
        assert_eq!(wrapped("", 5), [""]);
        assert_eq!(wrapped("one two three", 7), ["one two", "three"]);
        assert_eq!(wrapped("abcdefgh ij", 3), ["abc", "def", "gh", "ij"]);
        assert_eq!(wrapped("a b", 0).concat().replace(' ', ""), "ab");
    }
}
