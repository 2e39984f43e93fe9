//! Readings and meters.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, listed, nearest};
use crate::site::model::{
    Accuracy, End, Found, Meter, MeterOf, Reading, Site, Spot, Thing, WhichEnd,
};
use crate::site::read::case::tables;
use crate::site::read::ends::{self, EndUse};
use crate::site::read::{Body, Names};
use crate::units::{
    self, ElectricCurrent, ElectricPotential, ElectricalResistance, Measure, Ratio, ReadError,
};

/// How the error of a meter is written.
const ERROR: &str = "write \"0.5 % + 2 digits\": a share of the value, and steps of its last digit";

/// Reads `[meter.X]`.
pub(crate) fn meter(body: &Body<'_, '_>, mistakes: &mut Mistakes) -> Meter {
    let form = Form::new(body.table, body.title.clone(), fields::METER, mistakes);
    let mut error = |key: &str| {
        let (text, place) = form.placed(key, mistakes)?;
        let read = accuracy(text);
        if read.is_none() {
            let found = format!("'{key}': '{text}' is no error of a meter");
            mistakes.add(&place, found).allow(ERROR);
        }
        read
    };
    Meter {
        name: body.name.to_owned(),
        volts: error("volts"),
        amps: error("amps"),
        ohms: error("ohms"),
        floor: form.quantity("floor", mistakes),
    }
}

/// Reads `0.5 % + 2 digits`, or one of the two.
fn accuracy(text: &str) -> Option<Accuracy> {
    let mut read = Accuracy::default();
    for part in text.split('+').map(str::trim) {
        let digits = part
            .strip_suffix("digits")
            .or_else(|| part.strip_suffix("digit"));
        match digits {
            Some(count) => read.digits += f64::from(count.trim().parse::<u16>().ok()?),
            None => read.share += units::read::<Ratio>(part).ok()?,
        }
    }
    (read.share < Ratio::from_base(1.0)).then_some(read)
}

/// Reads `[[reading]]`; the meters and cases of the site are known.
pub(crate) fn readings(
    form: &Form<'_, '_>,
    site: &Site,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Vec<Reading> {
    tables(form, "reading", mistakes)
        .into_iter()
        .filter_map(|table| {
            let one = Form::new(table, "[reading]", fields::READING, mistakes);
            reading(&one, site, names, mistakes)
        })
        .collect()
}

fn reading(
    form: &Form<'_, '_>,
    site: &Site,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<Reading> {
    let at = spot(form, names, mistakes);
    let shown = form.read_with("value", mistakes, value);
    let kind = form.choice("kind", fields::OHMS_OF, mistakes);
    let leads = form.quantity("leads", mistakes);
    let end = form.choice("end", &["from", "to"], mistakes);
    let mut reading = Reading {
        case: case(form, site, mistakes),
        meter: meter_of(form, site, mistakes),
        set: form.count("set", (0, 1_000_000), mistakes),
        time: form.string("time", mistakes),
        by: form.string("by", mistakes),
        temperature: form.quantity("temperature", mistakes),
        leads,
        end: end.map(|i| [WhichEnd::From, WhichEnd::To][i]),
        at: at?,
        found: shown?.0,
        digit: shown?.1,
    };
    for key in ["kind", "leads"] {
        if let Some(entry) = form.entry(key)
            && !matches!(reading.found, Found::Ohms(_))
        {
            mistakes
                .add(&entry.value.place, format!("'{key}' belongs to ohms"))
                .allow("take it out, or write a value in ohm");
        }
    }
    if let (Found::Ohms(ohms), Some(1)) = (reading.found, kind) {
        reading.found = Found::Insulation(ohms);
    }
    let there_and_back = matches!((reading.found, reading.at), (Found::Ohms(_), Spot::Run(_)));
    if let Some(entry) = form.entry("end")
        && !there_and_back
    {
        let found = "'end' belongs to ohms there and back along a run";
        mistakes
            .add(&entry.value.place, found)
            .allow("take it out, or write at = \"W1\" and a value in ohm");
    }
    if reading.value() < 0.0 && matches!(reading.found, Found::Ohms(_)) {
        let place = form.entry("leads").and_then(|e| e.value.place.clone());
        mistakes
            .add(&place, "the leads have more ohms than was read with them")
            .allow("'value' is what the meter showed, its leads still in it");
    }
    fits(form, &reading, mistakes).then_some(reading)
}

/// What a meter showed, and one step of its last digit in SI.
fn value(text: &str) -> Result<(Found, f64), ReadError> {
    // A reading is volts, amps or ohms: the error of the likeliest is the clearest.
    if let Ok(amps) = units::read_signed::<ElectricCurrent>(text) {
        let digit = units::last_digit::<ElectricCurrent>(text)?.base();
        return Ok((Found::Amps(amps), digit));
    }
    if let Ok(ohms) = units::read::<ElectricalResistance>(text) {
        let digit = units::last_digit::<ElectricalResistance>(text)?.base();
        return Ok((Found::Ohms(ohms), digit));
    }
    let volts = units::read_signed::<ElectricPotential>(text)?;
    let digit = units::last_digit::<ElectricPotential>(text)?.base();
    Ok((Found::Volts(volts), digit))
}

/// Where the leads were held.
fn spot(form: &Form<'_, '_>, names: &Names, mistakes: &mut Mistakes) -> Option<Spot> {
    let (at, to) = (lead(form, "at", names, mistakes), form.entry("to"));
    let other = lead(form, "to", names, mistakes);
    let (at, other) = match (at?, to, other) {
        (spot, None, _) => (spot, None),
        (spot, Some(_), other) => (spot, Some(other?)),
    };
    let is_terminal = |end: End| matches!(end, End::Terminal(..) | End::Earth(_));
    let place = |key: &str| form.entry(key).and_then(|e| e.value.place.clone());
    match (at, other) {
        (Spot::Across(a), Some(Spot::Across(b))) if is_terminal(a) && is_terminal(b) => {
            if a == b {
                mistakes.add(&place("to"), "both leads are at one terminal");
                return None;
            }
            Some(Spot::Between(a, b))
        }
        (_, Some(_)) => {
            mistakes
                .add(&place("to"), "'to' leads from one terminal to another")
                .allow("write at = \"hub.minus\" and to = \"panel.minus\", say");
            None
        }
        (Spot::Across(a), None) if is_terminal(a) => {
            mistakes
                .add(&place("at"), "one lead at a terminal, and nothing says where the other was")
                .allow("write to = \"panel.minus\", say; or name the whole thing, for both its terminals");
            None
        }
        (spot, None) => Some(spot),
    }
}

fn lead(form: &Form<'_, '_>, key: &str, names: &Names, mistakes: &mut Mistakes) -> Option<Spot> {
    let (text, place) = form.placed(key, mistakes)?;
    let (head, tail) = text.split_once('.').unwrap_or((text, ""));
    Some(
        match names.thing(head, "supply, device, junction or run", &place, mistakes)? {
            Thing::Run(i) if tail.is_empty() => Spot::Run(i),
            Thing::Run(_) => {
                let (run, leg) = ends::conductor(text, &place, names, mistakes)?;
                Spot::Conductor(run, leg)
            }
            thing => {
                let one = matches!(thing, Thing::Earth(_))
                    || ["plus", "minus"]
                        .iter()
                        .any(|word| text.ends_with(&format!(".{word}")));
                let usage = if one { EndUse::Bond } else { EndUse::Pair };
                Spot::Across(ends::end(text, &place, usage, names, mistakes)?)
            }
        },
    )
}

/// The case that a reading names: one of the site's, or in words one of those that stand in for
/// them, so that a first case of one's own makes no reading a mistake.
fn case(form: &Form<'_, '_>, site: &Site, mistakes: &mut Mistakes) -> Option<String> {
    let (text, place) = form.placed("case", mistakes)?;
    let known = || site.cases.iter().map(|case| case.name.as_str());
    let inrush = |text: &str| {
        let device = text.strip_suffix(" inrush");
        device.is_some_and(|name| site.devices.iter().any(|d| d.name == name))
    };
    if !known().any(|name| name == text)
        && !["all idle", "all active"].contains(&text)
        && !inrush(text)
    {
        let allowed = if site.cases.is_empty() {
            "all idle, all active".to_owned()
        } else {
            listed(known())
        };
        mistakes
            .add(&place, format!("no case is called '{text}'"))
            .allow(format!("the cases: {allowed}"))
            .suggest(nearest(text, known().chain(["all idle", "all active"])));
        return None;
    }
    Some(text.to_owned())
}

fn meter_of(form: &Form<'_, '_>, site: &Site, mistakes: &mut Mistakes) -> Option<MeterOf> {
    let (text, place) = form.placed("meter", mistakes)?;
    let known = || site.meters.iter().map(|meter| meter.name.as_str());
    let named = known().position(|name| name == text).map(MeterOf::Named);
    let read = named.or_else(|| accuracy(text).map(MeterOf::Stated));
    if read.is_none() {
        mistakes
            .add(
                &place,
                format!("'{text}' is no meter of this site, and no error of one"),
            )
            .allow("name a [meter.X] of this file")
            .allow(ERROR)
            .suggest(nearest(text, known()));
    }
    read
}

/// Whether such a value can be read at such a place.
fn fits(form: &Form<'_, '_>, reading: &Reading, mistakes: &mut Mistakes) -> bool {
    let (fits, remedy) = match reading.found {
        Found::Volts(_) => (
            matches!(reading.at, Spot::Across(_) | Spot::Between(..)),
            "volts stand at a supply, device or junction, or between two terminals: at = \"psu.plus\" and to = \"hub.plus\" for those along one leg",
        ),
        Found::Amps(_) => (
            matches!(
                reading.at,
                Spot::Run(_)
                    | Spot::Conductor(..)
                    | Spot::Across(End::Supply(_) | End::Output(..) | End::Device(_))
            ),
            "amps flow in a run or one of its conductors, out of a supply or into a device",
        ),
        Found::Ohms(_) | Found::Insulation(_) => (
            matches!(reading.at, Spot::Run(_) | Spot::Conductor(..)),
            "ohms are read along a dead run, its far end shorted, or along one of its conductors",
        ),
    };
    if !fits {
        let place = form.entry("value").and_then(|e| e.value.place.clone());
        mistakes
            .add(
                &place,
                format!("a value in {} cannot be read there", reading.unit()),
            )
            .allow(remedy);
    }
    fits
}
