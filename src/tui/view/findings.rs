//! The findings, gravest first.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use crate::report::place;
use crate::tui::state::{Panel, State};
use crate::tui::theme::mark;
use crate::tui::view::{cut, frame_of, put};

/// First finding shown.
pub(crate) fn top(state: &State, area: Rect) -> usize {
    let room = usize::from(area.height.saturating_sub(2)).max(1);
    state.finding.saturating_sub(room.saturating_sub(1))
}

pub(crate) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let block = frame_of(
        state,
        Some(Panel::Findings),
        &format!("Findings {}", state.study.findings.len()),
    );
    let inner = block.inner(area);
    frame.render_widget(block, area);
    let width = usize::from(inner.width);
    let shown = state
        .study
        .findings
        .iter()
        .enumerate()
        .skip(top(state, area))
        .take(usize::from(inner.height));
    let lines: Vec<Line<'_>> = shown
        .map(|(i, judged)| {
            let finding = &judged.finding;
            let word = format!(
                "{} {:4} ",
                mark(finding.severity),
                finding.severity.as_str().to_uppercase()
            );
            let place = place(&state.study, finding.case, finding.corner);
            let place = if place.is_empty() {
                String::new()
            } else {
                format!(" [{place}]")
            };
            let accepted = if judged.accepted.is_some() {
                " (accepted)"
            } else {
                ""
            };
            let text = format!("{}{accepted}{place}  {}", finding.message(), finding.code);
            let room = width.saturating_sub(7);
            let line = Line::from(vec![
                Span::styled(word, state.theme.severity(finding.severity)),
                Span::raw(cut(&text, room)),
            ]);
            if i == state.finding {
                line.style(state.theme.selected(state.panel == Panel::Findings))
            } else {
                line
            }
        })
        .collect();
    let empty = lines.is_empty();
    put(frame, inner, &lines);
    if empty {
        frame.render_widget(Line::raw("nothing found"), inner);
    }
}
