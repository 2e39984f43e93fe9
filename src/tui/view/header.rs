//! The first two lines: verdict, case and corner, units, saved or not, name; and a caution.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use crate::diagnostic::Severity;
use crate::tui::state::State;
use crate::tui::theme::mark;
use crate::tui::view::cut;
use crate::units::System;

pub(crate) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let mut spans = vec![Span::raw(" ")];
    for severity in [
        Severity::Stop,
        Severity::Fail,
        Severity::Warn,
        Severity::Ask,
    ] {
        let count = state.study.count(severity);
        if count > 0 {
            let text = format!(
                "{} {} {count}",
                mark(severity),
                severity.as_str().to_uppercase()
            );
            spans.push(Span::styled(text, state.theme.severity(severity)));
            spans.push(Span::raw("  "));
        }
    }
    if state.study.verdict.is_none() {
        spans.push(Span::raw("PASS  "));
    }
    let saved = match (&state.path, state.project.is_unsaved()) {
        (_, true) => "UNSAVED",
        (Some(_), false) => "saved",
        (None, false) => "demo",
    };
    let units = if state.site().units == System::Us {
        "us"
    } else {
        "si"
    };
    let case = state
        .study
        .results
        .cases
        .get(state.case)
        .map_or("", |c| c.name.as_str());
    let pinned = if state.pin.is_some() { "  PIN" } else { "" };
    spans.push(Span::raw(format!(
        "case {case}  corner {}  {units}  {saved}{pinned}  ",
        state.corner.as_str()
    )));
    let used: usize = spans.iter().map(Span::width).sum();
    let room = usize::from(area.width).saturating_sub(used);
    spans.push(Span::raw(cut(&state.site().name, room)));
    frame.render_widget(Line::from(spans), area);
}

/// One caution, always in sight; which one follows the selection, so that all get their turn.
pub(crate) fn caution(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let all = &state.cautions;
    let i = state.selected % all.len().max(1);
    let tail = "  F2 all ";
    let text = format!(
        " CAUTION {}/{}  {}",
        i + 1,
        all.len(),
        all.get(i).map_or("", |c| c.words.as_str())
    );
    let width = usize::from(area.width).saturating_sub(tail.len());
    let line = format!("{:width$}{tail}", cut(&text, width));
    frame.render_widget(Line::styled(line, state.theme.caution()), area);
}
