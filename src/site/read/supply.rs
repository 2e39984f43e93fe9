//! Supplies and their outputs.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, quantity_of, table_of};
use crate::site::model::{Output, Poe, Supply, SupplyKind};
use crate::site::read::ac;
use crate::site::read::answers;
use crate::site::read::battery;
use crate::site::read::ends::{self, EndUse};
use crate::site::read::names::check_name;
use crate::site::read::restrained::{restrained, terminal_fit};
use crate::site::read::switched;
use crate::site::read::{Body, Names, below_one, some_of};
use crate::site::value::Kind;
use crate::tables::Of;
use crate::units::{self, ElectricCurrent, ElectricPotential, ElectricalResistance, Measure};

/// Reads `[supply.X]`.
pub(crate) fn supply(
    body: &Body<'_, '_>,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<Supply> {
    let form = Form::new(body.table, body.title.clone(), fields::SUPPLY, mistakes);
    let kind = match form.choice("kind", &["dc", "ac"], mistakes) {
        Some(1) => SupplyKind::Ac,
        _ => SupplyKind::Dc,
    };
    for key in ["voltage", "rated_voltage", "lowest", "highest"] {
        agree_on_kind(&form, key, kind, mistakes);
    }
    if form.entry("voltage").is_none() && form.entry("rated_voltage").is_none() {
        form.missing("voltage", "\"24 V\"", mistakes);
    }
    let nameplate = ac::nameplate(&form, mistakes);
    let rated = nameplate.following();
    let voltage = form.quantity("voltage", mistakes).or(rated.voltage);
    let lowest = form.quantity("lowest", mistakes);
    let highest = form.quantity("highest", mistakes);
    in_order(&form, ("lowest", lowest), ("highest", highest), mistakes);
    let loaded = loaded(&form, mistakes);
    let stated: Option<ElectricalResistance> = form.quantity("resistance", mistakes);
    let fed_by = form
        .placed("fed_by", mistakes)
        .and_then(|(text, place)| ends::device(text, &place, names, mistakes));
    let on = form
        .placed("on", mistakes)
        .and_then(|(text, place)| ends::end(text, &place, EndUse::Pair, names, mistakes));
    let resistance = stated
        .or_else(|| following(&form, voltage?, loaded?, mistakes))
        .or(rated.resistance);
    let mut supply = Supply {
        name: body.name.to_owned(),
        place: form.string("place", mistakes),
        kind,
        frequency: form.quantity("frequency", mistakes),
        tolerance: below_one(&form, "tolerance", mistakes),
        lowest,
        highest,
        resistance,
        loaded,
        current: form.quantity("current", mistakes).or(rated.current),
        peak: form.quantity("peak", mistakes),
        class: class(&form, mistakes),
        negative_earthed: form.flag("negative_earthed", mistakes).unwrap_or(false),
        fed_by,
        efficiency: some_of(&form, "efficiency", "for instance \"85 %\"", mistakes),
        isolated: form.flag("isolated", mistakes).unwrap_or(false),
        on,
        restrained: restrained(&form, mistakes),
        fit: terminal_fit(&form, mistakes),
        outputs: outputs(&form, mistakes),
        nameplate,
        poe: poe(&form, mistakes),
        battery: None,
        solar: None,
        inputs: switched::inputs(&form, mistakes),
        answers: answers::answers(&form, Of::Supply, mistakes),
        voltage: voltage?,
    };
    battery::battery(&form, &mut supply, names, mistakes);
    Some(supply)
}

fn poe(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Option<Poe> {
    let table = form.table("poe", mistakes)?;
    let poe = Form::new(table, format!("{}.poe", form.title), fields::POE, mistakes);
    let pairs = poe.count("pairs", (2, 4), mistakes);
    if pairs == Some(3) {
        let place = poe.entry("pairs").and_then(|e| e.value.place.clone());
        mistakes
            .add(&place, "'pairs' is 3")
            .allow("power goes on 2 or 4 pairs");
    }
    Some(Poe {
        class: poe_class(&poe, "class", mistakes),
        pairs,
        budget: poe.quantity("budget", mistakes),
    })
}

/// A class of power over Ethernet.
pub(crate) fn poe_class(form: &Form<'_, '_>, key: &str, mistakes: &mut Mistakes) -> Option<u8> {
    let class = form.count(key, (0, 8), mistakes)?;
    u8::try_from(class).ok()
}

fn class(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Option<u8> {
    form.choice("class", &["class 2", "class 3"], mistakes)
        .map(|i| if i == 0 { 2 } else { 3 })
}

/// Says where `VDC` or `VAC` contradicts the supply's kind.
fn agree_on_kind(form: &Form<'_, '_>, key: &str, kind: SupplyKind, mistakes: &mut Mistakes) {
    let Some(entry) = form.entry(key) else { return };
    let Kind::Text(text) = &entry.value.kind else {
        return;
    };
    let wanted = match kind {
        SupplyKind::Dc => units::Kind::Dc,
        SupplyKind::Ac => units::Kind::Ac,
    };
    if units::volts_kind(text).is_some_and(|found| found != wanted) {
        let kind = if kind == SupplyKind::Dc { "dc" } else { "ac" };
        mistakes
            .add(
                &entry.value.place,
                format!("'{key}' is '{text}', but the supply is {kind}"),
            )
            .allow("write V, or set kind to agree");
    }
}

/// Says where a window stands on its head.
pub(crate) fn in_order(
    form: &Form<'_, '_>,
    (low, lowest): (&str, Option<ElectricPotential>),
    (high, highest): (&str, Option<ElectricPotential>),
    mistakes: &mut Mistakes,
) {
    if let (Some(lowest), Some(highest)) = (lowest, highest)
        && lowest > highest
    {
        let place = form.entry(low).and_then(|e| e.value.place.clone());
        mistakes
            .add(
                &place,
                format!(
                    "'{low}' {} V is over '{high}' {} V",
                    lowest.base(),
                    highest.base()
                ),
            )
            .allow(format!("{low} is at most {high}"));
    }
}

fn loaded(
    form: &Form<'_, '_>,
    mistakes: &mut Mistakes,
) -> Option<(ElectricPotential, ElectricCurrent)> {
    let entry = form.entry("loaded")?;
    if let Kind::List(list) = &entry.value.kind
        && let [volts, amps] = list.as_slice()
    {
        let volts = quantity_of(volts, "loaded", mistakes);
        let amps = quantity_of(amps, "loaded", mistakes);
        return Some((volts?, amps?));
    }
    mistakes
        .add(
            &entry.value.place,
            format!("'loaded' is {}, not a pair", entry.value.noun()),
        )
        .allow("write loaded = [\"23.2 V\", \"1 A\"]");
    None
}

/// Source resistance from the no-load volts and one loaded reading: (V0 - V) / I, Ohm's law.
fn following(
    form: &Form<'_, '_>,
    voltage: ElectricPotential,
    (volts, amps): (ElectricPotential, ElectricCurrent),
    mistakes: &mut Mistakes,
) -> Option<ElectricalResistance> {
    let place = form.entry("loaded").and_then(|e| e.value.place.clone());
    if amps.base() <= 0.0 {
        mistakes
            .add(&place, "'loaded' draws no current")
            .allow("amps over 0 A");
        return None;
    }
    if volts > voltage {
        mistakes
            .add(
                &place,
                format!(
                    "'loaded' {} V is over 'voltage' {} V",
                    volts.base(),
                    voltage.base()
                ),
            )
            .allow("volts under load are at most the volts without load");
        return None;
    }
    Some((voltage - volts) / amps)
}

fn outputs(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Vec<Output> {
    let Some(table) = form.table("output", mistakes) else {
        return Vec::new();
    };
    let mut outputs = Vec::new();
    for entry in &table.entries {
        check_name(&entry.key, "output", &entry.key_place, mistakes);
        if matches!(entry.key.as_ref(), "plus" | "minus") {
            mistakes
                .add(
                    &entry.key_place,
                    format!("'{}' names a terminal, not an output", entry.key),
                )
                .allow("any other name");
        }
        let Some(table) = table_of(&entry.value) else {
            mistakes.add(
                &entry.value.place,
                format!(
                    "output '{}' is {}, not a table",
                    entry.key,
                    entry.value.noun()
                ),
            );
            continue;
        };
        let title = format!("{}.output.{}", form.title, entry.key);
        let output = Form::new(table, title, fields::OUTPUT, mistakes);
        outputs.push(Output {
            name: entry.key.clone().into_owned(),
            current: output.quantity("current", mistakes),
            resistance: output.quantity("resistance", mistakes),
            poe_class: poe_class(&output, "poe_class", mistakes),
        });
    }
    outputs
}
