//! Runs of cable.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, choice_of, text_of};
use crate::site::model::{Cable, CableRef, Carries, End, Part, Run, ShieldBond, WhichEnd};
use crate::site::read::ends::{self, EndUse};
use crate::site::read::{Body, Names, answers, bid, route, signal, temperatures};
use crate::site::value::{Kind, Place};
use crate::tables::Of;
use crate::units::{ElectricalResistance, Length, Measure, System};

/// Most conductors that a leg may have, and most splices.
const MOST: u32 = 100;

/// Reads `[run.X]`.
pub(crate) fn run(body: &Body<'_, '_>, names: &mut Names, mistakes: &mut Mistakes) -> Option<Run> {
    let form = Form::new(body.table, body.title.clone(), fields::RUN, mistakes);
    let carries = carries(&form, mistakes);
    let ends = ends(&form, carries, names, mistakes);
    let jacket = cable(&form, names, mistakes);
    let resistance = form.quantity("resistance", mistakes);
    let (measured, risers) = (
        form.quantity("measured", mistakes),
        form.quantity("risers", mistakes),
    );
    let length = length(&form, measured, risers, mistakes);
    if form.entry("shares").is_some() {
        // Cable and length come from the other run.
    } else if resistance.is_none() && form.entry("resistance").is_none() {
        if form.entry("cable").is_none() {
            form.missing(
                "cable",
                "\"18/2\", or state resistance instead of cable and length",
                mistakes,
            );
        } else if form.entry("length").is_none() && form.entry("measured").is_none() {
            form.missing("length", "\"180 ft\"", mistakes);
        }
    }
    let parallel = form.count("parallel", (1, MOST), mistakes).unwrap_or(1);
    let mut own = Run {
        name: body.name.to_owned(),
        from: End::Earth(0),
        to: End::Earth(0),
        cable: jacket.as_ref().map(|c| c.1),
        cable_text: jacket.as_ref().map_or_else(String::new, |c| c.0.clone()),
        length: length.unwrap_or_else(|| Length::from_base(0.0)),
        typed: typed(&form),
        resistance,
        carries,
        parallel,
        minus_parallel: form
            .count("minus_parallel", (0, MOST), mistakes)
            .unwrap_or(parallel),
        through: through(&form, names, mistakes),
        splices: form.count("splices", (0, 10_000), mistakes).unwrap_or(0),
        splice: form.quantity("splice", mistakes),
        common: form.flag("common", mistakes).unwrap_or(carries.wiegand),
        temperatures: temperatures(&form, mistakes),
        route: form.choice("route", fields::ROUTES, mistakes).map(route),
        raceway: form.string("raceway", mistakes),
        fitted: form.flag("fitted", mistakes).unwrap_or(true),
        shield: shield(&form, mistakes),
        shield_resistance: form.quantity("shield_resistance", mistakes),
        choices: cables(&form, "choices", names, mistakes),
        jacket: jacket.as_ref().map(|c| c.1),
        element: form.count("part", (1, MOST), mistakes).unwrap_or(1),
        shares: None,
        sharers: Vec::new(),
        measured,
        risers,
        signal_wires: form.count("signal_wires", (0, MOST), mistakes).unwrap_or(0),
        wires: bid::wires(&form, mistakes),
        bus: signal::bus_of_run(&form, carries, names, mistakes),
        wiegand: signal::wiegand(&form, carries, names, mistakes),
        input_loop: signal::input_loop(&form, carries, mistakes),
        inputs: inputs(&form, names),
        surge: ElectricalResistance::from_base(0.0),
        answers: answers::answers(&form, Of::Run, mistakes),
    };
    bid::choose_element(&mut own, body.table, names, mistakes);
    let (from, to) = ends?;
    let run = Run { from, to, ..own };
    signal::at_the_ends(&form, &run, mistakes);
    Some(run)
}

/// The electrical length: as written, or what was measured and its risers.
fn length(
    form: &Form<'_, '_>,
    measured: Option<Length>,
    risers: Option<Length>,
    mistakes: &mut Mistakes,
) -> Option<Length> {
    let written: Option<Length> = form.quantity("length", mistakes);
    let place = |key: &str| form.entry(key).and_then(|e| e.key_place.clone());
    if written.is_some() && measured.is_some() {
        mistakes
            .add(&place("measured"), "'measured' stands beside 'length'")
            .allow("one of the two");
    }
    if risers.is_some() && measured.is_none() && form.entry("measured").is_none() {
        mistakes
            .add(&place("risers"), "'risers' stands without 'measured'")
            .allow("write measured instead of length; length is used as written");
    }
    written.or_else(|| Some(measured? + risers.unwrap_or_else(|| Length::from_base(0.0))))
}

/// The units in which a length is typed, by the first one in it.
fn typed(form: &Form<'_, '_>) -> Option<System> {
    let entry = form.entry("length").or_else(|| form.entry("measured"))?;
    let Kind::Text(text) = &entry.value.kind else {
        return None;
    };
    let is_unit = |c: &char| c.is_alphabetic() || "'\"\u{2032}\u{2033}".contains(*c);
    Some(match text.chars().find(is_unit)? {
        'm' | 'c' | 'k' => System::Si,
        _ => System::Us,
    })
}

fn ends(
    form: &Form<'_, '_>,
    carries: Carries,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<(End, End)> {
    let as_what = match carries {
        c if c.bond => EndUse::Bond,
        c if c.contact && !c.power => EndUse::Contact,
        _ => EndUse::Pair,
    };
    let mut one = |key: &str| {
        let (text, place) = form.placed(key, mistakes)?;
        Some((
            ends::end(text, &place, as_what, names, mistakes)?,
            text,
            place,
        ))
    };
    let (from, to) = (one("from"), one("to"));
    let ((from, text, _), (to, _, place)) = (from?, to?);
    if whole(from) == whole(to) {
        mistakes
            .add(&place, format!("the run goes from '{text}' to itself"))
            .allow("two different ends");
        return None;
    }
    Some((from, to))
}

/// The inputs at which a run ends.
fn inputs(form: &Form<'_, '_>, names: &Names) -> Vec<(WhichEnd, String)> {
    let ends = [("from", WhichEnd::From), ("to", WhichEnd::To)];
    let named = ends.into_iter().filter_map(|(key, end)| {
        let text = form.text(key, &mut Mistakes::default())?;
        Some((end, ends::input_of(text, names)?))
    });
    named.collect()
}

/// The thing at an end: two terminals of one thing count as two ends, outputs as their supply's.
fn whole(end: End) -> End {
    match end {
        End::Output(s, _) => End::Supply(s),
        other => other,
    }
}

fn carries(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Carries {
    let mut carries = Carries::default();
    let Some(values) = form.many("carries") else {
        carries.power = true;
        return carries;
    };
    let place = form.entry("carries").and_then(|e| e.value.place.clone());
    if values.is_empty() {
        mistakes
            .add(&place, "'carries' is empty")
            .allow(fields::CARRIES.join(", "));
    }
    for value in &values {
        match choice_of(value, "carries", fields::CARRIES, mistakes) {
            Some(0) => carries.power = true,
            Some(1) => carries.wiegand = true,
            Some(2) => carries.rs485 = true,
            Some(3) => carries.data = true,
            Some(4) => carries.supervised = true,
            Some(5) => carries.contact = true,
            Some(6) => carries.ethernet = true,
            Some(_) => carries.bond = true,
            None => {}
        }
    }
    if carries.bond && values.len() > 1 {
        mistakes
            .add(&place, "a bond carries nothing else")
            .allow("carries = \"bond\"");
    }
    carries
}

fn cable(
    form: &Form<'_, '_>,
    names: &mut Names,
    mistakes: &mut Mistakes,
) -> Option<(String, CableRef)> {
    let (text, place) = form.placed("cable", mistakes)?;
    Some((text.to_owned(), names.cable(text, &place, mistakes)?))
}

/// The cables of a list.
pub(crate) fn cables(
    form: &Form<'_, '_>,
    key: &str,
    names: &mut Names,
    mistakes: &mut Mistakes,
) -> Vec<CableRef> {
    let mut found = Vec::new();
    for value in form.many(key).unwrap_or_default() {
        if let Some(text) = text_of(value, key, mistakes) {
            found.extend(names.cable(text, &value.place, mistakes));
        }
    }
    found
}

fn through(form: &Form<'_, '_>, names: &Names, mistakes: &mut Mistakes) -> Vec<Part> {
    let mut parts: Vec<Part> = Vec::new();
    for value in form.many("through").unwrap_or_default() {
        let Some(text) = text_of(value, "through", mistakes) else {
            continue;
        };
        let Some(part) = ends::part(text, &value.place, names, mistakes) else {
            continue;
        };
        if parts.contains(&part) {
            twice(text, &value.place, mistakes);
        } else {
            parts.push(part);
        }
    }
    parts
}

fn twice(text: &str, place: &Place, mistakes: &mut Mistakes) {
    mistakes
        .add(place, format!("the leg passes '{text}' twice"))
        .allow("each part once");
}

fn shield(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Option<ShieldBond> {
    let i = form.choice("shield", &["from", "to", "both", "none"], mistakes)?;
    Some(
        [
            ShieldBond::From,
            ShieldBond::To,
            ShieldBond::Both,
            ShieldBond::None,
        ][i],
    )
}

impl Cable {
    /// Conductors that a run takes of this cable: power 2 legs, Wiegand 2 and its common, a
    /// two-wire bus 2 and its common, loop 2, contact 2, Ethernet all eight, a bond one; and its
    /// signal wires.
    pub fn conductors_for(run: &Run) -> u32 {
        let c = run.carries;
        if c.bond {
            return 1;
        }
        if c.ethernet {
            return 8;
        }
        let power = if c.power {
            run.parallel + run.minus_parallel
        } else {
            0
        };
        let data = 2 * [c.wiegand, c.rs485, c.data, c.supervised, c.contact]
            .map(u32::from)
            .iter()
            .sum::<u32>();
        power + data + u32::from(run.common && !c.power) + run.signal_wires
    }
}
