//! The values of one thing as a list that can be edited.

use crate::practice::{Subject, asked_of};
use crate::site::fields::{Field, Holds, Inner};
use crate::site::{Project, fields, fields_of};
use crate::tui::group::Group;
use crate::tui::tree::Item;

/// One value of a thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Value {
    /// Path of its table.
    pub table: Vec<String>,
    /// Its key; a dot leads into a table below.
    pub key: String,
    /// As the person spelled it; `None` where the file is silent.
    pub typed: Option<String>,
    /// What the key holds.
    pub holds: Holds,
    /// What the key means.
    pub help: &'static str,
}

/// Every value of an item, those of the file first.
pub(super) fn values(project: &Project, item: Item) -> Vec<Value> {
    let site = project.site();
    let (table, all) = match item {
        Item::Thing(thing) => {
            let kind = thing.table();
            (
                vec![kind.to_owned(), site.name_of(thing).to_owned()],
                fields_of(kind),
            )
        }
        Item::Output(s, o) => {
            let supply = &site.supplies[s];
            let path = ["supply", &supply.name, "output", &supply.outputs[o].name];
            (path.map(str::to_owned).to_vec(), fields::OUTPUT)
        }
        Item::Beside => return Vec::new(),
        Item::Table(group, i) => (group.path(site, i), group.fields()),
    };
    let mut values = Vec::new();
    let kind = table.first().cloned().unwrap_or_default();
    let own = !matches!(item, Item::Output(..) | Item::Table(Group::Wire, _));
    for field in all {
        match fields::inner(&kind, field.key).filter(|_| own) {
            // Outputs have lines of their own in the network.
            Some(_) if field.key == "output" => {}
            Some(_) if field.key == "answers" => answers(project, item, &table, &mut values),
            Some(Inner::Draws) => draws(project, &table, &mut values),
            Some(Inner::Named(fields)) => named(project, &table, field.key, fields, &mut values),
            Some(Inner::One(fields)) => below(project, &table, field.key, fields, &mut values),
            Some(Inner::States) => states(project, &table, field, &mut values),
            Some(Inner::Values) => settings(project, &table, field, &mut values),
            Some(Inner::Worded(words, fields)) => {
                for word in words {
                    let key = |inner: &Field| format!("{}.{word}.{}", field.key, inner.key);
                    let own = fields.iter().map(|f| value(project, &table, key(f), f));
                    values.extend(own);
                }
            }
            // The tables of a list have lines of their own beside the network.
            Some(_) => {}
            None => values.push(value(project, &table, field.key.to_owned(), field)),
        }
    }
    if item == Item::Table(Group::Site, 0) {
        answers(project, item, &["answers".to_owned()], &mut values);
    }
    values
}

/// The state of every device and relay in a case.
fn states(project: &Project, table: &[String], field: &Field, values: &mut Vec<Value>) {
    let site = project.site();
    for device in &site.devices {
        let relays = device.relays.iter().map(|relay| {
            let name = format!("{}.{}", device.name, relay.name);
            (name, "rest or pulled; silent: its contacts are closed")
        });
        let own = (
            device.name.clone(),
            "idle, active, off, or any other of its draws",
        );
        for (name, help) in std::iter::once(own).chain(relays) {
            let key = format!("{}.{name}", field.key);
            values.push(Value {
                help,
                holds: Holds::Text,
                ..value(project, table, key, field)
            });
        }
    }
}

/// What an alternate sets: what it has, and the cable of every run.
fn settings(project: &Project, table: &[String], field: &Field, values: &mut Vec<Value>) {
    let mut path = table.to_vec();
    path.push(field.key.to_owned());
    let mut names = project.keys(&path);
    for run in &project.site().runs {
        let usual = format!("{}.cable", run.name);
        if !names.contains(&usual) {
            names.push(usual);
        }
    }
    for name in names {
        let key = format!("{}.{name}", field.key);
        values.push(Value {
            help: "what it is there; silent: as drawn",
            holds: Holds::Text,
            ..value(project, table, key, field)
        });
    }
}

fn value(project: &Project, table: &[String], key: String, field: &Field) -> Value {
    let typed = project.typed(table, &key);
    Value {
        table: table.to_vec(),
        typed,
        holds: field.holds,
        help: field.help,
        key,
    }
}

/// The states of a device's draw: the usual ones, and those of the file.
fn draws(project: &Project, table: &[String], values: &mut Vec<Value>) {
    let mut path = table.to_vec();
    path.push("draw".to_owned());
    let mut states = project.keys(&path);
    for usual in ["idle", "active", "inrush"] {
        if !states.iter().any(|s| s == usual) {
            states.push(usual.to_owned());
        }
    }
    for state in states {
        let key = format!("draw.{state}");
        values.push(Value {
            table: table.to_vec(),
            typed: project.typed(table, &key),
            holds: fields::DRAW.holds,
            help: fields::DRAW.help,
            key,
        });
    }
}

/// The keys of a table that a thing has once: all of them where the file has it, else the first,
/// with which it begins.
fn below(
    project: &Project,
    table: &[String],
    name: &str,
    all: &'static [Field],
    values: &mut Vec<Value>,
) {
    let there = project.typed(table, name).is_some();
    let shown = if there { all.len() } else { 1 };
    for field in &all[..shown] {
        values.push(value(
            project,
            table,
            format!("{name}.{}", field.key),
            field,
        ));
    }
}

/// The questions that are asked of an item, answered or not.
fn answers(project: &Project, item: Item, table: &[String], values: &mut Vec<Value>) {
    let subject = match item {
        Item::Thing(thing) => Subject::Thing(thing),
        Item::Table(Group::Bus, i) => Subject::Bus(i),
        _ => Subject::Site,
    };
    let own = asked_of(project.site(), subject);
    let (_, before) = subject.place(project.site());
    for one in own {
        let key = format!("{before}{}", one.question.code);
        values.push(Value {
            table: table.to_vec(),
            typed: project.typed(table, &key),
            holds: Holds::Flag,
            help: &one.question.question,
            key,
        });
    }
}

/// The keys of every table that a thing has below a key, by name.
fn named(
    project: &Project,
    table: &[String],
    name: &str,
    all: &'static [Field],
    values: &mut Vec<Value>,
) {
    let mut path = table.to_vec();
    path.push(name.to_owned());
    for one in project.keys(&path) {
        for field in all {
            let key = format!("{name}.{one}.{}", field.key);
            values.push(value(project, table, key, field));
        }
    }
}

/// The value with the unit that a bare number takes in this field.
pub(super) fn with_unit(holds: Holds, text: &str, us: bool) -> String {
    let text = text.trim();
    let Holds::Quantity(us_unit, si_unit) = holds else {
        return text.to_owned();
    };
    let bare = !text.is_empty()
        && text
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e' | 'E'));
    if bare && text.parse::<f64>().is_ok() {
        format!("{text} {}", if us { us_unit } else { si_unit })
    } else {
        text.to_owned()
    }
}
