//! Cases: what happens at once; and states that never stand together.

use std::collections::BTreeSet;

use crate::site::fields;
use crate::site::form::{Form, Mistakes, choice_of, listed, nearest, table_of, text_of};
use crate::site::model::{AVERAGE, Case, Exclusive, Thing};
use crate::site::read::{Body, Names, ends};
use crate::site::value::{Kind, Place, Table};

/// Reads `[case.X]`.
pub(crate) fn case(
    body: &Body<'_, '_>,
    names: &Names,
    words: &BTreeSet<String>,
    mistakes: &mut Mistakes,
) -> Case {
    let form = Form::new(body.table, body.title.clone(), fields::CASE, mistakes);
    if body.name.trim().is_empty() || crate::diagnostic::clean(body.name) != body.name {
        mistakes
            .add(
                &form.table.place,
                "a case has an empty name, or a control character in it",
            )
            .allow("any other text may name a case");
    }
    let mut case = Case {
        name: body.name.to_owned(),
        states: Vec::new(),
        relays: Vec::new(),
        broken: Vec::new(),
        fitted: Vec::new(),
        temperature: form.quantity("temperature", mistakes),
    };
    if let Some(table) = form.table("states", mistakes) {
        states(table, "", &mut case, names, words, mistakes);
    }
    for value in form.many("broken").unwrap_or_default() {
        if let Some(text) = text_of(value, "broken", mistakes) {
            case.broken
                .extend(ends::conductor(text, &value.place, names, mistakes));
        }
    }
    for value in form.many("fitted").unwrap_or_default() {
        if let Some(text) = text_of(value, "fitted", mistakes) {
            case.fitted
                .extend(ends::run(text, &value.place, names, mistakes));
        }
    }
    case
}

/// The states of a table; a relay may be written `"hub.k1"` or `hub.k1`.
fn states(
    table: &Table<'_>,
    prefix: &str,
    case: &mut Case,
    names: &Names,
    words: &BTreeSet<String>,
    mistakes: &mut Mistakes,
) {
    for entry in &table.entries {
        let name = format!("{prefix}{}", entry.key);
        let value = &entry.value;
        if let Some(inner) = table_of(value).filter(|_| prefix.is_empty()) {
            states(inner, &format!("{name}."), case, names, words, mistakes);
        } else if name.contains('.') {
            let Some((d, r, tail)) = ends::relay(&name, &entry.key_place, names, mistakes) else {
                continue;
            };
            if tail.is_some() {
                mistakes
                    .add(
                        &entry.key_place,
                        format!("'{name}' is a contact, not a relay"),
                    )
                    .allow("name the relay");
            }
            if let Some(i) = choice_of(value, &name, &["rest", "pulled"], mistakes) {
                case.relays.push((d, r, i == 1));
            }
        } else if let Some(Thing::Device(d)) = device_of(&name, &entry.key_place, names, mistakes) {
            let Some(state) = text_of(value, &name, mistakes) else {
                continue;
            };
            if let Some(state) = known_state(state, &value.place, words, mistakes) {
                case.states.push((d, state));
            }
        }
    }
}

fn device_of(name: &str, place: &Place, names: &Names, mistakes: &mut Mistakes) -> Option<Thing> {
    ends::device(name, place, names, mistakes).map(|d| Thing::Device(d.0))
}

/// A state is off, idle, active, inrush, or a word that some device has a draw for.
fn known_state(
    state: &str,
    place: &Place,
    words: &BTreeSet<String>,
    mistakes: &mut Mistakes,
) -> Option<String> {
    if words.contains(state) {
        return Some(state.to_owned());
    }
    let known = || words.iter().map(String::as_str);
    if state == AVERAGE {
        mistakes
            .add(place, "'average' is a draw for energy alone, no state")
            .allow(format!("states in this file: {}", listed(known())));
        return None;
    }
    mistakes
        .add(place, format!("no device has the state '{state}'"))
        .allow(format!("states in this file: {}", listed(known())))
        .suggest(nearest(state, known()));
    None
}

/// Reads `[[exclusive]]`.
pub(crate) fn exclusive(
    form: &Form<'_, '_>,
    names: &Names,
    words: &BTreeSet<String>,
    mistakes: &mut Mistakes,
) -> Vec<Exclusive> {
    let mut found = Vec::new();
    for table in tables(form, "exclusive", mistakes) {
        let one = Form::new(table, "[exclusive]", fields::EXCLUSIVE, mistakes);
        let mut states = Vec::new();
        for value in one.many("states").unwrap_or_default() {
            let Some(text) = text_of(value, "states", mistakes) else {
                continue;
            };
            let Some((device, state)) = text.split_once('.') else {
                mistakes
                    .add(&value.place, format!("'{text}' names no state"))
                    .allow("write device.state");
                continue;
            };
            let Some(d) = ends::device(device, &value.place, names, mistakes) else {
                continue;
            };
            states.extend(known_state(state, &value.place, words, mistakes).map(|s| (d.0, s)));
        }
        found.push(Exclusive { states });
    }
    found
}

/// The tables of a list of tables.
pub(crate) fn tables<'t, 'a>(
    form: &Form<'t, 'a>,
    key: &str,
    mistakes: &mut Mistakes,
) -> Vec<&'t Table<'a>> {
    let Some(entry) = form.entry(key) else {
        return Vec::new();
    };
    let found = match &entry.value.kind {
        Kind::List(list) => list.iter().map(table_of).collect::<Option<Vec<_>>>(),
        _ => None,
    };
    if found.is_none() {
        mistakes
            .add(&entry.key_place, format!("'{key}' is not a list of tables"))
            .allow(format!("write [[{key}]] and the keys below it"));
    }
    found.unwrap_or_default()
}
