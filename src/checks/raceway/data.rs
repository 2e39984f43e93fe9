//! Data that lies in one raceway with what disturbs it.

use crate::checks::raceway::Filled;
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::{Clamp, ClampAt, End, Run};

pub(crate) const BESIDE: Check = Check {
    code: "data-beside-motor",
    question: "does data lie in one raceway with a motor's leads or an unclamped coil's?",
    formula: "unshielded data and leads of motors, or of coils without a clamp at the coil, lie apart",
    source: "common practice, no source",
};

pub(super) fn check(look: &Look<'_>, filled: &Filled<'_>, found: &mut Vec<Finding>) {
    let runs = || {
        let fitted = filled.runs.iter().filter(|i| look.is_fitted(**i));
        fitted.map(|i| &look.site.runs[*i])
    };
    let data = runs().filter(|run| listens(look, run));
    let data: Vec<&str> = data.map(|run| run.name.as_str()).collect();
    let Some((noisy, why)) = runs().find_map(|run| Some((run, disturbs(look, run)?))) else {
        return;
    };
    if data.is_empty() {
        return;
    }
    let message = format!(
        "{} holds {} beside {}, {why}; give the data a raceway of its own, or a shield that is bonded at one end",
        filled.raceway.name,
        data.join(", "),
        noisy.name
    );
    found.push(BESIDE.finding(Severity::Warn, &filled.raceway.name, message));
}

/// Whether a run carries data without a shield.
fn listens(look: &Look<'_>, run: &Run) -> bool {
    let c = run.carries;
    let shielded = run.cable(look.site).is_some_and(|cable| cable.shielded);
    (c.wiegand || c.rs485 || c.data || c.supervised) && !shielded
}

/// Why a run disturbs data beside it.
fn disturbs(look: &Look<'_>, run: &Run) -> Option<&'static str> {
    if !run.carries.power {
        return None;
    }
    let End::Device(i) = run.to else { return None };
    let device = &look.site.devices[i];
    if device.kind.as_deref() == Some("operator") {
        return Some("which feeds a motor");
    }
    let open = device.coil.clamp == Some(Clamp::None);
    let far = device.coil.clamp_at == Some(ClampAt::Contact);
    (open || far).then_some("whose coil nothing clamps at its own terminals")
}
