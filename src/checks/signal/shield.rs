//! Shields of data cables.

use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::{ShieldBond, Thing};

pub(crate) const SHIELD: Check = Check {
    code: "shield-bond",
    question: "Is the shield joined to zero volts at one end, and at one only?",
    formula: "bonded ends of the shield = 1",
    source: "common practice, no source",
};

pub(super) fn check(look: &Look<'_>, asks: &mut Asks, found: &mut Vec<Finding>) {
    for (i, run) in look.runs() {
        let c = run.carries;
        let data = c.wiegand || c.rs485 || c.data || c.supervised;
        let shielded = run.cable(look.site).is_some_and(|cable| cable.shielded);
        if !data || !shielded || !look.is_fitted(i) {
            continue;
        }
        let (ends, what) = match run.shield {
            Some(ShieldBond::From | ShieldBond::To) => continue,
            None => {
                asks.add(
                    &run.name,
                    Some(Thing::Run(i)),
                    "shield (look where its drain wire is connected: from, to, both or none)",
                );
                continue;
            }
            Some(ShieldBond::Both) => (
                2,
                "at both ends: it joins two zero volts and carries their current; open it at the far end",
            ),
            Some(ShieldBond::None) => (
                0,
                "nowhere: it shields nothing; join it to zero volts at the panel's end",
            ),
        };
        let message = format!("the shield of {} is bonded {what}", run.name);
        found.push(
            SHIELD
                .finding(Severity::Warn, &run.name, message)
                .about(Thing::Run(i))
                .put_in(format!("{ends} bonded, 1 wanted")),
        );
    }
}
