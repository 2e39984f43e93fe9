//! What a bid asks for: labour, items, wires, runs in one jacket, alternates.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, listed, nearest, table_of, text_of};
use crate::site::model::{Alternate, Bid, CableRef, Item, Run, Thing, Wire};
use crate::site::read::case::tables;
use crate::site::read::{Body, Names, ends, things};
use crate::site::value::{Kind, Place, Table};

/// Reads `[labour]`, `[[part]]` and `[alternate.X]`.
pub(crate) fn bid(form: &Form<'_, '_>, names: &Names, mistakes: &mut Mistakes) -> Bid {
    let labour = form
        .table("labour", mistakes)
        .map(|table| Form::new(table, "labour", fields::LABOUR, mistakes));
    Bid {
        rate: labour.and_then(|l| l.quantity("rate", mistakes)),
        items: tables(form, "part", mistakes)
            .into_iter()
            .filter_map(|table| item(table, mistakes))
            .collect(),
        alternates: alternates(form, names, mistakes),
    }
}

fn item(table: &Table<'_>, mistakes: &mut Mistakes) -> Option<Item> {
    let form = Form::new(table, "[part]", fields::PART, mistakes);
    let item = form.string("item", mistakes);
    let read = Item {
        item: String::new(),
        count: form.count("count", (0, 1_000_000), mistakes),
        place: form.string("place", mistakes),
        price: form.quantity("price", mistakes),
        hours: form.quantity("hours", mistakes),
    };
    Some(Item {
        item: item?,
        ..read
    })
}

/// Reads `[[run.X.wire]]`.
pub(crate) fn wires(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Vec<Wire> {
    let mut wires = Vec::new();
    for table in tables(form, "wire", mistakes) {
        let one = Form::new(
            table,
            format!("[{}.wire]", form.title),
            fields::WIRE,
            mistakes,
        );
        let function = one.string("use", mistakes);
        let read = Wire {
            function: String::new(),
            colour: one.string("colour", mistakes),
            from: one.string("from", mistakes),
            to: one.string("to", mistakes),
            label: one.string("label", mistakes),
        };
        wires.extend(function.map(|function| Wire { function, ..read }));
    }
    wires
}

/// Lays every run that shares another's jacket into it.
pub(crate) fn share(form: &Form<'_, '_>, runs: &mut [Run], names: &Names, mistakes: &mut Mistakes) {
    let mut sharing = things(form, "run");
    sharing.retain(|(_, _, table)| table.entry("shares").is_some());
    for (name, title, table) in &sharing {
        let Some(entry) = table.entry("shares") else {
            continue;
        };
        let body = Body {
            name,
            title: title.clone(),
            table,
        };
        let (Some(Thing::Run(own)), Some(text)) = (
            names.things.get(*name).copied(),
            text_of(&entry.value, "shares", mistakes),
        ) else {
            continue;
        };
        taken_from_the_other(&body, mistakes);
        let place = &entry.value.place;
        let Some(other) = ends::run(text, place, names, mistakes) else {
            continue;
        };
        let chained = sharing.iter().any(|(n, ..)| *n == text);
        if other == own || chained {
            mistakes
                .add(place, format!("'{text}' does not have a jacket of its own"))
                .allow("name the run whose cable is bought");
        } else if own < runs.len() && other < runs.len() {
            let bought = runs[other].clone();
            runs[own].lie_in(&bought, other);
            runs[other].sharers.push(own);
            choose_element(&mut runs[own], table, names, mistakes);
        }
    }
}

/// Finds the cable of a jacket that a run uses.
pub(crate) fn choose_element(
    run: &mut Run,
    table: &Table<'_>,
    names: &Names,
    mistakes: &mut Mistakes,
) {
    let Some(CableRef(jacket)) = run.jacket else {
        return;
    };
    let elements = &names.cables[jacket].elements;
    let element = run.element.saturating_sub(1) as usize;
    if let Some(found) = elements.get(element) {
        run.cable = Some(*found);
    } else if run.element > 1 || !elements.is_empty() {
        let place = table.entry("part").and_then(|e| e.value.place.clone());
        mistakes
            .add(
                &place,
                format!("cable '{}' has no part {}", run.cable_text, run.element),
            )
            .allow(format!("parts 1 to {}", elements.len().max(1)));
    }
}

/// Says which keys of a run come from the one whose jacket it shares.
fn taken_from_the_other(body: &Body<'_, '_>, mistakes: &mut Mistakes) {
    for key in ["cable", "length", "measured", "risers", "route", "raceway"] {
        if let Some(entry) = body.table.entry(key) {
            mistakes
                .add(
                    &entry.key_place,
                    format!(
                        "'{key}' of [{}] comes from the run that it shares",
                        body.title
                    ),
                )
                .allow(format!("take {key} out, or take shares out"));
        }
    }
}

fn alternates(form: &Form<'_, '_>, names: &Names, mistakes: &mut Mistakes) -> Vec<Alternate> {
    // The form complains here where the table is no table.
    form.table("alternate", mistakes);
    let mut found = Vec::new();
    for (name, title, table) in things(form, "alternate") {
        let one = Form::new(table, title, fields::ALTERNATE, mistakes);
        let mut alternate = Alternate {
            name: name.to_owned(),
            set: Vec::new(),
            broken: Vec::new(),
            fitted: Vec::new(),
        };
        if let Some(table) = one.table("set", mistakes) {
            set(table, "", names, &mut alternate, mistakes);
        }
        for value in one.many("broken").unwrap_or_default() {
            if let Some(text) = text_of(value, "broken", mistakes) {
                alternate
                    .broken
                    .extend(ends::conductor(text, &value.place, names, mistakes));
            }
        }
        for value in one.many("fitted").unwrap_or_default() {
            if let Some(text) = text_of(value, "fitted", mistakes) {
                alternate
                    .fitted
                    .extend(ends::run(text, &value.place, names, mistakes));
            }
        }
        found.push(alternate);
    }
    found
}

/// The values of a table of what differs; a key may be written `"W1.cable"` or `W1.cable`.
fn set(
    table: &Table<'_>,
    prefix: &str,
    names: &Names,
    alternate: &mut Alternate,
    mistakes: &mut Mistakes,
) {
    for entry in &table.entries {
        let path = format!("{prefix}{}", entry.key);
        let typed = match &entry.value.kind {
            Kind::Text(text) => text.clone().into_owned(),
            Kind::Number(text) => text.clone().into_owned(),
            Kind::Flag(flag) => flag.to_string(),
            Kind::List(list) => {
                let texts = list.iter().filter_map(|v| text_of(v, &path, mistakes));
                texts.collect::<Vec<_>>().join(", ")
            }
            Kind::Table(inner) => {
                set(inner, &format!("{path}."), names, alternate, mistakes);
                continue;
            }
            Kind::Date => entry.value.noun().to_owned(),
        };
        if let Some((thing, key)) = target(&path, &entry.key_place, names, mistakes) {
            alternate.set.push((thing, key, typed));
        }
    }
}

/// The thing and the key that `NAME.key` means.
fn target(
    path: &str,
    place: &Place,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<(Thing, String)> {
    let Some((name, key)) = path.split_once('.') else {
        mistakes
            .add(place, format!("'{path}' names no key of a thing"))
            .allow("write \"W1.cable\" = \"14/2\"");
        return None;
    };
    let what = "supply, device, junction, fuse, earth or run";
    let thing = names.thing(name, what, place, mistakes)?;
    let fields = match thing {
        Thing::Supply(_) => fields::SUPPLY,
        Thing::Device(_) => fields::DEVICE,
        Thing::Junction(_) => fields::JUNCTION,
        Thing::Fuse(_) => fields::FUSE,
        Thing::Earth(_) => fields::EARTH,
        Thing::Run(_) => fields::RUN,
    };
    let first = key.split('.').next().unwrap_or_default();
    if fields::find(fields, first).is_none() {
        let keys = || fields.iter().map(|f| f.key);
        mistakes
            .add(
                place,
                format!("unknown key '{first}' of {} '{name}'", thing.table()),
            )
            .allow(format!("allowed here: {}", listed(keys())))
            .suggest(nearest(first, keys()));
        return None;
    }
    Some((thing, key.to_owned()))
}

/// The tables that cables of several elements name, as typed, with their places.
pub(crate) fn elements(table: &Table<'_>, mistakes: &mut Mistakes) -> Vec<(String, Place)> {
    let Some(entry) = table.entry("parts") else {
        return Vec::new();
    };
    let values = match &entry.value.kind {
        Kind::List(list) => list.iter().collect(),
        _ => vec![&entry.value],
    };
    if table_of(&entry.value).is_some() || values.is_empty() {
        mistakes
            .add(&entry.value.place, "'parts' names no cables")
            .allow("write parts = [\"22/6\", \"18/2\"]");
        return Vec::new();
    }
    values
        .into_iter()
        .filter_map(|v| Some((text_of(v, "parts", mistakes)?.to_owned(), v.place.clone())))
        .collect()
}
