//! Volts at devices, held against their windows.

use crate::checks::{Check, Finding, Look, greatest, work};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{End, Thing};
use crate::units::Measure;

pub(crate) const LOW: Check = Check {
    code: "low-volts",
    question: "does this device still have its voltage at the far end in the worst case?",
    formula: "volts at the device >= lowest",
    source: "Kirchhoff's laws on the whole network; lowest from the device's own data",
};
pub(crate) const HIGH: Check = Check {
    code: "high-volts",
    question: "does this device get too much voltage when little is drawn?",
    formula: "volts at the device <= highest",
    source: "Kirchhoff's laws on the whole network; highest from the device's own data",
};
pub(crate) const NEAR: Check = Check {
    code: "near-low",
    question: "is there a reserve above the lowest volts?",
    formula: "volts at the device >= lowest x (1 + reserve)",
    source: "common practice, no source",
};
pub(crate) const WINDOW: Check = Check {
    code: "no-window",
    question: "between which volts does this device work?",
    formula: "lowest <= volts at the device <= highest",
    source: "the device's own data; unknown never passes",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, _) in look.devices() {
        let lowest = look.site.devices[i].lowest.map(Measure::base);
        let highest = look.site.devices[i].highest.map(Measure::base);
        found.extend(low(look, i, lowest));
        found.extend(high(look, i, highest));
        found.extend(window(look, i));
    }
}

/// Volts of a device where a supply reaches it.
fn reached(look: &Look<'_>, row: &Row, i: usize) -> Option<f64> {
    look.results.live[row.case].devices[i]
        .then(|| look.results.device(row, i))
        .flatten()
        .map(|w| w.volts.base())
}

fn low(look: &Look<'_>, i: usize, lowest: Option<f64>) -> Option<Finding> {
    let lowest = lowest?;
    let rows = look.results.rows.iter();
    let (least, row) = greatest(rows.filter(|r| !look.is_off(r, i)), |r| {
        reached(look, r, i).map(|v| -v)
    })?;
    let volts = -least;
    let device = &look.site.devices[i];
    let reserve = look.site.design.reserve.value;
    let wanted = lowest * (1.0 + reserve);
    let (check, severity, message) = if volts < lowest - 1e-9 {
        let message = format!(
            "{} gets {volts:.2} V, {:.2} V under its lowest {lowest} V",
            device.name,
            lowest - volts
        );
        (LOW, Severity::Fail, message)
    } else if volts < wanted - 1e-9 {
        let message = format!(
            "{} gets {volts:.2} V, {:.2} V over its lowest {lowest} V: within the reserve of {:.0} %",
            device.name,
            volts - lowest,
            reserve * 100.0
        );
        (NEAR, Severity::Warn, message)
    } else {
        return None;
    };
    let limit = if check.code == LOW.code {
        lowest
    } else {
        wanted
    };
    let along = work::volts_at(look.site, look.results, row, End::Device(i)).unwrap_or_default();
    let finding = check
        .finding(severity, &device.name, message)
        .about(Thing::Device(i))
        .at(row);
    Some(
        finding
            .measured(volts, limit, "V")
            .put_in(along)
            .lower_is_worse(),
    )
}

fn high(look: &Look<'_>, i: usize, highest: Option<f64>) -> Option<Finding> {
    let highest = highest?;
    let (volts, row) = greatest(look.results.rows.iter(), |r| reached(look, r, i))?;
    if volts <= highest + 1e-9 {
        return None;
    }
    let device = &look.site.devices[i];
    let message = format!(
        "{} gets {volts:.2} V, {:.2} V over its highest {highest} V",
        device.name,
        volts - highest
    );
    let along = work::volts_at(look.site, look.results, row, End::Device(i)).unwrap_or_default();
    let finding = HIGH
        .finding(Severity::Fail, &device.name, message)
        .about(Thing::Device(i))
        .at(row);
    Some(finding.measured(volts, highest, "V").put_in(along))
}

fn window(look: &Look<'_>, i: usize) -> Option<Finding> {
    let device = &look.site.devices[i];
    if look.is_passive(i) {
        return None;
    }
    let missing = match (device.lowest, device.highest) {
        (Some(_), Some(_)) => return None,
        (None, Some(_)) => "lowest",
        (Some(_), None) => "highest",
        (None, None) => "lowest and no highest",
    };
    let message = format!(
        "{} has no {missing}: nothing judges its volts there; read the window off its label or data sheet",
        device.name
    );
    Some(
        WINDOW
            .finding(Severity::Ask, &device.name, message)
            .about(Thing::Device(i)),
    )
}
