//! How warm a box gets inside.

use uom::si::temperature_interval::kelvin;

use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look, exceeds, greatest};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::Place;
use crate::units::{Area, Length, Measure, Power, TemperatureInterval};

pub(crate) const HEAT: Check = Check {
    code: "box-heat",
    question: "how much warmer than the air does the box get inside?",
    formula: "rise = watts in the box / (5.5 W/m2K x its surface), and 15 K more in the sun; over 20 K is a warning",
    source: "still air at a painted wall, sun and limit: common practice, no source; watts of the solved network",
};

/// Watts that leave a square metre of box for each kelvin, in still air.
const STILL_AIR: f64 = 5.5;
/// What the sun adds, in kelvin.
const SUN_K: f64 = 15.0;
/// The rise at which electronics made for 50 C fail on a day of 30 C.
const WARM_K: f64 = 20.0;

/// Rise of the air in a closed box over the air around it: watts / (h x surface).
pub(crate) fn rise(watts: Power, surface: Area) -> TemperatureInterval {
    TemperatureInterval::new::<kelvin>(watts.base() / (STILL_AIR * surface.base()))
}

/// Surface of a box with all six sides free.
pub(crate) fn surface([w, h, d]: [Length; 3]) -> Area {
    let (w, h, d) = (w.base(), h.base(), d.base());
    Area::from_base(2.0 * (w * h + h * d + w * d))
}

pub(super) fn check(look: &Look<'_>, asks: &mut Asks, found: &mut Vec<Finding>) {
    for place in &look.site.places {
        if place.made_of.is_none() && place.box_size.is_none() {
            continue;
        }
        let mut ask = |silent: bool, words: &str| {
            if silent {
                asks.add(&place.name, None, words);
            }
        };
        ask(
            place.box_size.is_none(),
            "box_size (width, height and depth of the box)",
        );
        ask(place.sun.is_none(), "sun (whether it shines on the box)");
        found.extend(warm(look, place));
    }
}

fn is_here(place: &Place, of: Option<&String>) -> bool {
    of == Some(&place.name)
}

/// Watts that stay in the box: what its devices take, less what they feed on, and the heat of the
/// supplies' own resistance. The losses of a power supply ahead of its terminals are not known.
fn watts(look: &Look<'_>, place: &Place, row: &Row) -> Option<f64> {
    let site = look.site;
    let mut sum = 0.0;
    for (i, device) in site.devices.iter().enumerate() {
        if is_here(place, device.place.as_ref()) {
            sum += look.results.device(row, i)?.watts.base();
        }
    }
    for (i, supply) in site.supplies.iter().enumerate() {
        let given = look.results.supply(row, i)?;
        let feeder = supply.fed_by.map(|d| &site.devices[d.0]);
        if feeder.is_some_and(|d| is_here(place, d.place.as_ref())) {
            sum -= given.watts.base();
        } else if is_here(place, supply.place.as_ref()) {
            let amps = given.amps.base();
            sum += amps * amps * supply.resistance.map_or(0.0, Measure::base);
        }
    }
    Some(sum.max(0.0))
}

fn warm(look: &Look<'_>, place: &Place) -> Option<Finding> {
    let surface = surface(place.box_size?);
    // Heat gathers over hours: an inrush does not count.
    let steady = look.amp_rows().filter(|row| {
        let case = &look.results.cases[row.case];
        !crate::circuit::is_inrush(look.site, case)
    });
    let (watts, row) = greatest(steady, |row| watts(look, place, row))?;
    let sun = if place.sun == Some(true) { SUN_K } else { 0.0 };
    let rise = rise(Power::from_base(watts), surface).get::<kelvin>() + sun;
    let severity = if exceeds(rise, WARM_K) {
        Severity::Warn
    } else {
        Severity::Note
    };
    let message = format!(
        "{watts:.1} W make the box at {} {rise:.0} K warmer inside than the air around it{}",
        place.name,
        if severity == Severity::Warn {
            ": shade it, let air through, or take a larger box"
        } else {
            ""
        }
    );
    Some(
        HEAT.finding(severity, &place.name, message)
            .at(row)
            .measured(rise, WARM_K, "K")
            .put_in(format!(
                "{watts:.2} W / (5.5 W/m2K x {:.4} m2) + {sun} K = {rise:.2} K",
                surface.base()
            )),
    )
}
