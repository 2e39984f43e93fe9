//! Relays and what they switch: contacts, coils with their suppression, and inputs.

mod coil;
mod contact;
mod input;
mod release;
mod rest;

use std::collections::HashSet;

pub(crate) use coil::{CLAMP, CLAMP_VOLTS, DIODE_ON_AC, DUTY};
pub(crate) use contact::{LIFE, LOAD, VOLTS, WETTING};
pub(crate) use input::{BOOT, OPENS, PULSE, SAFETY_INPUT, WETTED};
pub(crate) use release::RELEASE;
pub(crate) use rest::{LEAKAGE, OPEN as OPEN_AT_REST};

use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look};
use crate::circuit::{BranchId, Corner};
use crate::results::Row;
use crate::site::{CoilKind, Device, Part, Relay, SupplyKind, Throw};
use crate::units::Measure;

pub(crate) const UNKNOWN: Check = Check {
    code: "relay-unknown",
    question: "what is missing to judge what this relay switches?",
    formula: "what is not stated decides",
    source: "the data sheets of relay, lock and input; unknown never passes",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let mut asks = Asks::of(UNKNOWN);
    let contacts = contacts(look);
    for contact in &contacts {
        contact::check(look, contact, &mut asks, found);
    }
    coil::check(look, &contacts, &mut asks, found);
    release::check(look, &contacts, &mut asks, found);
    rest::check(look, &contacts, found);
    input::check(look, &mut asks, found);
    found.extend(asks.into_findings());
}

/// A contact in the positive leg of some power run.
pub(crate) struct Contact {
    pub(crate) device: usize,
    pub(crate) relay: usize,
    pub(crate) throw: Throw,
    /// Its branch in the network.
    pub(crate) branch: BranchId,
    /// A power run that passes it.
    pub(crate) run: usize,
    /// The devices that lose their supply when it opens.
    pub(crate) loads: Vec<usize>,
}

impl Contact {
    pub(crate) fn part(&self) -> Part {
        Part::Contact(self.device, self.relay, self.throw)
    }

    pub(crate) fn relay<'s>(&self, look: &Look<'s>) -> &'s Relay {
        &look.site.devices[self.device].relays[self.relay]
    }

    /// Amps through it.
    pub(crate) fn amps(&self, look: &Look<'_>, row: &Row) -> Option<f64> {
        Some(look.results.branch(row, self.branch)?.base().abs())
    }

    /// Most volts of the supply that stands behind it, and whether they alternate.
    pub(crate) fn volts(&self, look: &Look<'_>) -> Option<(f64, bool)> {
        let run = &look.site.runs[self.run];
        let supply = &look.site.supplies[look.results.ways.start_of(run.to)?];
        let volts = Corner::High.volts(supply).base();
        Some((volts, supply.kind == SupplyKind::Ac))
    }
}

/// Every contact that a power run passes, once, with what it switches: the devices that live with
/// the contact closed and do not with it open.
fn contacts(look: &Look<'_>) -> Vec<Contact> {
    let mut seen = HashSet::new();
    let mut found = Vec::new();
    for (run, own) in look.runs() {
        if !own.carries.power || !look.is_fitted(run) {
            continue;
        }
        for part in &own.through {
            let Part::Contact(device, relay, throw) = *part else {
                continue;
            };
            let Some(branch) = look.results.template.part(*part) else {
                continue;
            };
            if seen.insert(*part) {
                found.push(Contact {
                    device,
                    relay,
                    throw,
                    branch,
                    run,
                    loads: switched(look, device, relay),
                });
            }
        }
    }
    found
}

fn switched(look: &Look<'_>, device: usize, relay: usize) -> Vec<usize> {
    let live = |pulled: bool| {
        let mut case = look.whole_case();
        case.relays.push((device, relay, pulled));
        look.results.template.live(look.site, &case).devices
    };
    let (rest, pulled) = (live(false), live(true));
    (0..look.site.devices.len())
        .filter(|i| rest[*i] != pulled[*i] && !look.site.devices[*i].draws_nothing())
        .collect()
}

/// Kinds of device that are coils.
const COILS: [&str; 2] = ["electromagnetic lock", "electric strike"];

/// Whether a device is a coil.
pub(crate) fn is_coil(device: &Device) -> bool {
    let by_kind = (device.kind.as_deref()).is_some_and(|kind| COILS.contains(&kind));
    by_kind || device.coil.kind.is_some() || device.coil.inductance.is_some()
}

/// Whether a coil is on alternating current: as it says, else as its supply.
pub(crate) fn is_ac(look: &Look<'_>, device: usize) -> bool {
    match look.site.devices[device].coil.kind {
        Some(kind) => kind == CoilKind::Ac,
        None => on_ac(look, device),
    }
}

/// Whether the supply of a device alternates.
pub(crate) fn on_ac(look: &Look<'_>, device: usize) -> bool {
    let supply = look.results.ways.supply_of(device);
    supply.is_some_and(|i| look.site.supplies[i].kind == SupplyKind::Ac)
}
