//! Devices that have too few volts: by their own reading, or with the ohms that were found.

use std::collections::BTreeMap;

use crate::checks::readings::in_moment;
use crate::checks::{Check, Finding, Look};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::readings::{Low, PathOhms, Readings, Taken};
use crate::site::{End, Found, Spot, Thing};
use crate::units::{Measure, fixed, ohms, volts};

pub(crate) const LOW: Check = Check {
    code: "found-low",
    question: "does this device have its volts, as read there, or as solved with the ohms that were found?",
    formula: "volts at the device, as read, or solved with the ohms found, >= lowest",
    source: "Kirchhoff's laws on the whole network; lowest from the device's own data",
};

pub(super) fn check(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    let read = read(look, readings);
    solved(look, readings, found);
    // What was read there says more than what follows from elsewhere.
    found.retain(|f| f.code != LOW.code || read.iter().all(|own| own.subject != f.subject));
    found.extend(read);
}

/// Devices at which fewer volts were read than they need, while they should live.
fn read(look: &Look<'_>, readings: &Readings) -> Vec<Finding> {
    let mut least: BTreeMap<usize, (f64, Taken)> = BTreeMap::new();
    for (reading, taken) in look.site.readings.iter().zip(&readings.taken) {
        let (Found::Volts(volts), Spot::Across(End::Device(i))) = (reading.found, reading.at)
        else {
            continue;
        };
        let lowest = look.site.devices[i]
            .lowest
            .map_or(f64::NEG_INFINITY, Measure::base);
        if volts.base() < lowest && taken.model.is_some_and(|model| model > 0.0) {
            let held = least.entry(i).or_insert((volts.base(), *taken));
            if volts.base() < held.0 {
                *held = (volts.base(), *taken);
            }
        }
    }
    let told = |(i, (value, taken)): (usize, (f64, Taken))| {
        let device = &look.site.devices[i];
        let lowest = device.lowest?;
        let (read, limit) = (fixed(value, 2), volts(lowest, 2));
        let message = format!(
            "{} was read with {read} V, under its lowest {limit}",
            device.name
        );
        let finding = LOW
            .finding(Severity::Fail, &device.name, message)
            .about(Thing::Device(i))
            .measured(value, lowest.base(), "V")
            .put_in(format!("{} V < {}", fixed(value, 3), volts(lowest, 3)))
            .lower_is_worse();
        Some(in_moment(look, readings, taken.moment, finding))
    };
    least.into_iter().filter_map(told).collect()
}

/// Devices that have enough as drawn, and too few with the ohms found.
fn solved(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    let mut devices: BTreeMap<usize, (Low, Vec<&PathOhms>)> = BTreeMap::new();
    for path in &readings.paths {
        for low in &path.lows {
            let entry = devices.entry(low.device);
            entry.or_insert_with(|| (*low, Vec::new())).1.push(path);
        }
    }
    for (device, (low, paths)) in devices {
        let name = &look.site.devices[device].name;
        let because = paths.iter().map(|path| {
            let (found, expected) = (path.found.value, path.expected.value);
            let run = path.name(look.site);
            format!(
                "{run} has {} instead of {}",
                ohms(found, 3),
                ohms(expected, 3)
            )
        });
        let because: Vec<String> = because.collect();
        let message = format!(
            "{name} gets {} with the ohms that were found, under its lowest {}, and enough as drawn: {}",
            volts(low.volts, 2),
            volts(low.lowest, 2),
            because.join(", ")
        );
        let mut finding = LOW
            .finding(Severity::Fail, name, message)
            .about(Thing::Device(device))
            .measured(low.volts.base(), low.lowest.base(), "V")
            .put_in(format!(
                "{} < {}; {}",
                volts(low.volts, 3),
                volts(low.lowest, 3),
                because.join(", ")
            ))
            .lower_is_worse();
        if let Some(row) = look.results.row(low.case, Corner::Low) {
            finding = finding.at(row);
        }
        found.push(finding);
    }
}
