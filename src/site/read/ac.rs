//! The nameplate of a transformer, and the rectifier of a device.

use crate::site::fields::RECTIFIERS;
use crate::site::form::{Form, Mistakes};
use crate::site::model::{DcSide, Nameplate, Rectifier};
use crate::site::read::supply::in_order;
use crate::units::Measure;

/// Reads what a supply's nameplate states.
pub(crate) fn nameplate(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Nameplate {
    Nameplate {
        voltage: above_zero(form, "rated_voltage", "\"24 V\"", mistakes),
        rating: above_zero(form, "rating", "\"40 VA\"", mistakes),
        regulation: form.quantity("regulation", mistakes),
    }
}

/// Reads the rectifier of a device and what lies behind it.
pub(crate) fn dc_side(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> DcSide {
    let rectifier = match form.choice("rectifier", RECTIFIERS, mistakes) {
        Some(1) => Rectifier::HalfWave,
        Some(2) => Rectifier::Bridge,
        Some(3) => Rectifier::Unknown,
        _ => Rectifier::None,
    };
    let side = DcSide {
        rectifier,
        diode_drop: form.quantity("diode_drop", mistakes),
        reservoir: above_zero(form, "reservoir", "\"2200 uF\"", mistakes),
        lowest: form.quantity("dc_lowest", mistakes),
        highest: form.quantity("dc_highest", mistakes),
    };
    in_order(
        form,
        ("dc_lowest", side.lowest),
        ("dc_highest", side.highest),
        mistakes,
    );
    side
}

/// A quantity over zero.
pub(crate) fn above_zero<Q: Measure>(
    form: &Form<'_, '_>,
    key: &str,
    example: &str,
    mistakes: &mut Mistakes,
) -> Option<Q> {
    let value: Q = form.quantity(key, mistakes)?;
    if value.base() > 0.0 {
        return Some(value);
    }
    let place = form.entry(key).and_then(|e| e.value.place.clone());
    mistakes
        .add(&place, format!("'{key}' is zero"))
        .allow(format!("more than zero, for instance {example}"));
    None
}
