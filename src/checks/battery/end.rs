//! What devices have in the last minutes of a battery.

use crate::battery::Discharge;
use crate::checks::{Check, Finding, Look};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::site::Thing;
use crate::units::Measure;

pub(crate) const END: Check = Check {
    code: "battery-end-volts",
    question: "does this device still have its volts when the battery is about to be switched off?",
    formula: "volts at the device >= lowest (silent: cutoff), with the battery's terminals held at disconnect (else at its last loaded volts)",
    source: "Kirchhoff's laws on the whole network; lowest or cutoff from the device's own data",
};
pub(crate) const POINT: Check = Check {
    code: "battery-end-point",
    question: "can the network still be served when the battery is about to be switched off?",
    formula: "an operating point in every case, with the battery's terminals held at disconnect (else at its last loaded volts)",
    source: "maximum power transfer, solved on the whole network",
};

pub(super) fn check(look: &Look<'_>, discharges: &[Discharge], found: &mut Vec<Finding>) {
    for (i, _) in look.devices() {
        found.extend(volts(look, discharges, i));
    }
    found.extend(discharges.iter().filter_map(|d| point(look, d)));
}

/// Volts at which a battery's terminals are held at its end.
fn held(look: &Look<'_>, discharge: &Discharge) -> Option<f64> {
    let battery = look.site.supplies[discharge.supply].battery.as_ref()?;
    let held = battery.disconnect.or(discharge.end_volts);
    held.map(Measure::base)
}

fn volts(look: &Look<'_>, discharges: &[Discharge], i: usize) -> Option<Finding> {
    let device = &look.site.devices[i];
    let (lowest, word) = match (device.lowest, device.wake.cutoff) {
        (Some(lowest), _) => (lowest.base(), "lowest"),
        (None, cutoff) => (cutoff?.base(), "cutoff"),
    };
    let ends = discharges
        .iter()
        .filter_map(|d| Some((d.devices[i].volts?.base(), d)));
    let (volts, discharge) = ends.min_by(|a, b| a.0.total_cmp(&b.0))?;
    if volts >= lowest - 1e-9 {
        return None;
    }
    let battery = &look.site.supplies[discharge.supply].name;
    let held = held(look, discharge)?;
    let message = format!(
        "{} gets {volts:.2} V when the battery of {battery} is down to {held:.2} V, {:.2} V under its {word} {lowest} V: it gives up before the battery is switched off",
        device.name,
        lowest - volts
    );
    let mut finding = END
        .finding(Severity::Fail, &device.name, message)
        .about(Thing::Device(i));
    finding.case = discharge.devices[i].case;
    finding.corner = Some(Corner::Low);
    Some(
        finding
            .measured(volts, lowest, "V")
            .put_in(format!(
                "{battery} {held:.3} V - {:.3} V on the way = {volts:.3} V < {lowest:.3} V",
                held - volts
            ))
            .lower_is_worse(),
    )
}

fn point(look: &Look<'_>, discharge: &Discharge) -> Option<Finding> {
    let least = discharge.unserved.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    let (case, served) = *least?;
    let battery = &look.site.supplies[discharge.supply].name;
    let held = held(look, discharge)?;
    let message = format!(
        "with the battery of {battery} down to {held:.2} V the network has no operating point; {:.1} % of the draws could be served",
        served * 100.0
    );
    let mut finding = POINT
        .finding(Severity::Fail, battery, message)
        .about(Thing::Supply(discharge.supply));
    finding.case = Some(case);
    finding.corner = Some(Corner::Low);
    Some(
        finding
            .measured(served, 1.0, "x")
            .put_in(format!("served {served:.3} < 1"))
            .lower_is_worse(),
    )
}
