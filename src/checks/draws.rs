//! Draws whose spelling does not fit the device.

use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::Thing;
use crate::units::{Draw, Measure};

pub(crate) const COIL: Check = Check {
    code: "coil-draw",
    question: "is a coil or heater given as a plain current or power?",
    formula: "a coil or heater is a resistance: volts squared / watts, or volts / amps",
    source: "Ohm's law; common practice, no source",
};
/// Kinds of device that are coils or heaters.
pub(crate) const COILS: [&str; 3] = ["electromagnetic lock", "electric strike", "heater"];

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, device) in look.devices() {
        let is_coil = device
            .kind
            .as_deref()
            .is_some_and(|kind| COILS.contains(&kind));
        let plain = device.state_draws().find(|(_, d)| {
            matches!(d, Draw::Current(a) if a.base() > 0.0)
                || matches!(d, Draw::Power(w) if w.base() > 0.0)
        });
        if let Some((state, draw)) = plain.filter(|_| is_coil) {
            let text = match draw {
                Draw::Current(amps) => format!("{} A", amps.base()),
                Draw::Power(watts) => format!("{} W", watts.base()),
                _ => continue,
            };
            let message = format!(
                "{} draws a plain {text} in the state '{state}'; a coil or heater draws less as its volts fall: write it as on the label, \"{text} at ... V\"",
                device.name
            );
            found.push(
                COIL.finding(Severity::Warn, &device.name, message)
                    .about(Thing::Device(i)),
            );
        }
    }
}
