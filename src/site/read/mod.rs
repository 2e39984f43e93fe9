//! From text to site, with every mistake at once.
//!
//! Two passes: the names first, then each thing with all names known, so that a thing can be
//! read again alone after an edit.

mod ac;
mod answers;
mod battery;
mod bid;
mod cable;
mod case;
mod device;
mod door;
mod ends;
mod lists;
mod loops;
mod names;
mod raceway;
mod reading;
mod restrained;
mod run;
mod signal;
mod supply;
mod switched;
mod syntax;

use std::collections::HashSet;

use toml::de::DeTable;

use crate::diagnostic::InputError;
use crate::site::fields;
use crate::site::form::{Form, Mistakes, TOP, table_of};
use crate::site::model::{Design, Route, Run, Site, Temperatures, Thing};
use crate::site::value::{Kind, Table};
use crate::tables::Of;
use crate::units::{
    ElectricalResistance, Length, Measure, Ratio, System, ThermodynamicTemperature,
};

pub(crate) use cable::builtin as builtin_cable;
pub(crate) use names::Names;

/// Largest site file, in bytes.
pub const MAX_BYTES: usize = 64 << 20;

/// Reads a site from the text of its file.
///
/// # Errors
/// Every mistake in the text, in file order.
pub fn read(text: &str) -> Result<Site, Vec<InputError>> {
    let mut mistakes = Mistakes::default();
    if text.len() > MAX_BYTES {
        mistakes
            .add(&Some(0..0), format!("the file has {} bytes", text.len()))
            .allow(format!("at most {MAX_BYTES} bytes"));
        return Err(mistakes.0);
    }
    // A byte order mark is what some editors write; the document keeps it.
    let (parsed, errors) = DeTable::parse_recoverable(text);
    syntax::add(text, &errors, &mut mistakes);
    if !mistakes.0.is_empty() {
        return Err(mistakes.0);
    }
    read_table(&Table::of_text(parsed.get_ref(), Some(0..0)))
}

/// Reads a site from the tree of its file.
///
/// # Errors
/// Every mistake in the tree.
pub(crate) fn read_table(top: &Table<'_>) -> Result<Site, Vec<InputError>> {
    let mut mistakes = Mistakes::default();
    if !format_is_known(top, &mut mistakes) {
        return Err(mistakes.0);
    }
    let form = Form::new(top, TOP, fields::TOP, &mut mistakes);
    let mut names = Names::collect(&form, &mut mistakes);
    let mut site = head(&form, &mut mistakes);
    names.own_cables(&form, &mut mistakes);
    for (kind, fields) in [
        ("supply", 0),
        ("device", 1),
        ("junction", 2),
        ("fuse", 3),
        ("earth", 4),
        ("run", 5),
    ] {
        for (name, title, table) in things(&form, kind) {
            let body = Body { name, title, table };
            match fields {
                0 => site
                    .supplies
                    .extend(supply::supply(&body, &names, &mut mistakes)),
                1 => site
                    .devices
                    .extend(device::device(&body, &names, &mut mistakes)),
                2 => site
                    .junctions
                    .extend(lists::junction(&body, &names, &mut mistakes)),
                3 => site.fuses.extend(lists::fuse(&body, &mut mistakes)),
                4 => site.earths.extend(lists::earth(&body, &mut mistakes)),
                _ => site.runs.extend(run::run(&body, &mut names, &mut mistakes)),
            }
        }
    }
    for (name, title, table) in things(&form, "place") {
        site.places
            .extend(lists::place(&Body { name, title, table }, &mut mistakes));
    }
    for (name, title, table) in things(&form, "door") {
        let body = Body { name, title, table };
        site.doors.push(door::door(&body, &names, &mut mistakes));
    }
    for (name, title, table) in things(&form, "raceway") {
        let body = Body { name, title, table };
        site.raceways.push(raceway::raceway(&body, &mut mistakes));
    }
    bid::share(&form, &mut site.runs, &names, &mut mistakes);
    for (name, title, table) in things(&form, "bus") {
        let body = Body { name, title, table };
        site.buses.push(signal::bus(&body, &names, &mut mistakes));
    }
    for (name, title, table) in things(&form, "surge") {
        let body = Body { name, title, table };
        let surge = signal::surge(&body, &site.runs, &names, &mut mistakes);
        site.surges.extend(surge);
    }
    signal::lay_surges(&mut site.runs, &site.surges);
    rest(&form, &mut site, &mut names, &mut mistakes);
    site.cables = std::mem::take(&mut names.cables);
    site.own_cables = names.own;
    if mistakes.0.is_empty() {
        loops::check(top, &site, &mut mistakes);
    }
    site.names = names.things;
    if mistakes.0.is_empty() {
        Ok(site)
    } else {
        Err(mistakes.0)
    }
}

/// One named table: its name, how messages call it, and its entries.
pub(crate) struct Body<'t, 'a> {
    /// Name of the thing.
    pub(crate) name: &'t str,
    /// Title for messages.
    pub(crate) title: String,
    /// Entries.
    pub(crate) table: &'t Table<'a>,
}

/// Reads one thing again, after an edit of its own table, into its place in the site.
///
/// # Errors
/// Every mistake in the table.
pub(crate) fn reread(
    site: &mut Site,
    thing: Thing,
    table: &Table<'_>,
) -> Result<(), Vec<InputError>> {
    let mut mistakes = Mistakes::default();
    let name = site.name_of(thing).to_owned();
    let mut names = Names::of_site(site);
    let title = format!("{}.{name}", thing.table());
    let body = Body {
        name: &name,
        title,
        table,
    };
    let mut put = || -> Option<()> {
        match thing {
            Thing::Supply(i) => site.supplies[i] = supply::supply(&body, &names, &mut mistakes)?,
            Thing::Device(i) => site.devices[i] = device::device(&body, &names, &mut mistakes)?,
            Thing::Junction(i) => {
                site.junctions[i] = lists::junction(&body, &names, &mut mistakes)?;
            }
            Thing::Fuse(i) => site.fuses[i] = lists::fuse(&body, &mut mistakes)?,
            Thing::Earth(i) => site.earths[i] = lists::earth(&body, &mut mistakes)?,
            Thing::Run(i) => {
                let read = run::run(&body, &mut names, &mut mistakes)?;
                // The surge parts on it have tables of their own.
                let surge = site.runs[i].surge;
                site.runs[i] = Run { surge, ..read };
            }
        }
        Some(())
    };
    let done = put();
    names.give_back(site);
    if done.is_some() && mistakes.0.is_empty() {
        loops::check(&Table::default(), site, &mut mistakes);
    }
    if mistakes.0.is_empty() {
        Ok(())
    } else {
        Err(mistakes.0)
    }
}

/// The named tables of one kind, in file order.
fn things<'t, 'a>(
    form: &Form<'t, 'a>,
    kind: &'static str,
) -> Vec<(&'t str, String, &'t Table<'a>)> {
    let Some(all) = form.entry(kind).and_then(|e| table_of(&e.value)) else {
        return Vec::new();
    };
    all.entries
        .iter()
        .filter_map(|e| {
            Some((
                e.key.as_ref(),
                format!("{kind}.{}", e.key),
                table_of(&e.value)?,
            ))
        })
        .collect()
}

fn format_is_known(top: &Table<'_>, mistakes: &mut Mistakes) -> bool {
    let Some(entry) = top.entry("format") else {
        mistakes
            .add(&Some(0..0), "the file does not say its format")
            .allow("the first line of a site file is: format = 1");
        return false;
    };
    let found = match &entry.value.kind {
        Kind::Number(n) if n == "1" => {
            if top
                .entries
                .first()
                .is_some_and(|first| first.key != "format")
            {
                mistakes
                    .add(&entry.key_place, "'format' is not the first key")
                    .allow("the first line of a site file is: format = 1");
            }
            return true;
        }
        Kind::Number(n) => n.to_string(),
        _ => entry.value.noun().to_owned(),
    };
    let newer = found.parse::<u64>().is_ok_and(|n| n > 1);
    let error = mistakes.add(&entry.value.place, format!("the format is {found}"));
    error.allow("this program reads format = 1");
    if newer {
        error.allow("the file was made for a newer version of this program");
    }
    false
}

/// `[site]` and `[design]`.
fn head(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Site {
    let empty = Table::default();
    let table = form.table("site", mistakes).unwrap_or(&empty);
    let site = Form::new(table, "site", fields::SITE, mistakes);
    let units = match site.choice("units", &["us", "si"], mistakes) {
        Some(1) => System::Si,
        _ => System::Us,
    };
    Site {
        name: site.string("name", mistakes).unwrap_or_default(),
        units,
        code: site.string("code", mistakes).unwrap_or_default(),
        currency: site.string("currency", mistakes).unwrap_or_default(),
        design: design(form, mistakes),
        supplies: Vec::new(),
        devices: Vec::new(),
        junctions: Vec::new(),
        fuses: Vec::new(),
        earths: Vec::new(),
        runs: Vec::new(),
        cases: Vec::new(),
        cables: Vec::new(),
        own_cables: 0,
        buses: Vec::new(),
        surges: Vec::new(),
        places: Vec::new(),
        doors: Vec::new(),
        raceways: Vec::new(),
        exclusive: Vec::new(),
        choices: Vec::new(),
        meters: Vec::new(),
        readings: Vec::new(),
        accepted: Vec::new(),
        answers: answers::answers(form, Of::Site, mistakes),
        bid: crate::site::model::Bid::default(),
        names: std::collections::HashMap::new(),
    }
}

fn design(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Design {
    let empty = Table::default();
    let table = form.table("design", mistakes).unwrap_or(&empty);
    let design = Form::new(table, "design", fields::DESIGN, mistakes);
    let own = temperatures(&design, mistakes);
    let celsius = |c: f64| Some(ThermodynamicTemperature::from_base(c + 273.15));
    let mut routes = [Temperatures::default(); 4];
    if let Some(table) = design.table("route", mistakes) {
        for entry in &table.entries {
            let Some(i) = fields::ROUTES.iter().position(|r| *r == entry.key) else {
                mistakes
                    .add(&entry.key_place, format!("unknown route '{}'", entry.key))
                    .allow(format!("allowed: {}", fields::ROUTES.join(", ")))
                    .suggest(super::form::nearest(
                        &entry.key,
                        fields::ROUTES.iter().copied(),
                    ));
                continue;
            };
            if let Some(table) = table_of(&entry.value) {
                let title = format!("design.route.{}", entry.key);
                let route = Form::new(table, title, fields::ROUTE, mistakes);
                routes[i] = temperatures(&route, mistakes);
            } else {
                mistakes.add(
                    &entry.value.place,
                    format!("'{}' is {}, not a table", entry.key, entry.value.noun()),
                );
            }
        }
    }
    let ratio = |percent: f64| Ratio::from_base(percent / 100.0);
    Design {
        temperatures: Temperatures {
            nominal: own.nominal.or(celsius(25.0)),
            hot: own.hot.or(celsius(50.0)),
            cold: own.cold.or(celsius(0.0)),
        },
        routes,
        draw_tolerance: below_one(&design, "draw_tolerance", mistakes)
            .unwrap_or_else(|| ratio(0.0)),
        reserve: design
            .quantity("reserve", mistakes)
            .unwrap_or_else(|| ratio(5.0)),
        spare: design
            .quantity("spare", mistakes)
            .unwrap_or_else(|| ratio(20.0)),
        splice: design
            .quantity("splice", mistakes)
            .unwrap_or_else(|| ElectricalResistance::from_base(0.0)),
        slack: design
            .quantity("slack", mistakes)
            .unwrap_or_else(|| Length::from_base(6.0 * 0.3048)),
        waste: design
            .quantity("waste", mistakes)
            .unwrap_or_else(|| ratio(10.0)),
    }
}

/// A share of something that is there: over nothing, up to all of it.
fn some_of(
    form: &Form<'_, '_>,
    key: &str,
    example: &str,
    mistakes: &mut Mistakes,
) -> Option<Ratio> {
    let share: Ratio = form.quantity(key, mistakes)?;
    if share.base() > 0.0 && share.base() <= 1.0 {
        return Some(share);
    }
    let place = form.entry(key).and_then(|e| e.value.place.clone());
    mistakes
        .add(&place, format!("'{key}' is not over 0 % and up to 100 %"))
        .allow(example);
    None
}

/// A tolerance: a share below the whole, or the lower end would be nothing.
fn below_one(form: &Form<'_, '_>, key: &str, mistakes: &mut Mistakes) -> Option<Ratio> {
    let share: Ratio = form.quantity(key, mistakes)?;
    if share.base() < 1.0 {
        return Some(share);
    }
    let place = form.entry(key).and_then(|e| e.value.place.clone());
    mistakes
        .add(&place, format!("'{key}' is 100 % or more"))
        .allow("under 100 %");
    None
}

fn temperatures(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Temperatures {
    Temperatures {
        nominal: form.quantity("temperature", mistakes),
        hot: form.quantity("hot", mistakes),
        cold: form.quantity("cold", mistakes),
    }
}

/// Cases, exclusive states, sizing, readings and accepted findings.
fn rest(form: &Form<'_, '_>, site: &mut Site, names: &mut Names, mistakes: &mut Mistakes) {
    let words = names.state_words(&site.devices);
    let mut seen = HashSet::new();
    for (name, title, table) in things(form, "case") {
        if seen.insert(name.to_owned()) {
            let body = Body { name, title, table };
            site.cases.push(case::case(&body, names, &words, mistakes));
        }
    }
    site.exclusive = case::exclusive(form, names, &words, mistakes);
    site.choices = lists::sizing(form, names, mistakes);
    for (name, title, table) in things(form, "meter") {
        let body = Body { name, title, table };
        site.meters.push(reading::meter(&body, mistakes));
    }
    site.readings = reading::readings(form, site, names, mistakes);
    site.accepted = lists::accepted(form, mistakes);
    site.bid = bid::bid(form, names, mistakes);
}

/// The route of a run.
pub(crate) fn route(index: usize) -> Route {
    [
        Route::Indoor,
        Route::Outdoor,
        Route::Buried,
        Route::Overhead,
    ][index.min(3)]
}
