//! What a lock gets while nobody asks for anything: through a contact that is closed at rest, and
//! through an output that never quite opens.

use super::release::coil_ohm;
use super::{Contact, is_coil};
use crate::checks::{Check, Finding, Look, exceeds};
use crate::diagnostic::Severity;
use crate::site::{ContactMaterial, Thing, Throw, WithoutPower};
use crate::units::Measure;

pub(crate) const OPEN: Check = Check {
    code: "open-at-rest",
    question: "does a lock that power opens get it while its relay is at rest?",
    formula: "without_power = locked, and the contact on its way is open at rest",
    source: "common practice, no source; the network as drawn",
};
pub(crate) const LEAKAGE: Check = Check {
    code: "output-leakage",
    question: "does a coil let go in spite of what leaks through a solid-state output?",
    formula: "leakage x ohms of the coil <= release_current x ohms of the coil; leakage taken for 1 mA",
    source: "Ohm's law; 1 mA: common practice, no source; the output's data sheet wins",
};

/// What leaks through a solid-state output that is off.
const LEAK_A: f64 = 0.001;

pub(super) fn check(look: &Look<'_>, contacts: &[Contact], found: &mut Vec<Finding>) {
    for (i, device) in look.devices() {
        let mut own = contacts.iter().filter(|c| c.loads.contains(&i));
        if device.without_power == Some(WithoutPower::Locked) {
            let closed = own.clone().find(|c| c.throw == Throw::Closed);
            found.extend(closed.map(|contact| open(look, i, contact)));
        }
        let solid = |c: &&Contact| c.relay(look).material == Some(ContactMaterial::SolidState);
        if is_coil(device) {
            found.extend(
                own.find(solid)
                    .and_then(|contact| leakage(look, i, contact)),
            );
        }
    }
}

fn open(look: &Look<'_>, i: usize, contact: &Contact) -> Finding {
    let name = &look.site.devices[i].name;
    let part = look.site.part_text(contact.part());
    let message = format!(
        "{name} opens with power, and {part} gives it power as long as the relay is at rest: it stands open until the hub does something, and again when the hub dies; use the contact that is open at rest"
    );
    OPEN.finding(Severity::Warn, name, message)
        .about(Thing::Device(i))
        .put_in(format!("without_power = locked, through {part}"))
}

fn leakage(look: &Look<'_>, i: usize, contact: &Contact) -> Option<Finding> {
    let device = &look.site.devices[i];
    let release = device.coil.release_current?.base();
    if !exceeds(LEAK_A / release, 1.0) {
        return None;
    }
    let part = look.site.part_text(contact.part());
    let ohms = (look.results.rows.iter()).find_map(|row| coil_ohm(look, row, i));
    let numbers = ohms.map_or_else(
        || format!("{LEAK_A} A > {release} A"),
        |ohm| {
            format!(
                "{LEAK_A} A x {ohm:.1} ohm = {:.3} V > {release} A x {ohm:.1} ohm = {:.3} V",
                LEAK_A * ohm,
                release * ohm
            )
        },
    );
    let message = format!(
        "{part} is solid state and may leak {:.0} mA while it is off; {} lets go only under {:.2} mA: it may hold or buzz; put a resistor across it that takes the leakage, or use a relay",
        1e3 * LEAK_A,
        device.name,
        1e3 * release
    );
    Some(
        LEAKAGE
            .finding(Severity::Warn, &device.name, message)
            .about(Thing::Device(i))
            .measured(LEAK_A, release, "A")
            .put_in(numbers),
    )
}
