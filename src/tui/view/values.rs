//! The values of the selected thing.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use unicode_width::UnicodeWidthStr as _;

use crate::report;
use crate::site::Thing;
use crate::tui::dialog::Dialog;
use crate::tui::fields::Value;
use crate::tui::state::{Panel, State};
use crate::tui::tree::Item;
use crate::tui::view::{cut, frame_of, put};

/// Least width of the keys.
const KEY: usize = 18;

/// Width of the keys: as wide as the longest, up to half of the panel.
fn width_of_keys(values: &[Value], width: usize) -> usize {
    let longest = values.iter().map(|v| v.key.width() + 1).max();
    longest.unwrap_or(KEY).min(width / 2).max(KEY)
}

/// Least height of the panel in which a battery's lines have a place.
const TALL: u16 = 12;

/// What stands below the values: how the supply does on its battery.
fn below(state: &State, area: Rect) -> Vec<String> {
    let lines = match state.item() {
        Some(Item::Thing(Thing::Supply(i))) if area.height >= TALL => {
            report::battery_lines(state.site(), &state.study, i)
        }
        _ => None,
    };
    lines.map_or_else(Vec::new, Vec::from)
}

/// First value shown.
pub(crate) fn top(state: &State, area: Rect) -> usize {
    let rows = usize::from(area.height.saturating_sub(3));
    let room = rows.saturating_sub(below(state, area).len()).max(1);
    state.value.saturating_sub(room.saturating_sub(1))
}

pub(crate) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let title = state.item().map_or_else(String::new, |item| match item {
        Item::Thing(thing) => format!("{} {}", thing.table(), state.name(item)),
        Item::Output(..) => format!("output {}", state.name(item)),
        Item::Table(group, _) if group.is_single() || group.is_list() => state.name(item),
        Item::Table(group, _) => format!("{} {}", group.table(), state.name(item)),
        Item::Beside => state.name(item),
    });
    let block = frame_of(
        state,
        Some(Panel::Values),
        &cut(&title, usize::from(area.width).saturating_sub(4)),
    );
    let inner = block.inner(area);
    frame.render_widget(block, area);
    let width = usize::from(inner.width);
    let values = state.values();
    let keys = width_of_keys(&values, width);
    let notes = below(state, area);
    let room = usize::from(inner.height.saturating_sub(1)).saturating_sub(notes.len());
    let typing = match &state.dialog {
        Some(Dialog::Type(typing)) => Some(typing),
        _ => None,
    };
    let mut lines: Vec<Line<'_>> = Vec::new();
    for (i, value) in values.iter().enumerate().skip(top(state, area)).take(room) {
        let typed = value.typed.as_deref().unwrap_or("-");
        let key = cut(&value.key, keys - 1);
        let text = cut(&format!("{key:keys$}{typed}"), width);
        let style = if i == state.value {
            state.theme.selected(state.panel == Panel::Values)
        } else {
            ratatui::style::Style::new()
        };
        lines.push(Line::from(Span::styled(format!("{text:width$}"), style)));
    }
    let help = values.get(state.value).map_or("", |v| v.help);
    put(frame, inner, &lines);
    for (line, above) in notes.iter().zip((0_u16..2).rev()) {
        let place = Rect {
            y: inner.bottom().saturating_sub(2 + above),
            height: 1,
            ..inner
        };
        frame.render_widget(Line::raw(cut(line, width)), place);
    }
    if inner.height > 1 {
        let last = Rect {
            y: inner.bottom() - 1,
            height: 1,
            ..inner
        };
        frame.render_widget(Line::styled(cut(help, width), state.theme.quiet()), last);
    }
    if let Some(typing) = typing {
        let row =
            inner.y + u16::try_from(state.value - top(state, area).min(state.value)).unwrap_or(0);
        let at = u16::try_from(keys).unwrap_or(0).min(inner.width);
        let place = Rect {
            x: inner.x + at,
            y: row,
            width: inner.width - at,
            height: 1,
        };
        if row < inner.bottom() {
            frame.render_widget(ratatui::widgets::Clear, place);
            frame.render_widget(&typing.input, place);
        }
    }
}
