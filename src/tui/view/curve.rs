//! Volts along the way from the supply to the selected thing.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};
use ratatui::symbols::Marker;
use ratatui::text::Span;
use ratatui::widgets::{Axis, Chart, Dataset, GraphType, LegendPosition, Paragraph};

use crate::diagnostic::Severity;
use crate::results::{Results, Row};
use crate::site::{End, Site, Thing};
use crate::tui::state::State;
use crate::tui::tree::Item;
use crate::tui::view::{cut, frame_of};
use crate::units::{Measure, System, fixed};

/// A limit over this many times the volts is not drawn.
const FAR_ABOVE: f64 = 1.3;
/// Feet of a metre.
const FEET: f64 = 1.0 / 0.3048;

pub(crate) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let end = end(state);
    let title = match end {
        Some(end) => format!("Volts along the way to {}", state.site().end_text(end)),
        None => "Volts along the way".to_owned(),
    };
    let block = frame_of(
        state,
        None,
        &cut(&title, usize::from(area.width).saturating_sub(4)),
    );
    let curves = match end {
        None => Err("select what a supply reaches"),
        Some(end) => {
            Curves::of(state, end).ok_or("no volts along this way in this case and corner")
        }
    };
    match curves {
        Err(why) => frame.render_widget(Paragraph::new(why).block(block), area),
        Ok(curves) => frame.render_widget(curves.chart(state).block(block), area),
    }
}

/// Length from the supply and volts there.
type Points = Vec<(f64, f64)>;

/// What the panel shows: this case, the others, the pin and the window.
struct Curves {
    now: Points,
    others: Vec<Points>,
    pinned: Option<Points>,
    window: Vec<Points>,
    unit: &'static str,
}

impl Curves {
    fn of(state: &State, end: End) -> Option<Self> {
        let (site, results) = (state.site(), &state.study.results);
        let (unit, per_metre) = match site.units {
            System::Us => ("ft", FEET),
            System::Si => ("m", 1.0),
        };
        let now = along(site, results, state.row()?, end, per_metre);
        let far = now.last().filter(|_| now.len() > 1)?.0;
        let others = results
            .rows
            .iter()
            .filter(|row| row.corner == state.corner && row.case != state.case)
            .take(6)
            .map(|row| along(site, results, row, end, per_metre))
            .collect();
        let pinned = state.pin.as_ref().and_then(|pin| {
            let (row, end) = (state.pin_row()?, in_pin(state, end)?);
            Some(along(&pin.site, &pin.study.results, row, end, per_metre))
        });
        let most = now.iter().map(|p| p.1).fold(0.0, f64::max);
        let window = window(site, end).into_iter().flatten();
        // A limit far above all volts would only press the curve flat.
        let near = window.filter(|limit| *limit < most * FAR_ABOVE);
        let window = near.map(|v| vec![(0.0, v), (far, v)]).collect();
        Some(Self {
            now,
            others,
            pinned,
            window,
            unit,
        })
    }

    fn all(&self) -> impl Iterator<Item = &(f64, f64)> {
        let rest = self.others.iter().chain(&self.window).chain(&self.pinned);
        rest.chain(std::iter::once(&self.now)).flatten()
    }

    fn chart(&self, state: &State) -> Chart<'_> {
        let theme = state.theme;
        let least = self.all().map(|p| p.1).fold(f64::INFINITY, f64::min) - 0.2;
        let most = self.all().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max) + 0.2;
        let far = self.all().map(|p| p.0).fold(0.0, f64::max).max(1e-9);
        let mut sets: Vec<Dataset<'_>> = self
            .others
            .iter()
            .map(|other| set(other, Marker::Dot, theme.quiet()))
            .collect();
        for (i, limit) in self.window.iter().enumerate() {
            let limit = set(limit, Marker::Dot, theme.severity(Severity::Fail));
            sets.push(if i == 0 { limit.name("window") } else { limit });
        }
        if let Some(pinned) = &self.pinned {
            sets.push(set(pinned, Marker::Dot, theme.pinned()).name("pin"));
        }
        let marker = if theme.ascii {
            Marker::Dot
        } else {
            Marker::HalfBlock
        };
        sets.push(set(
            &self.now,
            marker,
            Style::new().add_modifier(Modifier::BOLD),
        ));
        let label = |v: f64, unit: &str| Span::raw(format!("{} {unit}", fixed(v, 1)));
        let middle = f64::midpoint(least, most);
        let volts = [least, middle, most].map(|v| label(v, "V"));
        let lengths = [0.0, far].map(|l| label(l, self.unit));
        Chart::new(sets)
            .legend_position(Some(LegendPosition::BottomLeft))
            .x_axis(Axis::default().bounds([0.0, far]).labels(lengths))
            .y_axis(Axis::default().bounds([least, most]).labels(volts))
    }
}

fn set(points: &[(f64, f64)], marker: Marker, style: Style) -> Dataset<'_> {
    Dataset::default()
        .marker(marker)
        .graph_type(GraphType::Line)
        .style(style)
        .data(points)
}

/// The end that the selection leads to; a supply leads to where it is worst.
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
        Item::Thing(Thing::Supply(i)) => gravest(state, i),
        _ => None,
    }
}

/// The device that hangs on a supply and has the gravest finding.
fn gravest(state: &State, supply: usize) -> Option<End> {
    let found = state.study.findings.iter();
    found
        .filter_map(|judged| match judged.finding.thing? {
            Thing::Device(i) => Some(End::Device(i)),
            _ => None,
        })
        .find(|end| state.study.results.ways.start_of(*end) == Some(supply))
}

/// The end of the same name in the pinned design.
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

/// Lowest and highest volts of a device.
fn window(site: &Site, end: End) -> [Option<f64>; 2] {
    match end {
        End::Device(i) => {
            let device = &site.devices[i];
            [device.lowest, device.highest].map(|v| v.map(Measure::base))
        }
        _ => [None, None],
    }
}

/// Length from the supply and volts there, thing by thing.
fn along(site: &Site, results: &Results, row: &Row, end: End, per_metre: f64) -> Points {
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
