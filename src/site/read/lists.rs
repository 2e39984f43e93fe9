//! Junctions, fuses, earths, places, sizing and accepted findings.

use crate::site::fields;
use crate::site::form::{Form, Mistakes};
use crate::site::model::{Accepted, CableRef, Earth, Fuse, Junction, Place};
use crate::site::read::case::tables;
use crate::site::read::ends::{self, EndUse};
use crate::site::read::{Body, Names, answers, raceway, run};
use crate::tables::{self, Of};
use crate::units::{Length, Measure, Resistivity};

/// Reads `[junction.X]`.
pub(crate) fn junction(
    body: &Body<'_, '_>,
    names: &Names,
    mistakes: &mut Mistakes,
) -> Option<Junction> {
    let form = Form::new(body.table, body.title.clone(), fields::JUNCTION, mistakes);
    let on = form
        .placed("on", mistakes)
        .and_then(|(text, place)| ends::end(text, &place, EndUse::Pair, names, mistakes));
    Some(Junction {
        name: body.name.to_owned(),
        place: form.string("place", mistakes),
        on,
        answers: answers::answers(&form, Of::Junction, mistakes),
    })
}

/// Reads `[fuse.X]`.
pub(crate) fn fuse(body: &Body<'_, '_>, mistakes: &mut Mistakes) -> Option<Fuse> {
    let form = Form::new(body.table, body.title.clone(), fields::FUSE, mistakes);
    let kinds = ["fuse", "breaker", "resettable", "electronic"];
    Some(Fuse {
        name: body.name.to_owned(),
        place: form.string("place", mistakes),
        current: form.quantity("current", mistakes),
        kind: form
            .choice("kind", &kinds, mistakes)
            .map(|i| kinds[i].to_owned()),
        resistance: form.quantity("resistance", mistakes),
        answers: answers::answers(&form, Of::Fuse, mistakes),
    })
}

/// Reads `[earth.X]`.
pub(crate) fn earth(body: &Body<'_, '_>, mistakes: &mut Mistakes) -> Option<Earth> {
    let form = Form::new(body.table, body.title.clone(), fields::EARTH, mistakes);
    let kinds = ["rod", "building", "bar", "metal"];
    let stated = form.quantity("resistance", mistakes);
    let soil: Option<Resistivity> = form.quantity("soil", mistakes);
    let length: Option<Length> = form.quantity("length", mistakes);
    let diameter: Option<Length> = form.quantity("diameter", mistakes);
    if let (Some(length), Some(diameter)) = (length, diameter)
        && (diameter.base() <= 0.0 || length <= diameter)
    {
        let place = form.entry("diameter").and_then(|e| e.value.place.clone());
        mistakes
            .add(&place, "the rod is as thick as it is long, or thicker")
            .allow("a rod is far longer than thick: \"0.625 in\" and \"8 ft\", say");
        return None;
    }
    let rod = || Some(tables::rod_ohms(soil?, length?, diameter?));
    Some(Earth {
        name: body.name.to_owned(),
        place: form.string("place", mistakes),
        kind: form
            .choice("kind", &kinds, mistakes)
            .map(|i| kinds[i].to_owned()),
        resistance: stated.or_else(rod),
        soil,
        length,
        diameter,
        answers: answers::answers(&form, Of::Earth, mistakes),
    })
}

/// Reads `[place.X]`.
pub(crate) fn place(body: &Body<'_, '_>, mistakes: &mut Mistakes) -> Option<Place> {
    let form = Form::new(body.table, body.title.clone(), fields::PLACE, mistakes);
    Some(Place {
        name: body.name.to_owned(),
        wet: form.flag("wet", mistakes),
        wet_contact: form.flag("wet_contact", mistakes),
        building: form.string("building", mistakes),
        sun: form.flag("sun", mistakes),
        corrosive: form.flag("corrosive", mistakes),
        made_of: form
            .choice("box", fields::BOXES, mistakes)
            .map(|i| fields::BOXES[i].to_owned()),
        box_size: raceway::box_size(&form, mistakes),
    })
}

/// Reads `[sizing]`.
pub(crate) fn sizing(
    form: &Form<'_, '_>,
    names: &mut Names,
    mistakes: &mut Mistakes,
) -> Vec<CableRef> {
    let Some(table) = form.table("sizing", mistakes) else {
        return Vec::new();
    };
    let form = Form::new(table, "sizing", fields::SIZING, mistakes);
    run::cables(&form, "choices", names, mistakes)
}

/// Reads `[[accepted]]`.
pub(crate) fn accepted(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Vec<Accepted> {
    let mut found = Vec::new();
    for table in tables(form, "accepted", mistakes) {
        let one = Form::new(table, "[accepted]", fields::ACCEPTED, mistakes);
        let mut text = |key: &str| one.string(key, mistakes);
        let (finding, subject) = (text("finding"), text("subject"));
        let (case, value) = (text("case"), text("value"));
        let (by, why, on) = (text("by"), text("why"), text("on"));
        if let (Some(finding), Some(subject)) = (finding, subject) {
            found.push(Accepted {
                finding,
                subject,
                case,
                value,
                by,
                why,
                on,
            });
        }
    }
    found
}
