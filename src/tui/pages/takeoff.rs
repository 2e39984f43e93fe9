//! What it takes to build the site: the bill, the cuts, the wires.

use super::{Row, Table};
use crate::report::{Cell, sheets_of_bid};
use crate::site::Thing;
use crate::takeoff::TakeOff;
use crate::tui::state::State;

pub(super) fn table(state: &State) -> Table {
    let site = state.site();
    let takeoff = TakeOff::of(site);
    let (mut rows, mut detail) = (Vec::new(), Vec::new());
    for sheet in sheets_of_bid(site, &takeoff) {
        if sheet.rows.is_empty() {
            continue;
        }
        rows.push(Row::head(&format!(
            "{}: {}",
            sheet.name.to_uppercase(),
            sheet.head.join(" | ")
        )));
        for cells in &sheet.rows {
            let shown: Vec<String> = cells.iter().map(Cell::shown).collect();
            let run = shown.iter().find_map(|name| match site.names.get(name) {
                Some(Thing::Run(i)) => Some(Thing::Run(*i)),
                _ => None,
            });
            rows.push(Row {
                cells: shown,
                thing: run,
                ..Row::default()
            });
        }
        rows.extend(sheet.totals().map(|cells| Row {
            cells,
            ..Row::default()
        }));
        detail.extend(sheet.remarks);
    }
    Table {
        head: &[],
        rows,
        detail,
        enter: "show the run on the network",
    }
}
