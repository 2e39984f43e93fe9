//! Other designs of the site beside one another, and one of them opened beside the pinned one.

use super::{Row, Table};
use crate::alternates::Alternate;
use crate::diagnostic::Severity;
use crate::tui::pages::Page;
use crate::tui::state::State;
use crate::units::fixed;

pub(super) fn table(state: &State) -> Table {
    let designs = &state.designs;
    let rows = designs.found.iter().map(row);
    let mut below: Vec<String> = standing(state).into_iter().collect();
    below.extend(designs.found.get(state.row).into_iter().flat_map(detail));
    Table {
        head: &["design", "verdict", ">cost", ">margin", "", "what it is"],
        rows: rows.collect(),
        detail: below,
        enter: "pin the present design and draw this one",
    }
}

/// How far the trying is, until all are tried.
fn standing(state: &State) -> Option<String> {
    if state.designs.is_ended() {
        return Some("not all designs are tried; 9 tries them again".to_owned());
    }
    let progress = state.designs.progress()?;
    Some(format!(
        "{} of {} tried, now: {}; Esc keeps those so far",
        progress.done, progress.of, progress.now
    ))
}

fn row(design: &Alternate) -> Row {
    let Ok(outcome) = &design.outcome else {
        return Row {
            cells: vec![design.name.clone(), "cannot be drawn".to_owned()],
            ..Row::default()
        };
    };
    let cost = match (outcome.cost, outcome.unpriced.is_empty()) {
        (cost, true) => fixed(cost, 2),
        (cost, false) if cost > 0.0 => format!("{}+", fixed(cost, 2)),
        _ => "no prices".to_owned(),
    };
    Row {
        cells: vec![
            design.name.clone(),
            outcome.verdict.map_or("pass", Severity::as_str).to_owned(),
            cost,
            outcome.margin.map_or_else(
                || "-".to_owned(),
                |m| format!("{} %", fixed(m.value * 100.0, 1)),
            ),
            if outcome.on_front && outcome.cost > 0.0 {
                "best of its cost"
            } else {
                ""
            }
            .to_owned(),
            design.why.clone(),
        ],
        severity: outcome.verdict,
        ..Row::default()
    }
}

fn detail(design: &Alternate) -> Vec<String> {
    let mut lines = vec![format!("{}: {}", design.name, design.why)];
    if let Ok(outcome) = &design.outcome {
        lines.push(format!("cables: {}", outcome.cables.in_full()));
    }
    match &design.outcome {
        Ok(outcome) if !outcome.unpriced.is_empty() => {
            lines.push(format!("not in the cost: {}", outcome.unpriced.join(", ")));
        }
        Ok(_) => {}
        Err(why) => lines.push(format!("cannot be drawn: {why}")),
    }
    lines.extend(design.caution.map(|c| format!("mind: {c}")));
    lines
}

/// Pins the present design and draws the selected one in its place.
pub(super) fn open(state: &mut State) {
    let Some(design) = state.designs.found.get(state.row).cloned() else {
        return;
    };
    if design.edits.is_empty() {
        state.message = "this is the design as it stands".to_owned();
    } else if design.outcome.is_ok() {
        state.pin();
        if state.apply(&design.edits, &design.name) {
            state.show(Page::Network);
        }
    }
}
