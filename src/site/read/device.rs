//! Devices, their draws and relays.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, nearest, read_with, text_of};
use crate::site::model::{Device, Tie};
use crate::site::read::door;
use crate::site::read::ends::{self, EndUse};
use crate::site::read::names::check_name;
use crate::site::read::restrained::{terminal_fit, wake};
use crate::site::read::supply::{in_order, poe_class};
use crate::site::read::switched;
use crate::site::read::{Body, Names};
use crate::site::read::{ac, answers};
use crate::tables::{self, DeviceRow, Of};
use crate::units::{self, Draw, ElectricPotential};

/// Reads `[device.X]`.
pub(crate) fn device(
    body: &Body<'_, '_>,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<Device> {
    let form = Form::new(body.table, body.title.clone(), fields::DEVICE, mistakes);
    let lowest = form.quantity("lowest", mistakes);
    let highest = form.quantity("highest", mistakes);
    in_order(&form, ("lowest", lowest), ("highest", highest), mistakes);
    let on = form
        .placed("on", mistakes)
        .and_then(|(text, place)| ends::end(text, &place, EndUse::Pair, names, mistakes));
    let kind = form.choice("kind", fields::DEVICE_KINDS, mistakes);
    let mut device = Device {
        name: body.name.to_owned(),
        kind: kind.map(|i| fields::DEVICE_KINDS[i].to_owned()),
        like: None,
        filled: Vec::new(),
        place: form.string("place", mistakes),
        lowest,
        highest,
        negative_earthed: form.flag("negative_earthed", mistakes).unwrap_or(false),
        on,
        draw: draws(&form, mistakes),
        power_factor: form.share("power_factor", mistakes),
        dc: ac::dc_side(&form, mistakes),
        wake: wake(&form, mistakes),
        fit: terminal_fit(&form, mistakes),
        relays: switched::relays(&form, mistakes),
        tie: tie(&form, mistakes),
        poe_class: poe_class(&form, "poe_class", mistakes),
        safety: form.flag("safety", mistakes),
        door: door::of_device(&form, names, mistakes),
        without_power: door::without_power(&form, mistakes),
        coil: switched::coil(&form, mistakes),
        inputs: switched::inputs(&form, mistakes),
        answers: answers::answers(&form, Of::Device, mistakes),
    };
    if let Some((like, place)) = form.placed("like", mistakes) {
        if let Some(row) = tables::device(like) {
            fill(&mut device, row);
            device.like = Some(like.to_owned());
        } else {
            mistakes
                .add(&place, format!("there is no built-in device '{like}'"))
                .allow(format!(
                    "built-in devices: {}",
                    crate::site::form::listed(tables::device_names())
                ))
                .suggest(nearest(like, tables::device_names()));
        }
    }
    Some(device)
}

/// Fills what the site leaves out from a row of the device table; each value is an assumption.
fn fill(device: &mut Device, row: &DeviceRow) {
    if device.kind.is_none() {
        device.kind = Some(row.kind.clone());
        device.filled.push(("kind", row.kind.clone()));
    }
    let volts = |text: &Option<String>| -> Option<(ElectricPotential, String)> {
        let text = text.as_ref()?;
        Some((units::read(text).ok()?, text.clone()))
    };
    if device.lowest.is_none()
        && let Some((value, text)) = volts(&row.lowest)
    {
        device.lowest = Some(value);
        device.filled.push(("lowest", text));
    }
    if device.highest.is_none()
        && let Some((value, text)) = volts(&row.highest)
    {
        device.highest = Some(value);
        device.filled.push(("highest", text));
    }
    if device.state_draws().next().is_none() {
        for (state, text) in row.draw.states() {
            if let Ok(draw) = units::read_draw(text) {
                device.draw.push((state.to_owned(), draw));
            }
        }
        let text: Vec<String> = row
            .draw
            .states()
            .map(|(state, draw)| format!("{state} {draw}"))
            .collect();
        if !text.is_empty() {
            device.filled.push(("draw", text.join(", ")));
        }
    }
}

fn draws(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Vec<(String, Draw)> {
    let Some(table) = form.table("draw", mistakes) else {
        return Vec::new();
    };
    let mut draws = Vec::new();
    for entry in &table.entries {
        check_name(&entry.key, "state", &entry.key_place, mistakes);
        if entry.key == "off" {
            mistakes
                .add(&entry.key_place, "the state 'off' always draws nothing")
                .allow("leave it out");
            continue;
        }
        if let Some(draw) = read_with(&entry.value, &entry.key, mistakes, units::read_draw) {
            draws.push((entry.key.clone().into_owned(), draw));
        }
    }
    draws
}

fn tie(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Tie {
    let Some(entry) = form.entry("tie") else {
        return Tie::Joined;
    };
    match text_of(&entry.value, "tie", &mut Mistakes::default()) {
        Some("isolated") => return Tie::Isolated,
        Some(word) if !word.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) => {
            mistakes
                .add(&entry.value.place, format!("'tie' is '{word}'"))
                .allow("\"isolated\", or ohms like \"20 mohm\"; left out, the two are one");
            return Tie::Joined;
        }
        _ => {}
    }
    form.quantity("tie", mistakes)
        .map_or(Tie::Joined, Tie::Through)
}
