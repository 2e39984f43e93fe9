//! Forms for tables beside the network.

use crate::site::{Device, Edit};
use crate::tui::dialog::Form;
use crate::tui::form::{free, typed};
use crate::tui::group::Group;
use crate::tui::state::State;
use crate::tui::tree::Item;
use crate::units::System;

/// The lines of a form, with what is likely meant already in them.
pub(super) fn lines(state: &State, group: Group) -> Vec<(&'static str, String)> {
    let site = state.site();
    let us = site.units == System::Us;
    let name = |base: &str| {
        let taken = |name: &str| group.find(site, name).is_some();
        ("name", free(base, taken))
    };
    let first = |names: &mut dyn Iterator<Item = String>| names.next().unwrap_or_default();
    let run = || first(&mut site.runs.iter().map(|run| run.name.clone()));
    match group {
        Group::Door => vec![
            name("door"),
            ("for", "people".into()),
            ("way_out", "true".into()),
        ],
        Group::Raceway => vec![
            name("T"),
            ("kind", "pvc 40".into()),
            ("size", "3/4".into()),
            ("length", if us { "50 ft" } else { "15 m" }.into()),
        ],
        Group::Place => vec![
            name("place"),
            ("wet", "true".into()),
            ("box", "metal".into()),
        ],
        Group::Case => vec![name("case"), ("broken", String::new())],
        Group::Exclusive => {
            let last = |device: &Device| {
                let (state, _) = device.state_draws().last()?;
                Some(format!("{}.{state}", device.name))
            };
            let two: Vec<String> = site.devices.iter().filter_map(last).take(2).collect();
            vec![("states", two.join(", "))]
        }
        Group::Cable => vec![
            name("cable"),
            ("size", if us { "18 AWG" } else { "0.75 mm2" }.into()),
            ("conductors", "2".into()),
        ],
        Group::Bus => vec![name("bus"), ("rate", "9600 bit/s".into())],
        Group::Surge => vec![name("S"), ("line", run()), ("end", "from".into())],
        Group::Meter => vec![
            name("M"),
            ("volts", "0.5 % + 2 digits".into()),
            ("amps", String::new()),
            ("floor", String::new()),
        ],
        Group::Reading => vec![
            (
                "at",
                first(&mut site.devices.iter().map(|d| d.name.clone())),
            ),
            ("value", String::new()),
            (
                "case",
                first(&mut site.cases.iter().map(|c| c.name.clone())),
            ),
            (
                "meter",
                first(&mut site.meters.iter().map(|m| m.name.clone())),
            ),
        ],
        Group::Alternate => vec![name("alternate"), ("run", run()), ("cable", "14/2".into())],
        Group::Part => vec![
            ("item", "box".into()),
            ("count", "1".into()),
            ("price", String::new()),
        ],
        Group::Site | Group::Design | Group::Accepted | Group::Sizing | Group::Labour => Vec::new(),
    }
}

/// Adds the table of a form and selects it.
pub(super) fn add(state: &mut State, group: Group, form: &Form) -> Result<(), String> {
    let name = form.typed("name");
    let last = group.count(state.site());
    let table = if group.is_list() {
        vec![group.table().to_owned(), last.to_string()]
    } else if name.is_empty() {
        return Err("it needs a name".into());
    } else if group.find(state.site(), &name).is_some() {
        return Err(format!("the name '{name}' is taken"));
    } else {
        vec![group.table().to_owned(), name]
    };
    let keys = if group == Group::Alternate {
        let run = form.typed("run");
        vec![(format!("set.{run}.cable"), form.typed("cable"))]
    } else {
        let own = form.lines.iter().filter(|(label, _)| *label != "name");
        own.map(|(label, _)| ((*label).to_owned(), typed(state, form, label)))
            .filter(|(_, text)| !text.is_empty())
            .collect()
    };
    let edit = Edit::Add { table, keys };
    if state.apply(std::slice::from_ref(&edit), &edit.describe()) {
        state.restudy();
        state.select(Item::Table(group, last));
        return Ok(());
    }
    Err(std::mem::take(&mut state.message))
}
