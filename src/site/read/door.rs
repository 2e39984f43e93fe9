//! Doors and gates, and the devices on them.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, listed, nearest};
use crate::site::model::{Door, DoorFor, FireRelease, WithoutPower};
use crate::site::read::{Body, Names, ends};
use crate::site::value::Kind;

/// Reads `[door.X]`.
pub(crate) fn door(body: &Body<'_, '_>, names: &Names, mistakes: &mut Mistakes) -> Door {
    let form = Form::new(body.table, body.title.clone(), fields::DOOR, mistakes);
    Door {
        name: body.name.to_owned(),
        used_by: form
            .choice("for", &["people", "vehicles"], mistakes)
            .map(|i| [DoorFor::People, DoorFor::Vehicles][i]),
        way_out: form.flag("way_out", mistakes),
        hand_release: form.flag("hand_release", mistakes),
        sensor: form.flag("sensor", mistakes),
        button: form.flag("button", mistakes),
        button_height: form.quantity("button_height", mistakes),
        button_distance: form.quantity("button_distance", mistakes),
        button_holds: form.quantity("button_holds", mistakes),
        fire_release: fire_release(&form, names, mistakes),
        control_distance: form.quantity("control_distance", mistakes),
    }
}

/// true, false, or the relay of the alarm.
fn fire_release(
    form: &Form<'_, '_>,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<FireRelease> {
    let value = &form.entry("fire_release")?.value;
    let text = match &value.kind {
        Kind::Flag(true) => return Some(FireRelease::Said),
        Kind::Flag(false) => return Some(FireRelease::No),
        Kind::Text(text) if text.contains('.') => text,
        _ => {
            let what = format!("'fire_release' is {}, not true or false", value.noun());
            let error = mistakes.add(&value.place, what);
            error.allow("write true or false, or the relay of the alarm: \"fire panel.alarm\"");
            return None;
        }
    };
    let (device, relay, tail) = ends::relay(text, &value.place, names, mistakes)?;
    if tail.is_some() {
        let error = mistakes.add(&value.place, format!("'{text}' is a contact, not a relay"));
        error.allow("name the relay; which of its contacts opens follows from the runs");
        return None;
    }
    Some(FireRelease::By(device, relay))
}

/// The door that a device is on.
pub(crate) fn of_device(
    form: &Form<'_, '_>,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<usize> {
    let (text, place) = form.placed("door", mistakes)?;
    let found = names.doors.iter().position(|name| name == text);
    if found.is_none() {
        let known = || names.doors.iter().map(String::as_str);
        let error = mistakes.add(&place, format!("there is no door '{text}'"));
        error.suggest(nearest(text, known()));
        if names.doors.is_empty() {
            error.allow(format!("write [door.\"{text}\"], and its keys below it"));
        } else {
            error.allow(format!("in this file: {}", listed(known())));
        }
    }
    found
}

/// What a lock does without power.
pub(crate) fn without_power(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Option<WithoutPower> {
    let i = form.choice("without_power", fields::WITHOUT_POWER, mistakes)?;
    Some(
        [
            WithoutPower::Unlocked,
            WithoutPower::Locked,
            WithoutPower::Unknown,
        ][i],
    )
}
