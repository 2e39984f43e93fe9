//! Relays, what they switch, and the inputs that they close.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, table_of};
use crate::site::model::{
    AtBoot, Clamp, ClampAt, Coil, CoilKind, ContactMaterial, Does, Input, Relay,
};
use crate::site::read::names::check_name;
use crate::site::read::some_of;
use crate::site::value::{Entry, Table};
use crate::units::{Measure, Time};

/// Most operations of a contact, and most of a day.
const MOST: u32 = 1_000_000_000;
const MOST_A_DAY: u32 = 1_000_000;
const CLAMPS: [Clamp; 7] = [
    Clamp::None,
    Clamp::Diode,
    Clamp::DiodeAndZener,
    Clamp::Varistor,
    Clamp::TwoWay,
    Clamp::Rc,
    Clamp::Unknown,
];

/// The tables below a key, each with its entry; says which are none.
fn below<'t, 'a>(
    form: &Form<'t, 'a>,
    (key, what): (&str, &str),
    mistakes: &mut Mistakes,
) -> Vec<(&'t Entry<'a>, &'t Table<'a>)> {
    let mut found = Vec::new();
    for entry in form.table(key, mistakes).map_or(&[][..], |t| &t.entries) {
        check_name(&entry.key, what, &entry.key_place, mistakes);
        match table_of(&entry.value) {
            Some(table) => found.push((entry, table)),
            None => {
                let noun = entry.value.noun();
                mistakes.add(
                    &entry.value.place,
                    format!("{what} '{}' is {noun}, not a table", entry.key),
                );
            }
        }
    }
    found
}

/// Reads `[device.X.relay.Y]`.
pub(crate) fn relays(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Vec<Relay> {
    let mut relays = Vec::new();
    for (entry, table) in below(form, ("relay", "relay"), mistakes) {
        let title = format!("{}.relay.{}", form.title, entry.key);
        let relay = Form::new(table, title, fields::RELAY, mistakes);
        let contacts = ["changeover", "normally open", "normally closed"];
        relays.push(Relay {
            name: entry.key.clone().into_owned(),
            resistance: relay.quantity("resistance", mistakes),
            current: relay.quantity("current", mistakes),
            voltage: relay.quantity("voltage", mistakes),
            ac_voltage: relay.quantity("ac_voltage", mistakes),
            contact: relay
                .choice("contact", &contacts, mistakes)
                .map(|i| contacts[i].to_owned()),
            material: relay
                .choice("material", fields::CONTACT_MATERIALS, mistakes)
                .map(|i| {
                    [
                        ContactMaterial::Silver,
                        ContactMaterial::Gold,
                        ContactMaterial::SolidState,
                    ][i]
                }),
            at_boot: relay
                .choice("at_boot", fields::AT_BOOT, mistakes)
                .map(|i| [AtBoot::Rest, AtBoot::Pulled, AtBoot::Unknown][i]),
            pulse: relay.quantity("pulse", mistakes),
            life: relay.count("life", (1, MOST), mistakes).map(f64::from),
        });
    }
    relays
}

/// Reads `[device.X.input.Y]` and `[supply.X.input.Y]`.
pub(crate) fn inputs(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Vec<Input> {
    let mut inputs = Vec::new();
    for (entry, table) in below(form, ("input", "input"), mistakes) {
        if matches!(entry.key.as_ref(), "plus" | "minus") {
            mistakes
                .add(
                    &entry.key_place,
                    format!("'{}' names a terminal, not an input", entry.key),
                )
                .allow("any other name");
        }
        let title = format!("{}.input.{}", form.title, entry.key);
        let input = Form::new(table, title, fields::INPUT, mistakes);
        let (shortest, longest): (Option<Time>, Option<Time>) = (
            input.quantity("shortest", mistakes),
            input.quantity("longest", mistakes),
        );
        if let (Some(short), Some(long)) = (shortest, longest)
            && short > long
        {
            let place = input.entry("shortest").and_then(|e| e.value.place.clone());
            mistakes
                .add(
                    &place,
                    format!(
                        "'shortest' {} s is over 'longest' {} s",
                        short.base(),
                        long.base()
                    ),
                )
                .allow("shortest is at most longest");
        }
        inputs.push(Input {
            name: entry.key.clone().into_owned(),
            does: input
                .choice("does", fields::DOES, mistakes)
                .map(|i| Does::ALL[i]),
            voltage: input.quantity("voltage", mistakes),
            current: input.quantity("current", mistakes),
            dry: input.flag("dry", mistakes),
            shortest,
            longest,
        });
    }
    inputs
}

/// Reads the coil of a device.
pub(crate) fn coil(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Coil {
    Coil {
        kind: form
            .choice("coil", &["dc", "ac"], mistakes)
            .map(|i| [CoilKind::Dc, CoilKind::Ac][i]),
        clamp: form
            .choice("clamp", fields::CLAMPS, mistakes)
            .map(|i| CLAMPS[i]),
        clamp_at: form
            .choice("clamp_at", &["load", "contact"], mistakes)
            .map(|i| [ClampAt::Load, ClampAt::Contact][i]),
        clamp_voltage: form.quantity("clamp_voltage", mistakes),
        inductance: form.quantity("inductance", mistakes),
        release_current: form.quantity("release_current", mistakes),
        on_time: form.quantity("on_time", mistakes),
        cycles: form
            .count("cycles", (0, MOST_A_DAY), mistakes)
            .map(f64::from),
        duty: some_of(
            form,
            "duty",
            "\"100 %\" where the coil is made to be energised always",
            mistakes,
        ),
    }
}
