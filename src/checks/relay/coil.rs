//! Coils: what suppresses them, what that puts on the contact, and how long they are energised.

use super::{Contact, is_ac, is_coil};
use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look, exceeds, greatest};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Clamp, ClampAt, Device, Thing, Throw};
use crate::units::Measure;

pub(crate) const CLAMP: Check = Check {
    code: "clamp-missing",
    question: "is the coil suppressed where a contact switches it?",
    formula: "a clamp takes up L x I^2 / 2; without one the contact burns it",
    source: "common practice, no source; contact-protection notes of two input and output cards (secondary copies seen)",
};
pub(crate) const CLAMP_VOLTS: Check = Check {
    code: "clamp-volts",
    question: "does the opened contact bear the supply's volts and the clamp's on top?",
    formula: "volts over the contact = most volts of the supply + clamp volts <= rated volts of the contact, dc",
    source: "Kirchhoff's voltage law; the relay's data sheet",
};
pub(crate) const DIODE_ON_AC: Check = Check {
    code: "diode-on-ac",
    question: "is there a diode across a coil on ac?",
    formula: "a diode across ac conducts every other half cycle",
    source: "the law of the diode: it is a short circuit in its forward half cycle",
};
pub(crate) const DUTY: Check = Check {
    code: "coil-duty",
    question: "is the coil made to be energised this long?",
    formula: "time at one go <= on_time; share of the day = cycles x time / 86400 s <= duty",
    source: "the coil's data sheet",
};

/// Volts across a silicon diode that conducts.
pub(super) const DIODE_V: f64 = 0.7;
const DAY_S: f64 = 86_400.0;

pub(super) fn check(
    look: &Look<'_>,
    contacts: &[Contact],
    asks: &mut Asks,
    found: &mut Vec<Finding>,
) {
    for (i, device) in look.devices() {
        if !is_coil(device) || device.draws_nothing() {
            continue;
        }
        let own: Vec<&Contact> = contacts.iter().filter(|c| c.loads.contains(&i)).collect();
        let one = Coil { look, i, device };
        if is_ac(look, i) {
            found.extend(one.diode_on_ac());
        } else if !own.is_empty() {
            found.extend(one.clamp(asks));
        }
        for contact in &own {
            found.extend(one.clamp_volts(contact, asks));
        }
        found.extend(one.duty(&own, asks));
    }
}

/// Volts across the clamp of a coil while it works; `None` where it has none, or does not say.
pub(super) fn clamp_voltage(device: &Device) -> Option<f64> {
    let stated = device.coil.clamp_voltage.map(Measure::base);
    match device.coil.clamp? {
        Clamp::Diode => stated.or(Some(DIODE_V)),
        Clamp::DiodeAndZener | Clamp::Varistor | Clamp::TwoWay => stated,
        Clamp::None | Clamp::Rc | Clamp::Unknown => None,
    }
}

struct Coil<'a> {
    look: &'a Look<'a>,
    i: usize,
    device: &'a Device,
}

impl Coil<'_> {
    fn finding(&self, check: &Check, severity: Severity, message: String) -> Finding {
        check
            .finding(severity, &self.device.name, message)
            .about(Thing::Device(self.i))
    }

    fn diode_on_ac(&self) -> Option<Finding> {
        let diode = matches!(
            self.device.coil.clamp,
            Some(Clamp::Diode | Clamp::DiodeAndZener)
        );
        diode.then(|| {
            let message = format!(
                "{} is on ac with a diode across its coil, which shorts every other half cycle: take it off, a varistor works both ways",
                self.device.name
            );
            self.finding(&DIODE_ON_AC, Severity::Stop, message)
        })
    }

    fn clamp(&self, asks: &mut Asks) -> Option<Finding> {
        let name = &self.device.name;
        let at_contact = self.device.coil.clamp_at == Some(ClampAt::Contact);
        let message = match self.device.coil.clamp {
            Some(Clamp::None) => format!(
                "{name} has no clamp: its coil burns the contact that switches it; fit one at the coil, a diode with its cathode to plus, or a varistor"
            ),
            Some(Clamp::Diode) if at_contact => format!(
                "the diode of {name} sits across the contact and never conducts there: it belongs across the coil, cathode to plus"
            ),
            Some(Clamp::Unknown) | None => {
                asks.add(
                    name,
                    Some(Thing::Device(self.i)),
                    "clamp (what suppresses its coil: look at its terminals, or at its data sheet)",
                );
                return None;
            }
            Some(_) => return None,
        };
        let energy = self.energy();
        Some(
            self.finding(&CLAMP, Severity::Fail, message)
                .put_in(energy.unwrap_or_default()),
        )
    }

    /// What the coil gives back each time, with its greatest amps.
    fn energy(&self) -> Option<String> {
        let henry = self.device.coil.inductance?.base();
        let amps = |row: &Row| Some(self.look.results.device(row, self.i)?.amps.base());
        let (amps, _) = greatest(self.look.amp_rows(), amps)?;
        Some(format!(
            "{henry} H x ({amps:.3} A)^2 / 2 = {:.3} J",
            henry * amps * amps / 2.0
        ))
    }

    fn clamp_volts(&self, contact: &Contact, asks: &mut Asks) -> Option<Finding> {
        let (volts, is_ac) = contact.volts(self.look)?;
        if is_ac {
            return None;
        }
        let states = matches!(
            self.device.coil.clamp,
            Some(Clamp::DiodeAndZener | Clamp::Varistor | Clamp::TwoWay)
        );
        let Some(clamp) = clamp_voltage(self.device) else {
            if states {
                asks.add(
                    &self.device.name,
                    Some(Thing::Device(self.i)),
                    "clamp_voltage (the volts of its zener or varistor while it works)",
                );
            }
            return None;
        };
        let rated = contact.relay(self.look).voltage?.base();
        let at_contact = self.device.coil.clamp_at == Some(ClampAt::Contact);
        let over = if at_contact {
            clamp.max(volts)
        } else {
            volts + clamp
        };
        let subject = self.look.site.part_text(contact.part());
        exceeds(over, rated).then(|| {
            let message = format!(
                "{subject} opens against {volts:.1} V and {clamp} V of the clamp of {}, {over:.1} V in all, and is rated for {rated} V dc",
                self.device.name
            );
            CLAMP_VOLTS
                .finding(Severity::Fail, &subject, message)
                .about(Thing::Device(contact.device))
                .measured(over, rated, "V")
                .put_in(if at_contact {
                    format!("{over:.3} V > {rated} V")
                } else {
                    format!("{volts:.3} V + {clamp} V = {over:.3} V > {rated} V")
                })
        })
    }

    /// Seconds that a contact keeps it energised at one go; without end where none ends it.
    fn energised(&self, own: &[&Contact]) -> Option<f64> {
        let pulses = own.iter().map(|c| match c.throw {
            Throw::Closed => Some(f64::INFINITY),
            Throw::Bare | Throw::Open => c.relay(self.look).pulse.map(Measure::base),
        });
        // Of several contacts in a row the shortest pulse ends it.
        pulses
            .reduce(|a, b| match (a, b) {
                (Some(a), Some(b)) => Some(a.min(b)),
                _ => None,
            })
            .unwrap_or(Some(f64::INFINITY))
    }

    fn duty(&self, own: &[&Contact], asks: &mut Asks) -> Option<Finding> {
        let (name, coil) = (&self.device.name, &self.device.coil);
        let thing = Some(Thing::Device(self.i));
        let rated = (
            coil.on_time.map(Measure::base),
            coil.duty.map(Measure::base),
        );
        if rated.1.is_some_and(|share| share >= 1.0) && rated.0.is_none() {
            return None;
        }
        if rated == (None, None) {
            let held = self.device.kind.as_deref() == Some("electric strike");
            if held {
                asks.add(
                    name,
                    thing,
                    "duty (\"100 %\" if its coil is made to be energised always), or on_time",
                );
            }
            return None;
        }
        let Some(seconds) = self.energised(own) else {
            let subject = own.iter().find(|c| c.relay(self.look).pulse.is_none())?;
            let part = self.look.site.part_text(subject.part());
            let device = Some(Thing::Device(subject.device));
            asks.add(&part, device, "pulse (how long the relay stays pulled)");
            return None;
        };
        let always = if seconds.is_finite() {
            format!("{seconds} s")
        } else {
            "without end".to_owned()
        };
        if let Some(most) = rated.0
            && exceeds(seconds, most)
        {
            let message = format!(
                "the coil of {name} is energised {always} at one go, and is made for {most} s"
            );
            let finding = self
                .finding(&DUTY, Severity::Fail, message)
                .put_in(format!("{always} > {most} s"));
            return Some(if seconds.is_finite() {
                finding.measured(seconds, most, "s")
            } else {
                finding
            });
        }
        let most = rated.1?;
        let share = if seconds.is_finite() {
            let Some(cycles) = coil.cycles else {
                asks.add(name, thing, "cycles (how often it is switched in a day)");
                return None;
            };
            cycles * seconds / DAY_S
        } else {
            1.0
        };
        exceeds(share, most).then(|| {
            let (share, most) = (100.0 * share, 100.0 * most);
            let message = format!(
                "the coil of {name} is energised {share:.1} % of the time, and is made for {most} %"
            );
            self.finding(&DUTY, Severity::Fail, message)
                .measured(share, most, "%")
                .put_in(format!("{share:.2} % > {most} %"))
        })
    }
}
