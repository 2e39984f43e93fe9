//! The network: every thing with its numbers now, at worst, its limit and margin.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use unicode_width::UnicodeWidthStr as _;

use crate::site::Thing;
use crate::tui::beside;
use crate::tui::numbers::{Numbers, of};
use crate::tui::state::{Panel, State};
use crate::tui::theme::mark;
use crate::tui::tree::{Item, Line as TreeLine, stem};
use crate::tui::view::{cut, frame_of, put};
use crate::units::{self, Measure, System, fixed};

/// Width of each column of numbers.
const COLUMN: usize = 9;
/// Width of the last column: margin and word.
const MARGIN: usize = 15;

/// First line shown.
pub(crate) fn top(state: &State) -> usize {
    let page = state.page.max(1);
    // The selection stays in the middle, the ends stay at the ends.
    let last = state.lines.len().saturating_sub(page);
    state.selected.saturating_sub(page / 2).min(last)
}

pub(crate) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let columns = columns(area.width);
    let mut title = "Network".to_owned();
    let name = usize::from(area.width).saturating_sub(2 + columns * COLUMN + MARGIN);
    // The worst of the cases stands there until all states are searched.
    let worst = match &state.study.states {
        None => "cases",
        Some(all) if all.proven => "worst",
        Some(_) => "so far",
    };
    let head = ["now", worst, "limit"];
    let heads: String = head
        .iter()
        .take(columns)
        .map(|h| format!("{h:>COLUMN$}"))
        .collect();
    let gap = (name + 1).saturating_sub(title.len() + 2);
    title += &format!(
        "{}{heads}{:>MARGIN$}",
        " ".repeat(gap.saturating_sub(1)),
        if state.pin.is_some() {
            "change"
        } else {
            "margin"
        }
    );
    let block = frame_of(
        state,
        Some(Panel::Network),
        &cut(&title, usize::from(area.width).saturating_sub(4)),
    );
    let inner = block.inner(area);
    frame.render_widget(block, area);
    let lines: Vec<Line<'_>> = state
        .lines
        .iter()
        .enumerate()
        .skip(top(state))
        .take(usize::from(inner.height))
        .map(|(i, _)| row(state, i, name, columns))
        .collect();
    put(frame, inner, &lines);
}

fn columns(width: u16) -> usize {
    match width {
        0..56 => 1,
        56..72 => 2,
        _ => 3,
    }
}

fn row<'l>(state: &State, i: usize, name: usize, columns: usize) -> Line<'l> {
    let line = &state.lines[i];
    let n = state.numbers(line.item);
    let text = format!("{}{}", stem(&state.lines, i), describe(state, line));
    // Where there are no numbers, words take their place.
    let beside = matches!(line.item, Item::Beside | Item::Table(..));
    let wordy = beside && n.now.is_none();
    let (name, columns) = match line.item {
        Item::Beside => (name + columns * COLUMN + MARGIN, 0),
        _ if wordy => (name + columns * COLUMN, 0),
        _ => (name, columns),
    };
    let text = cut(&text, name);
    let pad = name.saturating_sub(text.width());
    let mut spans = vec![Span::raw(format!("{text}{}", " ".repeat(pad)))];
    let before = state.before.get(&line.item);
    let style = |now: Option<f64>, then: Option<Option<f64>>| {
        let changed = then.is_some_and(|then| shown(now, "") != shown(then, ""));
        if changed {
            state.theme.changed()
        } else {
            Style::new()
        }
    };
    let guessed = if assumed(state, line.item) { "~" } else { "" };
    let cells = [
        (n.now, before.map(|b| b.now), guessed),
        (n.worst, before.map(|b| b.worst), ""),
        (n.limit, before.map(|b| b.limit), ""),
    ];
    for (value, then, sign) in cells.into_iter().take(columns) {
        let text = format!("{sign}{}", shown(value, n.unit));
        spans.push(Span::raw(" ".repeat(COLUMN.saturating_sub(text.width()))));
        spans.push(Span::styled(text, style(value, then)));
    }
    if line.item != Item::Beside {
        spans.extend(margin(state, line.item, &n));
    }
    let line = Line::from(spans);
    if i == state.selected {
        line.style(state.theme.selected(state.panel == Panel::Network))
    } else {
        line
    }
}

/// A number that rests on a default.
fn assumed(state: &State, item: Item) -> bool {
    let name = state.name(item);
    state
        .study
        .assumptions
        .iter()
        .any(|a| a.subject == name && a.key != "tolerance" && a.key != "kind")
}

fn shown(value: Option<f64>, unit: &str) -> String {
    value.map_or_else(String::new, |v| format!("{} {unit}", fixed(v, 2)))
}

/// Margin and word, or the change against the pin.
fn margin<'l>(state: &State, item: Item, n: &Numbers) -> Vec<Span<'l>> {
    if let Some(pin) = &state.pin {
        let row = state.pin_row();
        let same = state.in_pin(item);
        let then = same.map_or_else(Numbers::default, |item| {
            of(&pin.site, &pin.study, row, item)
        });
        let text = match (n.now, then.now) {
            (Some(now), Some(then)) => {
                let change = fixed(now - then, 2);
                // What rounds to nothing has no sign of its own.
                let sign = if change.starts_with(['-', '\u{2212}']) {
                    ""
                } else {
                    "+"
                };
                format!("{sign}{change} {}", n.unit)
            }
            _ if same.is_none() => "new".to_owned(),
            _ => String::new(),
        };
        return vec![Span::styled(
            format!("{text:>MARGIN$}"),
            state.theme.pinned(),
        )];
    }
    let severity = state.grave.get(&state.name(item)).copied();
    let margin = n.margin.map_or_else(String::new, |m| {
        format!("{}{}", if m >= 0.0 { "+" } else { "" }, fixed(m, 2))
    });
    match severity {
        Some(severity) => {
            let word = format!("{} {}", mark(severity), severity.as_str().to_uppercase());
            let pad = MARGIN.saturating_sub(word.width());
            vec![
                Span::raw(format!("{margin:>pad$}", pad = pad.saturating_sub(1)) + " "),
                Span::styled(word, state.theme.severity(severity)),
            ]
        }
        None => {
            let word = if n.margin.is_some() {
                "  ok  "
            } else {
                "      "
            };
            vec![Span::raw(format!("{:>w$} {word}", margin, w = MARGIN - 7))]
        }
    }
}

/// A thing in a few words.
fn describe(state: &State, line: &TreeLine) -> String {
    let site = state.site();
    let system = site.units;
    match line.item {
        Item::Output(s, o) => format!(".{}", site.supplies[s].outputs[o].name),
        Item::Beside => beside::heading(site, state.open),
        Item::Table(group, i) => beside::describe(&state.project, group, i),
        Item::Thing(Thing::Supply(i)) => {
            let supply = &site.supplies[i];
            let kind = if supply.kind == crate::site::SupplyKind::Dc {
                "dc"
            } else {
                "ac"
            };
            let ohms = supply
                .resistance
                .map_or_else(String::new, |r| format!(", {}", units::show(r, system)));
            format!(
                "{}  {} {kind}{ohms}",
                supply.name,
                units::show(supply.voltage, system)
            )
        }
        Item::Thing(Thing::Device(i)) => {
            let device = &site.devices[i];
            let amps = state
                .row()
                .and_then(|row| state.study.results.device(row, i))
                .map(|w| w.amps.base());
            let amps = amps.map_or_else(String::new, |a| format!("  {} A", fixed(a, 3)));
            let kind = device
                .kind
                .as_deref()
                .filter(|k| *k != "other")
                .map_or_else(String::new, |k| format!("  {k}"));
            format!("{}{kind}{amps}", device.name)
        }
        Item::Thing(Thing::Junction(i)) => format!("{}  junction", site.junctions[i].name),
        Item::Thing(Thing::Fuse(i)) => format!(
            "{}  {}",
            site.fuses[i].name,
            site.fuses[i].kind.as_deref().unwrap_or("fuse")
        ),
        Item::Thing(Thing::Earth(i)) => format!(
            "{}  {}",
            site.earths[i].name,
            site.earths[i].kind.as_deref().unwrap_or("earth")
        ),
        Item::Thing(Thing::Run(i)) => run(state, i, line.leads, system),
    }
}

fn run(state: &State, i: usize, leads: bool, system: System) -> String {
    let run = &state.site().runs[i];
    let what = match run.resistance {
        Some(ohms) => units::show(ohms, system),
        None => format!("{} {}", run.cable_text, units::show(run.length, system)),
    };
    let to = if leads {
        format!(" → {}", state.site().end_text(run.to))
    } else {
        String::new()
    };
    let flow = state
        .row()
        .and_then(|row| state.study.results.run(state.site(), row, i))
        .unwrap_or_default();
    let legs = match (flow.plus_drop, flow.minus_drop, flow.common_amps) {
        (Some(plus), Some(minus), _) => format!(
            "  plus {} minus {}",
            fixed(plus.base(), 2),
            fixed(minus.base(), 2)
        ),
        (_, _, Some(common)) => format!("  data common {} A", fixed(common.base(), 3)),
        _ => String::new(),
    };
    let parts: Vec<String> = run
        .through
        .iter()
        .map(|p| state.site().part_text(*p))
        .collect();
    let parts = if parts.is_empty() {
        String::new()
    } else {
        format!(" via {}", parts.join(" "))
    };
    format!("{} {what}{to}{parts}{legs}", run.name)
}
