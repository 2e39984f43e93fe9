//! Insulation as it was read: whether the cable is dry, and whether its loop stands what it leaks.

use crate::checks::readings::in_moment;
use crate::checks::signal::leak_that_crosses;
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::readings::{DRY_OHM, Readings, WET_OHM, wetness};
use crate::site::{Found, Spot, Thing};
use crate::units::{ElectricalResistance, Measure, show, volts};

pub(crate) const INSULATION: Check = Check {
    code: "found-insulation",
    question: "is the cable as dry as it should be, and does its loop stand what it leaks?",
    formula: "insulation >= 1 Mohm, warned of under 100 kohm; on a supervised loop insulation > the leakage at which a state leaves its window",
    source: "1 Mohm and 100 kohm: common practice, no source; Ohm's law for the loop",
};

/// One finding a place: its least insulation.
pub(super) fn check(look: &Look<'_>, readings: &Readings, found: &mut Vec<Finding>) {
    let mut least: Vec<(Spot, f64, usize)> = Vec::new();
    for (i, reading) in look.site.readings.iter().enumerate() {
        if !matches!(reading.found, Found::Insulation(_)) {
            continue;
        }
        let value = readings.taken[i].found;
        match least.iter_mut().find(|(at, ..)| *at == reading.at) {
            Some(held) if held.1 <= value => {}
            Some(held) => *held = (reading.at, value, i),
            None => least.push((reading.at, value, i)),
        }
    }
    found.extend(least.into_iter().filter_map(|(at, ohm, i)| {
        let finding = told(look, at, ElectricalResistance::from_base(ohm))?;
        Some(in_moment(look, readings, readings.taken[i].moment, finding))
    }));
}

fn told(look: &Look<'_>, at: Spot, ohms: ElectricalResistance) -> Option<Finding> {
    let (Spot::Run(run) | Spot::Conductor(run, _)) = at else {
        return None;
    };
    let spot = look.site.spot_text(at);
    let shown = |ohms| show(ohms, look.site.units);
    let [dry, wet] = [DRY_OHM, WET_OHM].map(ElectricalResistance::from_base);
    let crossing = leak_that_crosses(look, run);
    let crossed = crossing.is_some_and(|crossing| ohms <= crossing.leak);
    let severity = match wetness(ohms) {
        _ if crossed => Severity::Warn,
        Some(severity) => severity,
        None => Severity::Note,
    };
    let mut message = match severity {
        Severity::Note => format!("the insulation of {spot} is {}: dry", shown(ohms)),
        _ => format!(
            "the insulation of {spot} is {}, where dry cable has {} and more: dry and remake its splices, and read again after rain; a Murray or Varley loop over a good conductor tells how far off it leaks",
            shown(ohms),
            shown(dry)
        ),
    };
    if let Some(crossing) = crossing {
        let state = crossing.state.as_str();
        let (leak, low) = (shown(crossing.leak), volts(crossing.volts, 2));
        message += &if crossed {
            format!(
                "; its loop stands no less than {leak}: {state} falls under its {low} and reads as another state"
            )
        } else {
            format!("; its loop stands {leak} before {state} falls under its {low}")
        };
    }
    let (limit, sign) = match (severity, crossing) {
        (_, Some(crossing)) if crossed => (crossing.leak, "<="),
        (Severity::Warn, _) => (wet, "<"),
        (Severity::Ask, _) => (dry, "<"),
        _ => (dry, ">="),
    };
    let finding = INSULATION
        .finding(severity, &spot, message)
        .about(Thing::Run(run))
        .measured(ohms.base(), limit.base(), "ohm")
        .put_in(format!("{} {sign} {}", shown(ohms), shown(limit)))
        .lower_is_worse();
    Some(finding)
}
