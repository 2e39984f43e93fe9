//! Panels: does the sun of the worst month carry the site, and how long may it stay dark?

use super::One;
use crate::battery::{Days, Harvest};
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::{Solar, Thing};
use crate::units::Measure;

pub(crate) const ENERGY: Check = Check {
    code: "solar-energy",
    question: "does the panel bring in a day what the devices take in a day?",
    formula: "panel x sun x efficiency >= 1.25 x energy of the draws in 24 h",
    source: "sun-hour method of IEEE 1013 and IEEE 1562, array-to-load ratio 1.1 to 1.4 (from memory)",
};
pub(crate) const DARK: Check = Check {
    code: "dark-days",
    question: "how many days without sun does the battery bridge?",
    formula: "days = Ah x cold x aged x usable x volts halfway between full and empty / energy of a day",
    source: "days of autonomy by the method of IEEE 1013: 5 to 7 where nothing grave hangs on it (from memory)",
};
pub(crate) const RECOVER: Check = Check {
    code: "solar-recharge",
    question: "how soon is the battery full again after the dark?",
    formula: "days = energy held / (energy brought - energy taken) <= 10",
    source: "common practice, no source",
};
pub(crate) const SUNLESS: Check = Check {
    code: "solar-unknown",
    question: "what does the sun bring, and where does it go?",
    formula: "panel, sun and battery are what the energy of a day is worked out from",
    source: "the site's own data; unknown never passes",
};

/// Days within which a battery should be full again.
const RECOVERY_DAYS: f64 = 10.0;

pub(super) fn check(one: &One<'_>, found: &mut Vec<Finding>) {
    let Some(solar) = &one.supply.solar else {
        return;
    };
    let days = Days::of(one.discharge, one.battery, solar);
    let harvest = Harvest::of(&days, solar);
    let findings = [
        energy(one, solar, &days, harvest),
        dark(one, solar, &days),
        recover(one, &days, harvest),
        unknown(one, solar, harvest),
    ];
    let about = Thing::Supply(one.discharge.supply);
    found.extend(findings.into_iter().flatten().map(|f| f.about(about)));
}

/// A panel at a supply without a battery.
pub(super) fn without_battery(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, supply) in look.supplies() {
        if supply.solar.is_some() && supply.battery.is_none() {
            let message = format!(
                "{} has a panel and no battery: nothing says what it gives at night",
                supply.name
            );
            let finding = SUNLESS.finding(Severity::Ask, &supply.name, message);
            found.push(finding.about(Thing::Supply(i)));
        }
    }
}

fn energy(one: &One<'_>, solar: &Solar, days: &Days, harvest: Option<Harvest>) -> Option<Finding> {
    let harvest = harvest?;
    let brought = harvest.brought_wh?;
    if brought >= harvest.wanted_wh - 1e-9 {
        return None;
    }
    let name = &one.supply.name;
    let short = days.taken_wh - brought;
    let mut message = format!(
        "{name}: the panel brings {brought:.1} Wh a day in the worst month, the draws take {:.1} Wh",
        days.taken_wh
    );
    message += &if short > 0.0 {
        let lasts = days.held_wh / short;
        format!(", {short:.1} Wh too little: from full it is empty after about {lasts:.0} days")
    } else {
        ", which leaves too little for wires, charging and bad weather".to_owned()
    };
    message += &format!("; a panel of {:.0} W would do", harvest.panel_w);
    let finding = ENERGY.finding(Severity::Fail, name, message);
    Some(
        finding
            .measured(brought, harvest.wanted_wh, "Wh")
            .put_in(format!(
                "{:.0} W x {:.2} h x {:.0} % = {brought:.1} Wh < 1.25 x {:.1} Wh = {:.1} Wh; {:.1} Wh / ({:.2} h x {:.0} %) = {:.1} W",
                solar.panel?.base(),
                solar.sun?.base(),
                solar.efficiency.base() * 100.0,
                days.taken_wh,
                harvest.wanted_wh,
                harvest.wanted_wh,
                solar.sun?.base(),
                solar.efficiency.base() * 100.0,
                harvest.panel_w,
            ))
            .lower_is_worse(),
    )
}

fn dark(one: &One<'_>, solar: &Solar, days: &Days) -> Option<Finding> {
    let dark = days.dark()?;
    if dark >= solar.dark_days - 1e-9 {
        return None;
    }
    let (name, b) = (&one.supply.name, one.battery);
    let message = format!(
        "the battery of {name} bridges {dark:.1} days without sun of the {} wanted",
        solar.dark_days
    );
    let finding = DARK.finding(Severity::Fail, name, message);
    Some(
        finding
            .measured(dark, solar.dark_days, "d")
            .put_in(format!(
                "{:.1} Ah x {:.0} % x {:.0} % x {:.0} % x {:.2} V = {:.1} Wh; / {:.1} Wh = {dark:.2} < {}",
                b.capacity.base() / 3600.0,
                b.cold_capacity.base() * 100.0,
                b.aged.base() * 100.0,
                b.usable.base() * 100.0,
                b.mean_volts().base(),
                days.held_wh,
                days.taken_wh,
                solar.dark_days
            ))
            .lower_is_worse(),
    )
}

fn recover(one: &One<'_>, days: &Days, harvest: Option<Harvest>) -> Option<Finding> {
    let left = harvest?.brought_wh? - days.taken_wh;
    let takes = days.held_wh / left;
    if left > 0.0 && takes <= RECOVERY_DAYS {
        return None;
    }
    let name = &one.supply.name;
    if left <= 0.0 {
        let message = format!(
            "the battery of {name} never comes full in the worst month: nothing is left for it"
        );
        return Some(RECOVER.finding(Severity::Note, name, message));
    }
    let message = format!("the battery of {name} needs {takes:.0} days to come full again");
    let finding = RECOVER.finding(Severity::Note, name, message);
    Some(finding.measured(takes, RECOVERY_DAYS, "d").put_in(format!(
        "{:.1} Wh / {left:.1} Wh = {takes:.1} > {RECOVERY_DAYS}",
        days.held_wh
    )))
}

fn unknown(one: &One<'_>, solar: &Solar, harvest: Option<Harvest>) -> Option<Finding> {
    let name = &one.supply.name;
    let message = match (solar.sun, harvest) {
        (None, _) => format!(
            "{name} has no sun: hours of full sun in the worst month, for instance \"1.8 h/day\", decide what its panel brings; look them up for the place and the tilt"
        ),
        (Some(_), Some(harvest)) if solar.panel.is_none() => format!(
            "{name} has no panel: nothing says what it brings; {:.0} W would do",
            harvest.panel_w
        ),
        _ => return None,
    };
    Some(SUNLESS.finding(Severity::Ask, name, message))
}
