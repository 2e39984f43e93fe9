//! How long a battery lasts, and the volts at which it is switched off and on again.

use super::One;
use crate::checks::{Check, Finding};
use crate::diagnostic::Severity;
use crate::site::{Battery, Thing};
use crate::tables::battery as typical;
use crate::units::Measure;

pub(crate) const HOURS: Check = Check {
    code: "battery-hours",
    question: "does the battery bridge the hours that it must?",
    formula: "hours >= wanted; the network solved at every 1 % of C, dq/dt = (1/H) (I H / C)^k over C/H, else I / C",
    source: "Peukert's law; aged to 80 % by IEEE 485 where silent; cold capacity typical of sealed lead-acid where silent (from memory)",
};
pub(crate) const DEEP: Check = Check {
    code: "battery-deep",
    question: "is the battery switched off before the discharge ruins it?",
    formula: "disconnect >= 1.75 V x cells of lead-acid",
    source: "1.75 V a cell: practice with IEEE 485 (from memory)",
};
pub(crate) const RECONNECT: Check = Check {
    code: "battery-chatter",
    question: "does it stay off once it was switched off?",
    formula: "reconnect > volts at rest where it was switched off: disconnect + amps x ohms of the battery",
    source: "Ohm's law; common practice, no source",
};
pub(crate) const UNKNOWN: Check = Check {
    code: "battery-unknown",
    question: "what must the battery do, and between which volts?",
    formula: "hours, disconnect and charge are what its checks hold numbers against",
    source: "the battery's and the charger's own data; unknown never passes",
};

/// Spare capacity of the sizing method of IEEE 485, from memory: 10 to 15 %.
const MARGIN: f64 = 1.1;

pub(super) fn check(one: &One<'_>, found: &mut Vec<Finding>) {
    let about = Thing::Supply(one.discharge.supply);
    let mut findings = Vec::new();
    findings.extend(hours(one));
    findings.extend(deep(one));
    findings.extend(reconnect(one));
    findings.extend(unknown(one));
    found.extend(findings.into_iter().map(|finding| finding.about(about)));
}

fn hours(one: &One<'_>) -> Option<Finding> {
    let wanted = one.battery.hours?.base() / 3600.0;
    let lasts = one.discharge.lasts?.base() / 3600.0;
    // The hours are worked out to about a millionth.
    if lasts >= wanted * (1.0 - 1e-6) {
        return None;
    }
    let name = &one.supply.name;
    let end = one
        .discharge
        .ends_by
        .map_or("", crate::battery::EndsBy::as_str);
    let message = format!(
        "the battery of {name} lasts {lasts:.2} h of the {wanted} h wanted; it ends by {end}"
    );
    let finding = HOURS.finding(Severity::Fail, name, message);
    Some(
        finding
            .measured(lasts, wanted, "h")
            .put_in(numbers(one))
            .lower_is_worse(),
    )
}

/// The numbers of a discharge, and the size that a hand calculation would ask for.
fn numbers(one: &One<'_>) -> String {
    let Battery {
        capacity,
        cold_capacity,
        aged,
        peukert,
        ..
    } = one.battery;
    let d = one.discharge;
    let mut text = format!(
        "C = {:.2} Ah x {:.0} % cold x {:.0} % aged = {:.2} Ah, k {peukert:.2}",
        capacity.base() / 3600.0,
        cold_capacity.base() * 100.0,
        aged.base() * 100.0,
        d.capacity.base() / 3600.0,
    );
    if let (Some(first), Some(last), Some(volts)) = (d.first, d.last, d.end_volts) {
        text += &format!(
            "; {:.3} A at first, {:.3} A at the end at {:.2} V",
            first.base(),
            last.base(),
            volts.base()
        );
    }
    if let Some(size) = size_by_hand(one) {
        text += &format!("; {size}");
    }
    text
}

/// Capacity that IEEE 485 asks for: ampere-hours x cold x 1.25 x 1.10.
fn size_by_hand(one: &One<'_>) -> Option<String> {
    let factor = typical::cell_size_factor(one.battery.coldest)?.base();
    let (amps, hours) = (
        one.discharge.first?.base(),
        one.battery.hours?.base() / 3600.0,
    );
    let ageing = 1.0 / typical::aged().base();
    let size = amps * hours * factor * ageing * MARGIN;
    Some(format!(
        "by the method of IEEE 485 {amps:.3} A x {hours} h x {factor:.2} cold x {ageing:.2} aged x {MARGIN:.2} = {size:.1} Ah at the rate of those hours"
    ))
}

fn deep(one: &One<'_>) -> Option<Finding> {
    let disconnect = one.battery.disconnect?.base();
    if one.battery.chemistry != crate::site::Chemistry::LeadAcid {
        return None;
    }
    let least = typical::cell().end.base() * f64::from(one.battery.cells);
    if disconnect >= least - 1e-9 {
        return None;
    }
    let name = &one.supply.name;
    let message = format!(
        "the battery of {name} is switched off at {disconnect} V, under {least:.2} V: so deep a discharge ruins it"
    );
    let finding = DEEP.finding(Severity::Warn, name, message);
    Some(
        finding
            .measured(disconnect, least, "V")
            .put_in(format!(
                "{disconnect:.3} V < 1.75 V x {} = {least:.3} V",
                one.battery.cells
            ))
            .lower_is_worse(),
    )
}

fn reconnect(one: &One<'_>) -> Option<Finding> {
    let (off, on) = (
        one.battery.disconnect?.base(),
        one.battery.reconnect?.base(),
    );
    let amps = one.discharge.last?.base();
    let ohm = one.battery.resistance.base();
    let rest = off + amps * ohm;
    if on > rest + 1e-9 {
        return None;
    }
    let name = &one.supply.name;
    let message = format!(
        "the battery of {name} is switched on again at {on} V, but at rest it comes back to {rest:.2} V by itself: it chatters"
    );
    let finding = RECONNECT.finding(Severity::Warn, name, message);
    Some(
        finding
            .measured(on, rest, "V")
            .put_in(format!(
                "{on:.3} V <= {off:.3} V + {amps:.3} A x {ohm:.3} ohm = {rest:.3} V"
            ))
            .lower_is_worse(),
    )
}

fn unknown(one: &One<'_>) -> Option<Finding> {
    let b = one.battery;
    // Under a panel the days without sun stand for the hours.
    let missing = [
        (b.hours.is_none() && one.supply.solar.is_none(), "hours"),
        (b.disconnect.is_none(), "disconnect"),
        (b.charge.is_none(), "charge"),
    ];
    let missing: Vec<&str> = missing
        .into_iter()
        .filter_map(|(silent, key)| silent.then_some(key))
        .collect();
    if missing.is_empty() {
        return None;
    }
    let name = &one.supply.name;
    let message = format!(
        "the battery of {name} has no {}: nothing judges that; read it off the data sheets",
        missing.join(", no ")
    );
    Some(UNKNOWN.finding(Severity::Ask, name, message))
}
