//! Controls of a moving gate, and the way for people on foot.

use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look, exceeds};
use crate::diagnostic::Severity;
use crate::site::{Device, DoorFor};
use crate::units::Measure;

pub(crate) const NEAR: Check = Check {
    code: "control-near",
    question: "can somebody at the control be reached by the moving gate?",
    formula: "way from what moves to the nearest control >= 6 ft",
    source: "UL 325, controls at least 6 ft from moving parts and not reached over, under or through the gate (secondary copy seen)",
};
pub(crate) const ROUTE: Check = Check {
    code: "people-route",
    question: "have people on foot a way of their own?",
    formula: "beside a gate for vehicles there is a door for people",
    source: "UL 325 and ASTM F2200, separate opening for people on foot (secondary copies seen)",
};

/// Metres in a foot.
const FOOT: f64 = 0.3048;
const REACH_FT: f64 = 6.0;

pub(super) fn check(look: &Look<'_>, asks: &mut Asks, found: &mut Vec<Finding>) {
    let doors = &look.site.doors;
    for door in doors {
        let vehicles = door.used_by == Some(DoorFor::Vehicles);
        let Some(distance) = door.control_distance else {
            if vehicles {
                let words =
                    "control_distance (from what moves to the nearest reader, keypad or button)";
                asks.add(&door.name, None, words);
            }
            continue;
        };
        let feet = distance.base() / FOOT;
        if exceeds(REACH_FT, feet) {
            let message = format!(
                "a control stands {feet:.1} ft from what moves at {}, within reach of it: {REACH_FT} ft are the least, and not over, under or through the gate",
                door.name
            );
            found.push(
                NEAR.finding(Severity::Warn, &door.name, message)
                    .measured(feet, REACH_FT, "ft")
                    .put_in(format!("{feet:.2} ft < {REACH_FT} ft"))
                    .lower_is_worse(),
            );
        }
    }
    found.extend(route(look));
    for door in doors.iter().filter(|d| d.used_by.is_none()) {
        let any = doors.iter().any(|d| d.used_by == Some(DoorFor::Vehicles));
        if any {
            asks.add(&door.name, None, "for (people or vehicles)");
        }
    }
}

/// One finding a site, on its first gate for vehicles.
fn route(look: &Look<'_>) -> Option<Finding> {
    let doors = &look.site.doors;
    let gate = doors
        .iter()
        .find(|d| d.used_by == Some(DoorFor::Vehicles))?;
    // A person who looked knows better than the list of doors.
    let answered = |d: &Device| d.answers.get("walkway").is_some();
    if look.site.devices.iter().any(answered) {
        return None;
    }
    // A door of which nobody said whom it is for is asked for that.
    if doors.iter().any(|d| d.used_by != Some(DoorFor::Vehicles)) {
        return None;
    }
    let message = format!(
        "the site has {} for vehicles and no door for people, who will then walk through the gate: give them an opening of their own, out of its reach",
        gate.name
    );
    Some(ROUTE.finding(Severity::Warn, &gate.name, message))
}
