//! What the screen looks like.
//!
//! ```text
//! verdict and counts          case and corner      units   saved      site
//! caution
//! +- Network ------------------- now -- worst -- limit -- margin -+- Values --+
//! | the tree                                                      | of the    |
//! |                                                               | selected  |
//! |                                                               +- Volts ---+
//! |                                                               | along the |
//! +- Findings ----------------------------------------------------+ way ------+
//! keys
//! ```
//! On a narrow screen the panel in use stands under the network.

mod curve;
mod dialogs;
mod findings;
mod header;
mod network;
mod page;
mod sizes;
mod values;

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::Line;
use ratatui::widgets::{Block, Borders, Paragraph};
use unicode_width::{UnicodeWidthChar as _, UnicodeWidthStr as _};

use crate::tui::keys::{self, KEYS, Key};
use crate::tui::pages::{Page, table};
use crate::tui::state::{Panel, State};

/// Least screen that shows anything but its own size.
const LEAST: (u16, u16) = (40, 10);
/// From this width on, panels stand side by side.
const WIDE: u16 = 110;

/// Where each panel stands.
#[derive(Clone, Copy, Debug, Default)]
struct Places {
    header: Rect,
    caution: Rect,
    body: Rect,
    network: Rect,
    values: Rect,
    curve: Rect,
    findings: Rect,
    footer: Rect,
}

/// Draws the whole screen.
pub fn draw(frame: &mut Frame<'_>, state: &mut State) {
    let area = frame.area();
    if area.width < LEAST.0 || area.height < LEAST.1 {
        let text = format!(
            "farend needs {} x {} characters, this is {} x {}",
            LEAST.0, LEAST.1, area.width, area.height
        );
        frame.render_widget(
            Paragraph::new(text).wrap(ratatui::widgets::Wrap { trim: true }),
            area,
        );
        return;
    }
    let places = places(area, state);
    state.page = usize::from(places.network.height.saturating_sub(2)).max(1);
    header::draw(frame, places.header, state);
    header::caution(frame, places.caution, state);
    match state.shows {
        Page::Network => panels(frame, &places, state),
        Page::Sizes => sizes::draw(frame, places.body, state),
        _ => page::draw(frame, places.network, state),
    }
    footer(frame, places.footer, state);
    dialogs::draw(frame, area, state);
    state.theme.finish(frame.buffer_mut());
}

fn panels(frame: &mut Frame<'_>, places: &Places, state: &State) {
    network::draw(frame, places.network, state);
    if places.values.height > 0 {
        values::draw(frame, places.values, state);
    }
    if places.curve.height > 0 {
        curve::draw(frame, places.curve, state);
    }
    if places.findings.height > 0 {
        findings::draw(frame, places.findings, state);
    }
}

fn places(area: Rect, state: &State) -> Places {
    let [header, caution, body, footer] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Length(1),
        Constraint::Min(6),
        Constraint::Length(1),
    ])
    .areas(area);
    let mut places = Places {
        header,
        caution,
        body,
        footer,
        ..Places::default()
    };
    if state.shows != Page::Network {
        places.network = body;
    } else if area.width >= WIDE {
        let low = (body.height / 4).clamp(5, 14);
        let [upper, findings] =
            Layout::vertical([Constraint::Min(6), Constraint::Length(low)]).areas(body);
        let side = (area.width * 2 / 5).min(64);
        let [network, right] =
            Layout::horizontal([Constraint::Min(60), Constraint::Length(side)]).areas(upper);
        let [values, curve] =
            Layout::vertical([Constraint::Percentage(50), Constraint::Percentage(50)]).areas(right);
        (places.network, places.values, places.curve, places.findings) =
            (network, values, curve, findings);
    } else {
        let low = (body.height * 2 / 5).max(3);
        let [network, under] =
            Layout::vertical([Constraint::Min(4), Constraint::Length(low)]).areas(body);
        places.network = network;
        match state.panel {
            Panel::Values => {
                let [values, curve] =
                    Layout::horizontal([Constraint::Percentage(55), Constraint::Percentage(45)])
                        .areas(under);
                (places.values, places.curve) = (values, curve);
            }
            Panel::Network | Panel::Findings => places.findings = under,
        }
    }
    places
}

/// A panel's frame; the one in use is said to be.
fn frame_of<'t>(state: &State, panel: Option<Panel>, title: &str) -> Block<'t> {
    let in_use = panel == Some(state.panel);
    let title = if in_use {
        format!("[{title}]")
    } else {
        format!(" {title} ")
    };
    Block::new()
        .borders(Borders::ALL)
        .border_style(state.theme.quiet())
        .title(title)
}

/// A text cut to a width, with a mark where something is missing.
fn cut(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_owned();
    }
    let mut room = width.saturating_sub(1);
    let mut end = 0;
    for (at, c) in text.char_indices() {
        let Some(left) = room.checked_sub(c.width().unwrap_or(0)) else {
            break;
        };
        (room, end) = (left, at + c.len_utf8());
    }
    format!("{}>", &text[..end])
}

/// Lines one under another, each cut where the place ends: what a paragraph without wrapping shows,
/// in a fraction of its time.
fn put(frame: &mut Frame<'_>, place: Rect, lines: &[Line<'_>]) {
    for (line, y) in lines.iter().zip(place.top()..place.bottom()) {
        frame.buffer_mut().set_line(place.x, y, line, place.width);
    }
}

/// What just happened, else the keys that do something here, as many as fit.
fn footer(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width);
    let text = if state.message.is_empty() {
        let on_page = state.shows != Page::Network;
        let mut keys: Vec<&Key> = KEYS
            .iter()
            .filter(|k| !k.footer.is_empty() && k.action.serves(state.shows))
            .collect();
        let text = |keys: &[&Key]| {
            let start = on_page.then(|| "Esc network".to_owned());
            let labels = keys.iter().map(|k| format!("{} {}", k.label, k.footer));
            start
                .into_iter()
                .chain(labels)
                .collect::<Vec<_>>()
                .join(" · ")
        };
        for spared in keys::SPARED {
            if text(&keys).width() > width {
                keys.retain(|k| k.action != *spared);
            }
        }
        text(&keys)
    } else {
        state.message.clone()
    };
    frame.render_widget(Line::raw(cut(&text, width)), area);
}

/// Selects what was clicked on.
pub(crate) fn click(state: &mut State, column: u16, row: u16) {
    let Ok((width, height)) = crossterm::terminal::size() else {
        return;
    };
    let places = places(Rect::new(0, 0, width, height), state);
    let at = |area: Rect| {
        let inside =
            column > area.x && column < area.right() && row > area.y && row + 1 < area.bottom();
        inside.then(|| usize::from(row - area.y - 1))
    };
    if state.shows == Page::Sizes {
        let [runs, ..] = sizes::places(places.body);
        if let Some(line) = at(runs) {
            state.sizes.selected = sizes::top(state, runs) + line;
            state.step(0);
        }
    } else if state.shows != Page::Network {
        let table = table(state);
        let rows = page::rows_of(places.network, &table);
        if rows.contains((column, row).into()) {
            let first = page::top(state, table.rows.len(), usize::from(rows.height).max(1));
            state.row = first + usize::from(row - rows.y);
            state.step(0);
        }
    } else if let Some(line) = at(places.network) {
        let line = network::top(state) + line;
        if line < state.lines.len() {
            (state.panel, state.selected, state.value) = (Panel::Network, line, 0);
        }
    } else if let Some(line) = at(places.values) {
        state.panel = Panel::Values;
        state.value =
            (values::top(state, places.values) + line).min(state.values().len().saturating_sub(1));
    } else if let Some(line) = at(places.findings) {
        state.panel = Panel::Findings;
        let line = findings::top(state, places.findings) + line;
        state.finding = line.min(state.study.findings.len().saturating_sub(1));
        state.step(0);
    }
}
