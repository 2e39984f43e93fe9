//! Where the resistors sit that hold an idle bus.

use super::Judged;
use crate::checks::{Check, Finding};
use crate::diagnostic::Severity;
use crate::units::Measure;

pub(crate) const BIAS: Check = Check {
    code: "bus-bias",
    question: "Are the bias resistors on the bus, and at one place of it?",
    formula: "one pair of bias resistors; n pairs load the drivers with 1 / (1 / Req + n / (2 Rb))",
    source: "Ohm's law; one place: common practice, no source",
};

impl Judged<'_> {
    /// The devices on the bus that have a pair of bias resistors.
    pub(super) fn bias_on_it(&self) -> impl Iterator<Item = usize> {
        let all = self.bus.bias_at.iter().copied();
        all.filter(|d| self.devices.contains(d))
    }

    pub(super) fn bias(&self) -> Option<Finding> {
        let places = &self.bus.bias_at;
        let name = |d: &usize| self.site.devices[*d].name.as_str();
        if let Some(stray) = places.iter().find(|d| !self.devices.contains(d)) {
            let message = format!(
                "{} has its bias resistors and is not on it: they hold nothing; put them at a device that every run of it leads to",
                name(stray)
            );
            return Some(self.found(&BIAS, Severity::Fail, &message));
        }
        if places.len() < 2 {
            return None;
        }
        let names: Vec<&str> = places.iter().map(name).collect();
        let pairs = u32::try_from(places.len()).map_or(f64::INFINITY, f64::from);
        let message = format!(
            "bias resistors at {} places, {}: each pair loads the drivers, and which one is missing shows at none of them; leave one",
            places.len(),
            names.join(", ")
        );
        let finding = self.found(&BIAS, Severity::Warn, &message);
        let Some(bias) = self.bus.bias.map(Measure::base) else {
            return Some(finding.put_in(format!("{pairs} > 1")));
        };
        let req = self.load_ohm(self.bus.terminators.as_ref().map_or(2, Vec::len));
        let load = 1.0 / (1.0 / req + pairs / (2.0 * bias));
        Some(finding.measured(pairs, 1.0, "pairs").put_in(format!(
            "{pairs} > 1; 1 / (1 / {req:.1} + {pairs} / {:.0}) = {load:.1} ohm",
            2.0 * bias
        )))
    }
}
