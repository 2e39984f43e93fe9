//! What a meter read beside what the site says, and what follows from it.

use super::{Row, Table};
use crate::circuit::Corner;
use crate::readings::words;
use crate::report::{About, HEADS, ReadingRow, reading_rows};
use crate::site::{Found, MeterOf, Thing};
use crate::tui::group::Group;
use crate::tui::state::{Panel, State};
use crate::tui::tree::Item;
use crate::units::fixed;

pub(super) fn table(state: &State) -> Table {
    let rows = reading_rows(state.site(), &state.study);
    Table {
        head: &HEADS,
        detail: detail(state, rows.get(state.row)),
        rows: rows.into_iter().map(|row| shown(state, row)).collect(),
        enter: "edit the reading · a adds one · d deletes it",
    }
}

fn shown(state: &State, row: ReadingRow) -> Row {
    let (thing, reading) = match row.about {
        About::Heading | About::Whole => (None, None),
        About::Reading(i) => (None, Some(i)),
        About::Path(i) => (Some(Thing::Run(state.study.readings.paths[i].run)), None),
        About::Thing(thing) => (Some(thing), None),
    };
    Row {
        cells: row.cells,
        severity: row.severity,
        thing,
        reading,
        is_head: row.about == About::Heading,
    }
}

/// What there is to know of the selected row; over all rows, what is left out.
fn detail(state: &State, row: Option<&ReadingRow>) -> Vec<String> {
    let own = &state.study.readings;
    match row.map(|row| row.about) {
        None => vec![
            "Nothing was read yet: a adds a reading. Volts at both ends of a run and its amps, with one meter and at several currents, show its ohms.".to_owned(),
        ],
        Some(About::Path(i)) => words(state.site(), &own.paths[i]),
        Some(About::Reading(i)) => of_reading(state, i),
        Some(About::Whole) => {
            let findings = state.study.findings.iter().map(|judged| &judged.finding);
            let whole = findings.filter(|f| f.code == "found-fault");
            whole.map(|f| f.message().into_owned()).collect()
        }
        Some(About::Thing(thing)) => {
            let name = state.site().name_of(thing);
            let codes = ["found-source", "reading-sum", "reading-contradiction"];
            told(state, &codes, name).collect()
        }
        Some(About::Heading) => of_all(state),
    }
}

/// What is left out, and what cannot follow.
fn of_all(state: &State) -> Vec<String> {
    let (own, results) = (&state.study.readings, &state.study.results);
    let mut lines = Vec::new();
    if !own.missing.is_empty() {
        lines.push("Left out:".to_owned());
        lines.extend(own.missing.iter().cloned());
    }
    let mut rows = own
        .moments
        .iter()
        .filter_map(|moment| results.row(moment.case?, Corner::Nominal));
    if rows.any(crate::results::Row::has_angles) {
        lines.push("Volts and amps that are out of phase (rectifiers, power factors, reactance) are compared, and no ohms follow from them: a meter shows magnitudes, and those of two places do not subtract.".to_owned());
    }
    lines
}

/// What findings with some codes say of a subject.
fn told(state: &State, codes: &[&str], subject: &str) -> impl Iterator<Item = String> {
    let findings = state.study.findings.iter().map(|judged| &judged.finding);
    findings
        .filter(move |f| codes.contains(&f.code) && f.subject == subject)
        .map(|f| f.message().into_owned())
}

/// One reading: its meter, its error, and who took it when.
fn of_reading(state: &State, i: usize) -> Vec<String> {
    let (site, taken) = (state.site(), &state.study.readings.taken[i]);
    let reading = &site.readings[i];
    let unit = reading.unit();
    let meter = match reading.meter {
        Some(MeterOf::Named(m)) => format!("with {}", site.meters[m].name),
        Some(MeterOf::Stated(_)) => "with a meter without a name".to_owned(),
        None => "with a meter that nobody noted".to_owned(),
    };
    let mut lines = vec![format!(
        "reading {}, {meter}: {} {unit}, within {} {unit}",
        i + 1,
        fixed(taken.found, 3),
        fixed(taken.u, 4)
    )];
    let noted = [("by", &reading.by), ("at", &reading.time)];
    let noted = noted.iter().filter_map(|(word, text)| {
        let text = text.as_ref()?;
        Some(format!("{word} {text}"))
    });
    let noted: Vec<String> = noted.collect();
    if !noted.is_empty() {
        lines.push(format!("read {}", noted.join(", ")));
    }
    if matches!(reading.found, Found::Insulation(_)) {
        let spot = site.spot_text(reading.at);
        lines.extend(told(state, &["found-insulation"], &spot));
    }
    lines
}

/// Goes to the values of the reading, or to the thing that a row is about.
pub(super) fn open(state: &mut State) {
    let Some(row) = table(state).rows.into_iter().nth(state.row) else {
        return;
    };
    let item = match (row.reading, row.thing) {
        (Some(i), _) => Item::Table(Group::Reading, i),
        (None, Some(thing)) => Item::Thing(thing),
        (None, None) => return,
    };
    state.show(super::Page::Network);
    state.select(item);
    if row.reading.is_some() {
        state.panel = Panel::Values;
        let value = state.values().iter().position(|value| value.key == "value");
        state.value = value.unwrap_or(0);
    }
}
