//! The page of sizes: the runs that have choices, the ladder of the selected one, and how the
//! search stands.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Wrap};
use unicode_width::UnicodeWidthStr as _;

use crate::diagnostic::Severity;
use crate::report::cost_text;
use crate::size::{Ladder, Rung, Sizing};
use crate::tui::numbers::{Numbers, of};
use crate::tui::state::State;
use crate::tui::theme::mark;
use crate::tui::tree::Item;
use crate::tui::view::{WIDE, cut, frame_of};
use crate::units::{self, Measure, fixed};

/// Width of a number with its unit.
const NUMBER: usize = 9;
/// Width of a cable.
const CABLE: usize = 10;

/// The state, and the design that holds for the site as it stands.
type Seen<'s> = (&'s State, Option<&'s Sizing>);

/// Where the parts of the page stand: runs, ladder, search.
pub(crate) fn places(area: Rect) -> [Rect; 3] {
    if area.width >= WIDE {
        let [upper, search] =
            Layout::vertical([Constraint::Min(6), Constraint::Length(6)]).areas(area);
        let side = (area.width * 2 / 5).min(66);
        let [runs, ladder] =
            Layout::horizontal([Constraint::Min(60), Constraint::Length(side)]).areas(upper);
        return [runs, ladder, search];
    }
    let low = (area.height / 2).clamp(4, 9);
    let [runs, ladder, search] = Layout::vertical([
        Constraint::Min(3),
        Constraint::Length(low),
        Constraint::Length(4),
    ])
    .areas(area);
    [runs, ladder, search]
}

/// First run shown.
pub(crate) fn top(state: &State, area: Rect) -> usize {
    let room = usize::from(area.height.saturating_sub(2)).max(1);
    state.sizes.selected.saturating_sub(room.saturating_sub(1))
}

pub(crate) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let [list, ladder, search] = places(area);
    let found = found(state);
    runs(frame, list, (state, found));
    rungs(frame, ladder, (state, found));
    standing(frame, search, (state, found));
}

/// The design that holds for the site as it stands.
fn found(state: &State) -> Option<&Sizing> {
    let (site, sizing) = state.sizes.found.as_ref()?;
    (site == state.site()).then_some(sizing)
}

fn runs(frame: &mut Frame<'_>, area: Rect, (state, found): Seen<'_>) {
    let wide = usize::from(area.width) >= 78;
    let columns = 2 * CABLE + 3 * NUMBER + if wide { NUMBER } else { 0 };
    let name = usize::from(area.width).saturating_sub(2 + columns);
    let last = if state.pin.is_some() {
        "change"
    } else {
        "margin"
    };
    let mut heads = format!("{:>CABLE$}{:>CABLE$}{:>NUMBER$}", "now", "found", "cost");
    if wide {
        heads = format!("{:>NUMBER$}{heads}", "length");
    }
    heads += &format!("{:>NUMBER$}{last:>NUMBER$}", "volts");
    let title = format!("4 Sizes{:pad$}{heads}", "", pad = name.saturating_sub(9));
    let block = frame_of(
        state,
        None,
        &cut(&title, usize::from(area.width).saturating_sub(4)),
    );
    let inner = block.inner(area);
    frame.render_widget(block, area);
    let open = state.open_runs();
    let shown = open
        .iter()
        .enumerate()
        .skip(top(state, area))
        .take(usize::from(inner.height));
    let lines: Vec<Line<'_>> = shown
        .map(|(i, run)| {
            let line = Line::from(run_line((state, found), *run, name, wide));
            if i == state.sizes.selected {
                line.style(state.theme.selected(true))
            } else {
                line
            }
        })
        .collect();
    let empty = lines.is_empty();
    frame.render_widget(Paragraph::new(lines), inner);
    if empty {
        let text = "No run has choices. Name cables under [sizing] choices in the file, or give a run its own choices.";
        frame.render_widget(Paragraph::new(text).wrap(Wrap { trim: true }), inner);
    }
}

fn run_line<'l>((state, found): Seen<'_>, i: usize, name: usize, wide: bool) -> Vec<Span<'l>> {
    let site = state.site();
    let run = &site.runs[i];
    let text = format!(
        "{} {} → {}",
        run.name,
        site.end_text(run.from),
        site.end_text(run.to)
    );
    let mut spans = vec![padded_right(&text, name)];
    if wide {
        spans.push(padded(&units::show(run.length, site.units), NUMBER));
    }
    spans.push(padded(&run.cable_text, CABLE));
    let sized = found.and_then(|s| s.runs.iter().find(|r| r.run == i));
    let cable = sized.map_or("", |s| s.cable.as_str());
    let style = if sized.is_some_and(|s| s.cable != s.was) {
        state.theme.changed()
    } else {
        Style::new()
    };
    spans.push(padded(cable, CABLE).style(style));
    let unit = found.map(|s| s.unit);
    let cost = sized.zip(unit).map(|(s, unit)| short_cost(unit, s.cost));
    spans.push(padded(&cost.unwrap_or_default(), NUMBER));
    let item = Item::Thing(run.to.thing());
    let here = state.numbers(item);
    spans.push(padded(&volts(here.worst), NUMBER));
    let last = match &state.pin {
        Some(pin) => {
            let there = state
                .in_pin(item)
                .map(|item| of(&pin.site, &pin.study, state.pin_row(), item));
            let then = there.unwrap_or_else(Numbers::default).worst;
            signed(here.worst.zip(then).map(|(now, then)| now - then))
        }
        None => signed(here.margin),
    };
    let style = match (&state.pin, here.margin) {
        (Some(_), _) => state.theme.pinned(),
        (None, Some(margin)) if margin < 0.0 => state.theme.severity(Severity::Fail),
        _ => Style::new(),
    };
    spans.push(padded(&last, NUMBER).style(style));
    spans
}

/// A cost without its currency, which the line below the runs names.
fn short_cost(unit: crate::size::CostUnit, cost: f64) -> String {
    match unit {
        crate::size::CostUnit::Price => fixed(cost, 2),
        crate::size::CostUnit::Metal => format!("{} dm3", fixed(cost * 1e3, 3)),
    }
}

fn volts(v: Option<f64>) -> String {
    v.map_or_else(String::new, |v| format!("{} V", fixed(v, 2)))
}

fn signed(v: Option<f64>) -> String {
    let sign = |v: f64| if v >= 0.0 { "+" } else { "" };
    v.map_or_else(String::new, |v| format!("{}{} V", sign(v), fixed(v, 2)))
}

fn padded<'l>(text: &str, width: usize) -> Span<'l> {
    let text = cut(text, width.saturating_sub(1));
    Span::raw(format!(
        "{}{text}",
        " ".repeat(width.saturating_sub(text.width()))
    ))
}

fn padded_right<'l>(text: &str, width: usize) -> Span<'l> {
    let text = cut(text, width);
    Span::raw(format!(
        "{text}{}",
        " ".repeat(width.saturating_sub(text.width()))
    ))
}

/// Every choice of the selected run, re-solved.
fn rungs(frame: &mut Frame<'_>, area: Rect, (state, found): Seen<'_>) {
    let Some(ladder) = &state.sizes.ladder else {
        frame.render_widget(frame_of(state, None, "Choices"), area);
        return;
    };
    let rest = if found.is_some_and(|s| s.cost.is_some()) {
        "the rest as found"
    } else {
        "the rest as it stands"
    };
    let title = format!(
        "{} in each cable, {rest}",
        state.site().runs[ladder.run].name
    );
    let block = frame_of(
        state,
        None,
        &cut(&title, usize::from(area.width).saturating_sub(4)),
    );
    let inner = block.inner(area);
    frame.render_widget(block, area);
    let mut lines = vec![Line::styled(
        format!(
            "  {:CABLE$}{:>NUMBER$}{:>NUMBER$}{:>NUMBER$}{:>NUMBER$}",
            "", "far end", "margin", "loss", "cost"
        ),
        state.theme.quiet(),
    )];
    lines.extend(
        ladder
            .rungs
            .iter()
            .map(|rung| rung_line(state, ladder, rung)),
    );
    if let Some(binds) = &ladder.binds {
        lines.push(Line::raw(format!("No cheaper, because {binds}")));
    }
    frame.render_widget(Paragraph::new(lines).wrap(Wrap { trim: false }), inner);
}

fn rung_line<'l>(state: &State, ladder: &Ladder, rung: &Rung) -> Line<'l> {
    let base = |v: units::ElectricPotential| v.base();
    let numbers = [
        volts(rung.far_end.map(base)),
        signed(rung.margin.map(base)),
        format!("{} W", fixed(rung.loss.base(), 3)),
        short_cost(ladder.unit, rung.cost),
    ];
    let mut spans = vec![
        Span::raw(if rung.chosen { "› " } else { "  " }),
        padded_right(&rung.cable, CABLE),
    ];
    spans.extend(numbers.iter().map(|n| padded(n, NUMBER)));
    spans.push(match rung.fails {
        None => Span::raw("  ok"),
        Some(_) => Span::styled(
            format!("  {} FAIL", mark(Severity::Fail)),
            state.theme.severity(Severity::Fail),
        ),
    });
    let line = Line::from(spans);
    if rung.chosen {
        line.style(Style::new().add_modifier(ratatui::style::Modifier::BOLD))
    } else {
        line
    }
}

/// How the search stands, or what it came to.
fn standing(frame: &mut Frame<'_>, area: Rect, (state, found): Seen<'_>) {
    let block = frame_of(state, None, "Cheapest that passes");
    let inner = block.inner(area);
    frame.render_widget(block, area);
    let site = state.site();
    let mut lines = Vec::new();
    match (state.sizes.is_searching(), found) {
        (true, _) => {
            let text = match state.sizes.progress() {
                None => "laying out every case and corner".to_owned(),
                Some(p) => format!(
                    "best so far {}, nothing passes under {}, {} designs tried",
                    p.cost.map_or_else(|| "none".into(), |c| fixed(c, 2)),
                    fixed(p.bound, 2),
                    p.tried
                ),
            };
            lines.push(Line::raw(format!(
                "looking: {text}; Esc keeps the best so far"
            )));
        }
        (false, None) if state.sizes.found.is_some() => {
            lines.push(Line::raw(
                "the site has changed since the last search; z looks again",
            ));
        }
        (false, None) => lines.push(Line::raw(
            "z looks for the cheapest cables with which every case and corner passes",
        )),
        (false, Some(sizing)) => match sizing.cost {
            Some(cost) => {
                let proof = if sizing.optimal {
                    "nothing cheaper passes".to_owned()
                } else {
                    sizing.bound.map_or_else(
                        || "not proven with phase angles, diodes or limiters".to_owned(),
                        |bound| {
                            let bound = cost_text(site, sizing.unit, bound);
                            format!("nothing passes under {bound}")
                        },
                    )
                };
                let whole = cost_text(site, sizing.unit, cost);
                lines.push(Line::raw(format!(
                    "all runs together {whole}: {proof}; y takes it"
                )));
                if !sizing.remaining.is_empty() {
                    let rest = sizing.remaining.join(", ");
                    lines.push(Line::raw(format!("what remains then: {rest}")));
                }
            }
            None => lines.extend(
                sizing
                    .unsized_runs
                    .iter()
                    .map(|u| Line::raw(format!("{}: {}", u.id, u.reason))),
            ),
        },
    }
    let lines = Paragraph::new(lines).wrap(Wrap { trim: true });
    frame.render_widget(lines, inner);
}
