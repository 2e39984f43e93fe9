//! Raceways, and the boxes of places.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, listed, nearest, quantity_of};
use crate::site::model::Raceway;
use crate::site::read::Body;
use crate::site::read::signal::over_zero;
use crate::tables::{Cover, RacewayKind};
use crate::units::{Length, Measure};

/// Trade sizes.
const SIZES: [&str; 6] = ["1/2", "3/4", "1", "1-1/4", "1-1/2", "2"];
/// Most degrees that bends may come to.
const MOST_BENDS: u32 = 3600;

/// Reads `[raceway.X]`.
pub(crate) fn raceway(body: &Body<'_, '_>, mistakes: &mut Mistakes) -> Raceway {
    let form = Form::new(body.table, body.title.clone(), fields::RACEWAY, mistakes);
    Raceway {
        name: body.name.to_owned(),
        kind: form
            .choice("kind", RacewayKind::WORDS, mistakes)
            .map(|i| RacewayKind::ALL[i]),
        size: size(&form, mistakes),
        inside: over_zero(&form, "inside", mistakes),
        length: form.quantity("length", mistakes),
        wet: form.flag("wet", mistakes),
        cover: form.quantity("cover", mistakes),
        under: form
            .choice("under", Cover::WORDS, mistakes)
            .map(|i| Cover::ALL[i]),
        mains_inside: form.flag("mains_inside", mistakes),
        barrier: form.flag("barrier", mistakes),
        bends: form.count("bends", (0, MOST_BENDS), mistakes),
        sealed: form.flag("sealed", mistakes),
        drained: form.flag("drained", mistakes),
        bonded: form.flag("bonded", mistakes),
        price: form.quantity("price", mistakes),
    }
}

/// A trade size, with or without its inch.
fn size(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Option<String> {
    let (text, place) = form.placed("size", mistakes)?;
    let bare = text.trim().trim_end_matches("in").trim_end();
    if let Some(size) = SIZES.iter().find(|s| **s == bare) {
        return Some((*size).to_owned());
    }
    mistakes
        .add(&place, format!("'size' is '{text}'"))
        .allow(format!("trade sizes: {}", listed(SIZES)))
        .allow("or state inside, the inside diameter, instead")
        .suggest(nearest(bare, SIZES));
    None
}

/// Width, height and depth of a box.
pub(crate) fn box_size(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Option<[Length; 3]> {
    let values = form.many("box_size")?;
    let place = form.entry("box_size").and_then(|e| e.value.place.clone());
    let sides: Vec<Option<Length>> = values
        .iter()
        .map(|v| quantity_of(v, "box_size", mistakes))
        .collect();
    match sides.as_slice() {
        [Some(w), Some(h), Some(d)] if [w, h, d].iter().all(|s| s.base() > 0.0) => {
            Some([*w, *h, *d])
        }
        // What is wrong with a side is said already.
        sides if sides.iter().any(Option::is_none) => None,
        _ => {
            mistakes
                .add(&place, "'box_size' is not three sides")
                .allow("write box_size = [\"12 in\", \"10 in\", \"6 in\"]: width, height, depth");
            None
        }
    }
}
