//! Volts along the way from the supply to the selected thing.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};
use ratatui::symbols::Marker;
use ratatui::text::Span;
use ratatui::widgets::{Axis, Chart, Dataset, GraphType, Paragraph};

use crate::results::{Results, Row};
use crate::site::{End, Site, Thing};
use crate::tui::state::State;
use crate::tui::tree::Item;
use crate::tui::view::frame_of;
use crate::units::{Measure, System, fixed};

/// Feet of a metre.
const FEET: f64 = 1.0 / 0.3048;

pub(crate) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let block = frame_of(state, None, "Volts along the way".into());
    let Some(end) = end(state) else {
        frame.render_widget(
            Paragraph::new("select what a supply reaches").block(block),
            area,
        );
        return;
    };
    let (site, results) = (state.site(), &state.study.results);
    let unit = if site.units == System::Us {
        ("ft", FEET)
    } else {
        ("m", 1.0)
    };
    let now = state
        .row()
        .map(|row| along(site, results, row, end, unit.1))
        .unwrap_or_default();
    if now.len() < 2 {
        frame.render_widget(
            Paragraph::new("no volts along this way in this case").block(block),
            area,
        );
        return;
    }
    let others: Vec<Vec<(f64, f64)>> = results
        .rows
        .iter()
        .filter(|row| row.corner == state.corner && row.case != state.case)
        .take(6)
        .map(|row| along(site, results, row, end, unit.1))
        .collect();
    let pinned = state.pin.as_ref().and_then(|pin| {
        let row = pin.study.results.row(state.case, state.corner)?;
        let end = in_pin(state, end)?;
        Some(along(&pin.site, &pin.study.results, row, end, unit.1))
    });
    let limit = limit(site, end).map(|v| vec![(0.0, v), (now[now.len() - 1].0, v)]);
    let sets = [Some(&now), pinned.as_ref(), limit.as_ref()]
        .into_iter()
        .flatten()
        .chain(&others);
    let points: Vec<(f64, f64)> = sets.flatten().copied().collect();
    let least = points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
    let most = points.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
    let far = points.iter().map(|p| p.0).fold(0.0, f64::max).max(1e-9);
    let (least, most) = (least - 0.2, most + 0.2);
    let marker = if state.theme.ascii {
        Marker::Dot
    } else {
        Marker::HalfBlock
    };
    let mut sets = Vec::new();
    for other in &others {
        sets.push(set(other, Marker::Dot, state.theme.quiet()));
    }
    if let Some(limit) = &limit {
        sets.push(
            set(
                limit,
                Marker::Dot,
                state.theme.severity(crate::diagnostic::Severity::Fail),
            )
            .name("lowest"),
        );
    }
    if let Some(pinned) = &pinned {
        sets.push(set(pinned, Marker::Dot, state.theme.pinned()).name("pin"));
    }
    sets.push(set(&now, marker, Style::new().add_modifier(Modifier::BOLD)));
    let label = |v: f64, unit: &str| Span::raw(format!("{} {unit}", fixed(v, 1)));
    let chart = Chart::new(sets)
        .block(block)
        .legend_position(Some(ratatui::widgets::LegendPosition::BottomLeft))
        .x_axis(
            Axis::default()
                .bounds([0.0, far])
                .labels([label(0.0, unit.0), label(far, unit.0)]),
        )
        .y_axis(Axis::default().bounds([least, most]).labels([
            label(least, "V"),
            label(f64::midpoint(least, most), "V"),
            label(most, "V"),
        ]));
    frame.render_widget(chart, area);
}

fn set(points: &[(f64, f64)], marker: Marker, style: Style) -> Dataset<'_> {
    Dataset::default()
        .marker(marker)
        .graph_type(GraphType::Line)
        .style(style)
        .data(points)
}

/// The end that the selection leads to.
fn end(state: &State) -> Option<End> {
    match state.item()? {
        Item::Thing(Thing::Device(i)) => Some(End::Device(i)),
        Item::Thing(Thing::Junction(i)) => Some(End::Junction(i)),
        Item::Thing(Thing::Run(i)) => {
            let run = &state.site().runs[i];
            let ways = &state.study.results.ways;
            let further = ways.way_to(run.to).len() >= ways.way_to(run.from).len();
            Some(if further { run.to } else { run.from })
        }
        _ => None,
    }
}

/// The same end in the pinned design.
fn in_pin(state: &State, end: End) -> Option<End> {
    let thing = match end {
        End::Device(i) => Thing::Device(i),
        End::Junction(i) => Thing::Junction(i),
        _ => return None,
    };
    match state.in_pin(Item::Thing(thing))? {
        Item::Thing(Thing::Device(i)) => Some(End::Device(i)),
        Item::Thing(Thing::Junction(i)) => Some(End::Junction(i)),
        _ => None,
    }
}

fn limit(site: &Site, end: End) -> Option<f64> {
    match end {
        End::Device(i) => site.devices[i].lowest.map(Measure::base),
        _ => None,
    }
}

/// Length from the supply and volts there, thing by thing.
fn along(site: &Site, results: &Results, row: &Row, end: End, per_metre: f64) -> Vec<(f64, f64)> {
    let Some(start) = results.ways.start_of(end) else {
        return Vec::new();
    };
    let Some(supply) = results.supply(row, start) else {
        return Vec::new();
    };
    let mut at = 0.0;
    let mut points = vec![(0.0, supply.volts.base())];
    for (run, thing) in results.ways.way_to(end) {
        at += run.map_or(0.0, |i| site.runs[i].length.base() * per_metre);
        let volts = match thing {
            Thing::Device(i) => results.device(row, i).map(|w| w.volts.base()),
            Thing::Junction(i) => results.junction(row, i).map(Measure::base),
            Thing::Supply(i) => results.supply(row, i).map(|w| w.volts.base()),
            Thing::Fuse(_) | Thing::Earth(_) | Thing::Run(_) => None,
        };
        points.extend(volts.map(|v| (at, v)));
    }
    // Runs that state their ohms have no length: then each takes the same room.
    if at <= 0.0 {
        for (i, point) in points.iter_mut().enumerate() {
            point.0 = u32::try_from(i).map_or(0.0, f64::from);
        }
    }
    points
}
