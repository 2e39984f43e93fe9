//! Wiegand lines, supervised loops, two-wire buses and surge parts.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, listed, nearest, quantity_of, text_of};
use crate::site::model::{
    Bus, Carries, DeviceRef, EndAt, InputLoop, LoopLayout, LoopState, Run, Surge, Thing, WhichEnd,
    Wiegand,
};
use crate::site::read::supply::in_order;
use crate::site::read::{Body, Names, answers, below_one, ends};
use crate::site::value::Kind;
use crate::tables::Of;
use crate::units::{ElectricPotential, ElectricalResistance, Measure};

/// Most unit loads of a bus.
const MOST_UNITS: f64 = 10_000.0;

/// Reads `[run.X.wiegand]`.
pub(crate) fn wiegand(
    form: &Form<'_, '_>,
    carries: Carries,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<Wiegand> {
    let table = form.table("wiegand", mistakes)?;
    carried(form, "wiegand", carries.wiegand, mistakes);
    let title = format!("{}.wiegand", form.title);
    let line = Form::new(table, title, fields::WIEGAND, mistakes);
    let read = Wiegand {
        sender: device(&line, "sender", names, mistakes),
        voltage: over_zero(&line, "voltage", mistakes),
        pull_up: over_zero(&line, "pull_up", mistakes),
        pull_up_at: device(&line, "pull_up_at", names, mistakes),
        low_out: line.quantity("low_out", mistakes),
        low_in: line.quantity("low_in", mistakes),
        high_in: line.quantity("high_in", mistakes),
        drive: line.quantity("drive", mistakes),
        pulse: line.quantity("pulse", mistakes),
        gap: line.quantity("gap", mistakes),
        twisted_together: line.flag("twisted_together", mistakes),
    };
    in_order(
        &line,
        ("low_in", read.low_in),
        ("high_in", read.high_in),
        mistakes,
    );
    Some(read)
}

/// Says which device of a Wiegand line is at neither end of its run.
pub(crate) fn at_the_ends(form: &Form<'_, '_>, run: &Run, mistakes: &mut Mistakes) {
    let Some(line) = &run.wiegand else { return };
    let ends = [run.from.thing(), run.to.thing()];
    for (key, device) in [("sender", line.sender), ("pull_up_at", line.pull_up_at)] {
        let Some(DeviceRef(i)) = device else { continue };
        if ends.contains(&Thing::Device(i)) {
            continue;
        }
        let table = form.table("wiegand", mistakes);
        let place = table
            .and_then(|t| t.entry(key))
            .and_then(|e| e.value.place.clone());
        mistakes
            .add(
                &place,
                format!("'{key}' is at neither end of '{}'", run.name),
            )
            .allow("the device at from, or the one at to");
    }
}

/// Reads `[run.X.loop]`.
pub(crate) fn input_loop(
    form: &Form<'_, '_>,
    carries: Carries,
    mistakes: &mut Mistakes,
) -> Option<InputLoop> {
    let table = form.table("loop", mistakes)?;
    carried(form, "loop", carries.supervised, mistakes);
    let title = format!("{}.loop", form.title);
    let one = Form::new(table, title, fields::LOOP, mistakes);
    let layouts = ["series", "parallel"];
    Some(InputLoop {
        voltage: over_zero(&one, "voltage", mistakes),
        pull_up: over_zero(&one, "pull_up", mistakes),
        end: one.quantity("end", mistakes),
        trip: one.quantity("trip", mistakes),
        layout: one
            .choice("layout", &layouts, mistakes)
            .map(|i| [LoopLayout::Series, LoopLayout::Parallel][i]),
        end_at: one
            .choice("end_at", &["device", "hub"], mistakes)
            .map(|i| [EndAt::Device, EndAt::Hub][i]),
        contact: one.quantity("contact", mistakes),
        tolerance: below_one(&one, "tolerance", mistakes),
        leakage: over_zero(&one, "leakage", mistakes),
        windows: LoopState::ALL.map(|state| window(&one, state.as_str(), mistakes)),
    })
}

/// Reads `[bus.X]`.
pub(crate) fn bus(body: &Body<'_, '_>, names: &Names, mistakes: &mut Mistakes) -> Bus {
    let form = Form::new(body.table, body.title.clone(), fields::BUS, mistakes);
    let mut devices = |key: &str| -> Option<Vec<usize>> {
        let texts = form.many(key)?.into_iter().filter_map(|value| {
            let text = text_of(value, key, mistakes)?;
            ends::device(text, &value.place, names, mistakes).map(|d| d.0)
        });
        Some(texts.collect())
    };
    let (terminators, bias_at) = (devices("terminators"), devices("bias_at"));
    Bus {
        name: body.name.to_owned(),
        rate: form.quantity("rate", mistakes),
        terminators,
        terminator: over_zero(&form, "terminator", mistakes),
        bias: over_zero(&form, "bias", mistakes),
        bias_at: bias_at.unwrap_or_default(),
        bias_voltage: over_zero(&form, "bias_voltage", mistakes),
        driver: over_zero(&form, "driver", mistakes),
        holds_idle: form.flag("holds_idle", mistakes),
        units: form.number("units", (0.0, MOST_UNITS), mistakes),
        answers: answers::answers(&form, Of::Bus, mistakes),
    }
}

/// The bus that a run is part of.
pub(crate) fn bus_of_run(
    form: &Form<'_, '_>,
    carries: Carries,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<usize> {
    let (text, place) = form.placed("bus", mistakes)?;
    carried(form, "bus", carries.rs485, mistakes);
    let found = names.buses.iter().position(|name| name == text);
    if found.is_none() {
        let known = || names.buses.iter().map(String::as_str);
        let error = mistakes.add(&place, format!("there is no bus '{text}'"));
        error.suggest(nearest(text, known()));
        if names.buses.is_empty() {
            error.allow(format!("write [bus.{text}], and its keys below it"));
        } else {
            error.allow(format!("in this file: {}", listed(known())));
        }
    }
    found
}

/// Reads `[surge.X]`.
pub(crate) fn surge(
    body: &Body<'_, '_>,
    runs: &[Run],
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<Surge> {
    let form = Form::new(body.table, body.title.clone(), fields::SURGE, mistakes);
    let line = form
        .placed("line", mistakes)
        .and_then(|(text, place)| Some((ends::run(text, &place, names, mistakes)?, place)));
    if let Some((i, place)) = &line
        && runs.get(*i).is_some_and(|run| run.carries.bond)
    {
        mistakes
            .add(place, format!("'{}' is a bond", runs[*i].name))
            .allow("a surge part sits on a run that carries power or data");
    }
    let earth = form
        .placed("earth", mistakes)
        .and_then(|(text, place)| earth(text, &place, names, mistakes));
    let read = Surge {
        name: body.name.to_owned(),
        line: 0,
        end: form
            .choice("end", &["from", "to"], mistakes)
            .map(|i| [WhichEnd::From, WhichEnd::To][i]),
        working: form.quantity("working", mistakes),
        resistance: form.quantity("resistance", mistakes),
        earth,
    };
    Some(Surge {
        line: line?.0,
        ..read
    })
}

fn earth(
    text: &str,
    place: &crate::site::value::Place,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<usize> {
    match names.thing(text, "earth", place, mistakes)? {
        Thing::Earth(i) => Some(i),
        other => {
            let what = other.table();
            mistakes.add(place, format!("'{text}' is a {what}, not an earth"));
            None
        }
    }
}

/// Says that a run has a table for what it does not carry.
fn carried(form: &Form<'_, '_>, key: &str, carries: bool, mistakes: &mut Mistakes) {
    let word = if key == "bus" { "rs485" } else { key };
    if !carries && let Some(entry) = form.entry(key) {
        mistakes
            .add(
                &entry.key_place,
                format!("[{}] has '{key}' and does not carry {word}", form.title),
            )
            .allow(format!("add \"{word}\" to carries, or take {key} out"));
    }
}

fn device(
    form: &Form<'_, '_>,
    key: &str,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<DeviceRef> {
    let (text, place) = form.placed(key, mistakes)?;
    ends::device(text, &place, names, mistakes)
}

/// A value that is divided by.
pub(crate) fn over_zero<Q: Measure>(
    form: &Form<'_, '_>,
    key: &str,
    mistakes: &mut Mistakes,
) -> Option<Q> {
    let value: Q = form.quantity(key, mistakes)?;
    if value.base() > 0.0 {
        return Some(value);
    }
    let place = form.entry(key).and_then(|e| e.value.place.clone());
    mistakes
        .add(&place, format!("'{key}' is zero"))
        .allow("more than zero, or leave it out");
    None
}

fn window(
    form: &Form<'_, '_>,
    key: &str,
    mistakes: &mut Mistakes,
) -> Option<(ElectricPotential, ElectricPotential)> {
    let entry = form.entry(key)?;
    let pair = match &entry.value.kind {
        Kind::List(list) if list.len() == 2 => list,
        _ => {
            mistakes
                .add(&entry.value.place, format!("'{key}' is no pair of volts"))
                .allow(format!("write {key} = [\"1.9 V\", \"2.8 V\"]"));
            return None;
        }
    };
    let mut volts = |i: usize| quantity_of::<ElectricPotential>(&pair[i], key, mistakes);
    let (low, high) = (volts(0)?, volts(1)?);
    if low > high {
        mistakes
            .add(
                &entry.value.place,
                format!("'{key}' ends below where it begins"),
            )
            .allow("the lower volts first");
        return None;
    }
    Some((low, high))
}

/// Adds the resistance of the surge parts to the runs that they sit on.
pub(crate) fn lay_surges(runs: &mut [Run], surges: &[Surge]) {
    for surge in surges {
        let ohms = surge.resistance.unwrap_or_default();
        if let Some(run) = runs.get_mut(surge.line) {
            run.surge = ElectricalResistance::from_base(run.surge.base() + ohms.base());
        }
    }
}
