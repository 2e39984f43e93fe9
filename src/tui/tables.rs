//! Forms for tables beside the network.

use crate::site::{Device, Edit, Site, Thing};
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
        Group::Alternate | Group::Wire | Group::Part => of_the_bid(state, group, run()),
        Group::Site | Group::Design | Group::Accepted | Group::Sizing | Group::Labour => Vec::new(),
    }
}

/// The same of what only a bid asks for; `run` is the first one.
fn of_the_bid(state: &State, group: Group, run: String) -> Vec<(&'static str, String)> {
    let site = state.site();
    match group {
        Group::Alternate => {
            let name = match state.item() {
                Some(Item::Table(Group::Alternate, i)) => group.name(site, i),
                _ => free("alternate", |name| group.find(site, name).is_some()),
            };
            vec![
                ("name", name),
                ("key", format!("{run}.cable")),
                ("value", "14/2".into()),
            ]
        }
        Group::Wire => vec![
            ("run", run_near(state).unwrap_or(run)),
            ("use", "plus".into()),
            ("colour", String::new()),
            ("from", String::new()),
            ("to", String::new()),
            ("label", String::new()),
        ],
        _ => vec![
            ("item", "box".into()),
            ("count", "1".into()),
            ("price", String::new()),
        ],
    }
}

/// The run that is selected, or of which a conductor is.
fn run_near(state: &State) -> Option<String> {
    let site = state.site();
    match state.item()? {
        Item::Thing(Thing::Run(i)) => Some(site.runs[i].name.clone()),
        Item::Table(Group::Wire, i) => Group::Wire.path(site, i).into_iter().nth(1),
        _ => None,
    }
}

/// The table that a form adds, and the place that it then has in its group.
fn place(site: &Site, group: Group, form: &Form) -> Result<(Vec<String>, usize), String> {
    let word = group.table().to_owned();
    let last = group.count(site);
    if group == Group::Wire {
        let run = form.typed("run");
        let Some(i) = site.runs.iter().position(|own| own.name == run) else {
            return Err(format!("no run is called '{run}'"));
        };
        let before: usize = site.runs[..=i].iter().map(|run| run.wires.len()).sum();
        let at = site.runs[i].wires.len().to_string();
        return Ok((vec!["run".to_owned(), run, word, at], before));
    }
    if group.is_list() {
        return Ok((vec![word, last.to_string()], last));
    }
    let name = form.typed("name");
    if name.is_empty() {
        return Err("it needs a name".into());
    }
    match group.find(site, &name) {
        Some(there) if group == Group::Alternate => Ok((vec![word, name], there)),
        Some(_) => Err(format!("the name '{name}' is taken")),
        None => Ok((vec![word, name], last)),
    }
}

/// Adds the table of a form and selects it; to an alternate that is there, one more value.
pub(super) fn add(state: &mut State, group: Group, form: &Form) -> Result<(), String> {
    let (table, at) = place(state.site(), group, form)?;
    let edit = if group == Group::Alternate {
        let (key, text) = (format!("set.{}", form.typed("key")), form.typed("value"));
        if at < group.count(state.site()) {
            Edit::Set { table, key, text }
        } else {
            let keys = vec![(key, text)];
            Edit::Add { table, keys }
        }
    } else {
        let leads = |label: &str| label == "name" || (group == Group::Wire && label == "run");
        let own = form.lines.iter().filter(|(label, _)| !leads(label));
        let keys = own
            .map(|(label, _)| ((*label).to_owned(), typed(state, form, label)))
            .filter(|(_, text)| !text.is_empty())
            .collect();
        Edit::Add { table, keys }
    };
    if state.apply(std::slice::from_ref(&edit), &edit.describe()) {
        state.restudy();
        state.select(Item::Table(group, at));
        return Ok(());
    }
    Err(std::mem::take(&mut state.message))
}
