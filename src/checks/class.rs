//! Limits of power-limited circuits, where a class is stated.

use crate::checks::{Check, Finding, Look, greatest};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Supply, SupplyKind, Thing};
use crate::tables::{self, CurrentKind, PowerClass};
use crate::units::Measure;

pub(crate) const CLASS: Check = Check {
    code: "class-limit",
    question: "does the circuit stay within the class that its supply is listed as?",
    formula: "up to 20 V: amps <= 5 A and VA <= 5 x V; above: VA <= 100",
    source: "NEC {class 2 limits}, nameplate limits (from memory, in part secondary copy seen)",
};
pub(crate) const WET: Check = Check {
    code: "wet-contact",
    question: "are the volts low enough where people touch it with wet skin?",
    formula: "volts <= limit of Class 2 where wet contact is likely",
    source: "NEC Chapter 9 Table 11, notes 2 and 4 (2005 text, secondary copy seen)",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, supply) in look.supplies() {
        found.extend(class(look, i, supply));
        found.extend(wet(look, i, supply));
    }
}

fn kind(supply: &Supply) -> CurrentKind {
    match supply.kind {
        SupplyKind::Dc => CurrentKind::Dc,
        SupplyKind::Ac => CurrentKind::Ac,
    }
}

fn class(look: &Look<'_>, i: usize, supply: &Supply) -> Option<Finding> {
    let class = supply.class?;
    let power_class = if class == 2 {
        PowerClass::Class2
    } else {
        PowerClass::Class3
    };
    // The nameplate's volts decide the column.
    let volts = supply.voltage.base();
    let Some(limit) = tables::class_limit(power_class, kind(supply), supply.voltage) else {
        let message = format!(
            "{} is said to be class {class}, which has no limit at {volts} V",
            supply.name
        );
        let finding = CLASS
            .finding(Severity::Fail, &supply.name, message)
            .about(Thing::Supply(i));
        return Some(finding.put_in(format!("{volts} V is outside the table")));
    };
    let amps = limit.amps.base().min(limit.va.base() / volts);
    let steady = look.amp_rows().filter(|r| r.corner != Corner::Nominal);
    let (given, row) = greatest(steady, |row: &Row| {
        look.results.supply(row, i).map(|w| w.amps.base())
    })?;
    if given <= amps + 1e-9 {
        return None;
    }
    let message = format!(
        "{} gives {given:.3} A, class {class} allows {amps:.3} A at {volts} V",
        supply.name
    );
    let finding = CLASS
        .finding(Severity::Fail, &supply.name, message)
        .about(Thing::Supply(i))
        .at(row)
        .by(format!("{}; {}", CLASS.source, limit.source));
    Some(finding.measured(given, amps, "A").put_in(format!(
        "{given:.3} A > {amps:.3} A = {:.0} VA / {volts} V",
        limit.va.base()
    )))
}

fn wet(look: &Look<'_>, i: usize, supply: &Supply) -> Option<Finding> {
    // Ac of no stated class is judged too: over the limit it takes other wiring methods.
    let unstated = supply.class.is_none() && supply.kind == SupplyKind::Ac;
    if supply.class != Some(2) && !unstated {
        return None;
    }
    let (limit, source) = tables::wet_contact_limit(kind(supply));
    let most = Corner::High.volts(supply);
    if most <= limit {
        return None;
    }
    let reached = |place: &str| {
        look.site
            .places
            .iter()
            .any(|p| p.name == place && p.wet_contact == Some(true))
    };
    let own = |d: usize| look.results.ways.supply_of(d) == Some(i);
    let mut devices = look.site.devices.iter().enumerate();
    let device =
        devices.find(|(d, device)| own(*d) && device.place.as_deref().is_some_and(reached));
    // Its own terminals are touched as well.
    let itself = supply.place.as_deref().is_some_and(reached);
    let name = device.map_or(&supply.name, |(_, device)| &device.name);
    if device.is_none() && !itself {
        return None;
    }
    let message = format!(
        "{name} is at a place of wet contact with up to {:.1} V; Class 2 wiring stops at {:.0} V there",
        most.base(),
        limit.base()
    );
    let finding = WET
        .finding(Severity::Warn, &supply.name, message)
        .about(Thing::Supply(i))
        .by(source);
    Some(
        finding
            .measured(most.base(), limit.base(), "V")
            .put_in(format!("{:.3} V > {:.0} V", most.base(), limit.base())),
    )
}
