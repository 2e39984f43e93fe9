//! Readings that are not what the site says.

use std::collections::BTreeMap;

use crate::checks::readings::in_moment;
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::readings::{BEYOND, Readings, Taken};
use crate::site::{Found, Spot};
use crate::units::fixed;

pub(crate) const OFF: Check = Check {
    code: "reading-off",
    question: "does a reading differ from the solved site by more than its meter may be off?",
    formula: "|found - model| <= 2 u, u = share x found + digits x last digit",
    source: "the meter's own data; the limit of 2 u is common practice, no source",
};

/// One finding a place: where the reading is most times off what it may be.
pub(super) fn check(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    let mut worst: BTreeMap<String, (f64, usize)> = BTreeMap::new();
    for (i, taken) in readings.taken.iter().enumerate() {
        let reading = &look.site.readings[i];
        // Ohms have the make and the warmth of the copper to reckon with: `found-ohms` judges them.
        let live = matches!(reading.found, Found::Volts(_) | Found::Amps(_));
        let Some(z) = taken.z().filter(|_| live && taken.is_off()) else {
            continue;
        };
        let place = worst.entry(look.site.spot_text(reading.at)).or_default();
        if z.abs() > place.0 {
            *place = (z.abs(), i);
        }
    }
    for (spot, (times, i)) in worst {
        found.extend(told(look, readings, &spot, (times, i)));
    }
}

fn told(
    look: &Look<'_>,
    readings: &Readings,
    spot: &str,
    (times, i): (f64, usize),
) -> Option<Finding> {
    let reading = &look.site.readings[i];
    let taken: Taken = readings.taken[i];
    let (model, unit) = (taken.model?, reading.unit());
    let over = taken.found - model;
    let [read, model, over] = [taken.found, model, over].map(|value| fixed(value, 3));
    let message = format!(
        "{spot} was read as {read} {unit} and should have {model} {unit}: {over} {unit}, {} times what the meter may be off",
        fixed(times, 1)
    );
    let thing = match reading.at {
        Spot::Between(..) => None,
        at => at.things().next(),
    };
    let mut finding = OFF.finding(Severity::Warn, spot, message);
    finding.thing = thing;
    let finding = finding
        .measured((taken.found - taken.model?).abs(), BEYOND * taken.u, unit)
        .put_in(format!(
            "|{read} - {model}| = {} {unit} > 2 x {} {unit}",
            over.trim_start_matches('-'),
            fixed(taken.u, 4)
        ));
    Some(in_moment(look, readings, taken.moment, finding))
}
