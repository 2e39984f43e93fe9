//! Who gives how many amps, of how many: supplies, outputs, fuses, contacts and conductors.

use super::{Row, Table};
use crate::circuit::Corner;
use crate::results;
use crate::site::{Part, Thing};
use crate::tui::state::State;
use crate::units::{Measure, fixed};

pub(super) fn table(state: &State) -> Table {
    let (site, results) = (state.site(), &state.study.results);
    let mut rows = Vec::new();
    for (i, supply) in site.supplies.iter().enumerate() {
        let amps = |row: &results::Row| results.supply(row, i).map(|w| w.amps.base());
        let rated = supply.current.map(Measure::base);
        rows.push(row(state, &supply.name, Thing::Supply(i), &amps, rated));
        for (o, output) in supply.outputs.iter().enumerate() {
            let branch = results.template.outputs[i][o];
            let amps = |row: &results::Row| results.branch(row, branch).map(|a| a.base().abs());
            let name = format!("{}.{}", supply.name, output.name);
            let rated = output.current.map(Measure::base);
            rows.push(row(state, &name, Thing::Supply(i), &amps, rated));
        }
    }
    for (part, branch) in &results.template.parts {
        let amps = |row: &results::Row| results.branch(row, *branch).map(|a| a.base().abs());
        let (thing, rated) = match part {
            Part::Fuse(i) => (Thing::Fuse(*i), site.fuses[*i].current),
            Part::Contact(d, r, _) => (Thing::Device(*d), site.devices[*d].relays[*r].current),
        };
        let name = site.part_text(*part);
        rows.push(row(state, &name, thing, &amps, rated.map(Measure::base)));
    }
    for (i, run) in site.runs.iter().enumerate() {
        let amps = |row: &results::Row| {
            let flow = results.run(site, row, i)?;
            let legs = [flow.amps, flow.return_amps, flow.common_amps];
            legs.into_iter()
                .flatten()
                .map(|a| a.base().abs())
                .reduce(f64::max)
        };
        rows.push(row(state, &run.name, Thing::Run(i), &amps, None));
    }
    Table {
        head: &["what", ">now A", ">most A", ">rated A", ">used", "most in", "state"],
        rows,
        detail: vec![
            "Most: the greatest amps over all cases in the corners low and heavy. Used: of the rating.".to_owned(),
            "A rating that is overdrawn is cured by no cable: another supply, or fewer draws at once.".to_owned(),
        ],
        enter: "show on the network",
    }
}

fn row(
    state: &State,
    name: &str,
    thing: Thing,
    amps: &dyn Fn(&results::Row) -> Option<f64>,
    rated: Option<f64>,
) -> Row {
    let results = &state.study.results;
    let now = state.row().and_then(amps);
    let judged = results
        .rows
        .iter()
        .filter(|r| matches!(r.corner, Corner::Low | Corner::Heavy));
    let most = judged
        .filter_map(|r| Some((amps(r)?, r)))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let shown = |amps: Option<f64>| amps.map_or_else(|| "-".to_owned(), |a| fixed(a, 3));
    let used = most.and_then(|(most, _)| Some(100.0 * most / rated.filter(|r| *r > 0.0)?));
    let severity = state.grave.get(name).copied();
    Row {
        cells: vec![
            name.to_owned(),
            shown(now),
            shown(most.map(|m| m.0)),
            rated.map_or_else(|| "?".to_owned(), |a| fixed(a, 2)),
            used.map_or_else(|| "-".to_owned(), |u| format!("{} %", fixed(u, 0))),
            most.map_or_else(String::new, |(_, row)| {
                crate::report::place(&state.study, Some(row.case), Some(row.corner))
            }),
            severity
                .map_or("ok", crate::diagnostic::Severity::as_str)
                .to_owned(),
        ],
        severity,
        thing: Some(thing),
        ..Row::default()
    }
}
