//! The contact itself: what it may switch, at which volts, whether it stays clean, how long it
//! lasts.

use super::{Contact, is_ac, is_coil};
use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look, exceeds, greatest};
use crate::circuit::is_inrush;
use crate::diagnostic::Severity;
use crate::site::{Clamp, ClampAt, ContactMaterial, Device, Thing};
use crate::units::Measure;

pub(crate) const LOAD: Check = Check {
    code: "contact-load",
    question: "may this contact switch this kind of load?",
    formula: "rated amps >= amps / share: 1 for resistance, 0.5 for a coil with a clamp, 0.3 for one without, 0.1 for a lamp or an empty capacitor",
    source: "common practice, no source; the relay's own data sheet wins",
};
pub(crate) const VOLTS: Check = Check {
    code: "contact-volts",
    question: "is the contact rated for these volts, of this kind of current?",
    formula: "most volts of the supply <= rated volts of the contact, dc and ac apart",
    source: "the relay's data sheet",
};
pub(crate) const WETTING: Check = Check {
    code: "contact-wetting",
    question: "does enough flow through the contact to keep it clean?",
    formula: "amps >= 10 mA and volts >= 5 V for silver",
    source: "common practice, no source (from memory)",
};
pub(crate) const LIFE: Check = Check {
    code: "contact-life",
    question: "how long do the contacts last?",
    formula: "years = operations at the rating x wear / (cycles a day x 365); wear 1, and 0.1 for a coil without a clamp",
    source: "common practice, no source",
};

/// Years that contacts should last.
const YEARS: f64 = 3.0;
/// Wear of a coil without a clamp.
const BARE_WEAR: f64 = 0.1;
/// Least that keeps silver clean.
const CLEAN_AMPS: f64 = 0.01;
const CLEAN_VOLTS: f64 = 5.0;

/// What a contact feels of a load.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Resistance,
    Clamped,
    Bare,
    /// A coil of which nobody said whether it has a clamp.
    Coil,
    Capacitor,
    /// Electronics that do not say what they draw at first.
    Electronics,
}

impl Kind {
    /// Share of its rating that the contact may switch, at best and at worst.
    const fn shares(self) -> (f64, f64) {
        match self {
            Self::Resistance => (1.0, 1.0),
            Self::Clamped => (0.5, 0.5),
            Self::Bare => (0.3, 0.3),
            Self::Coil => (0.5, 0.3),
            Self::Capacitor => (0.1, 0.1),
            Self::Electronics => (1.0, 0.1),
        }
    }

    const fn as_str(self) -> &'static str {
        match self {
            Self::Resistance => "resistance",
            Self::Clamped => "coil with a clamp",
            Self::Bare => "coil without a clamp",
            Self::Coil => "coil",
            Self::Capacitor => "lamp or capacitor",
            Self::Electronics => "electronic device",
        }
    }
}

pub(super) fn check(look: &Look<'_>, contact: &Contact, asks: &mut Asks, found: &mut Vec<Finding>) {
    found.extend(load(look, contact, asks));
    found.extend(volts(look, contact, asks));
    found.extend(wetting(look, contact, asks));
    found.extend(life(look, contact, asks));
}

fn kind_of(look: &Look<'_>, i: usize) -> Kind {
    let device: &Device = &look.site.devices[i];
    if is_coil(device) {
        // On ac a coil is switched off near zero current as often as not; a diode is no clamp there.
        return match device.coil.clamp {
            Some(Clamp::None) => Kind::Bare,
            Some(Clamp::Diode | Clamp::DiodeAndZener) if is_ac(look, i) => Kind::Bare,
            Some(Clamp::Diode) if device.coil.clamp_at == Some(ClampAt::Contact) => Kind::Bare,
            Some(Clamp::Unknown) | None => Kind::Coil,
            Some(_) => Kind::Clamped,
        };
    }
    let states_inrush = device.state_draws().any(|(state, _)| state == "inrush");
    match device.kind.as_deref() {
        Some("heater") => Kind::Resistance,
        _ if states_inrush => Kind::Resistance,
        Some("light") => Kind::Capacitor,
        _ if device.dc.reservoir.is_some() => Kind::Capacitor,
        _ => Kind::Electronics,
    }
}

/// The load that is hardest on the contact.
fn hardest(look: &Look<'_>, contact: &Contact) -> Option<(Kind, usize)> {
    let kinds = contact.loads.iter().map(|i| (kind_of(look, *i), *i));
    kinds.min_by(|a, b| a.0.shares().1.total_cmp(&b.0.shares().1))
}

fn load(look: &Look<'_>, contact: &Contact, asks: &mut Asks) -> Option<Finding> {
    let rated = contact.relay(look).current?.base();
    let (kind, load) = hardest(look, contact)?;
    let (best, worst) = kind.shares();
    // An inrush that is stated is counted; the shares are for what is drawn steadily.
    let counted =
        |case: usize| kind == Kind::Resistance || !is_inrush(look.site, &look.results.cases[case]);
    let rows = look.amp_rows().filter(|row| counted(row.case));
    let (amps, row) = greatest(rows, |row| contact.amps(look, row))?;
    let (subject, name) = (
        look.site.part_text(contact.part()),
        &look.site.devices[load].name,
    );
    if !exceeds(amps / best, rated) {
        if exceeds(amps / worst, rated) {
            let words = match kind {
                Kind::Coil => {
                    "clamp (what suppresses its coil: look at its terminals, or at its data sheet)"
                }
                _ => {
                    "draw.inrush or reservoir (what it takes when it is switched on: its data sheet)"
                }
            };
            asks.add(name, Some(Thing::Device(load)), words);
        }
        return None;
    }
    let needed = amps / best;
    let message = format!(
        "{subject} switches {amps:.3} A of {name}, a {}: that takes a contact rated {needed:.2} A, and it has {rated} A",
        kind.as_str()
    );
    Some(
        LOAD.finding(Severity::Fail, &subject, message)
            .about(Thing::Device(contact.device))
            .at(row)
            .measured(needed, rated, "A")
            .put_in(format!("{amps:.3} A / {best} = {needed:.3} A > {rated} A")),
    )
}

fn volts(look: &Look<'_>, contact: &Contact, asks: &mut Asks) -> Option<Finding> {
    let (volts, is_ac) = contact.volts(look)?;
    let relay = contact.relay(look);
    let (rated, kind, key) = if is_ac {
        (relay.ac_voltage, "ac", "ac_voltage")
    } else {
        (relay.voltage, "dc", "voltage")
    };
    let subject = look.site.part_text(contact.part());
    let thing = Thing::Device(contact.device);
    let Some(rated) = rated.map(Measure::base) else {
        let words = format!("{key} (the volts that its contact is rated for, {kind})");
        asks.add(&subject, Some(thing), &words);
        return None;
    };
    exceeds(volts, rated).then(|| {
        let message = format!(
            "{subject} opens {volts:.1} V {kind}, and is rated for {rated} V {kind}: put a relay of its own between"
        );
        VOLTS
            .finding(Severity::Fail, &subject, message)
            .about(thing)
            .measured(volts, rated, "V")
            .put_in(format!("{volts:.3} V > {rated} V"))
    })
}

fn wetting(look: &Look<'_>, contact: &Contact, asks: &mut Asks) -> Option<Finding> {
    let material = contact.relay(look).material;
    let film = matches!(material, None | Some(ContactMaterial::Silver));
    if !film || contact.loads.is_empty() {
        return None;
    }
    let (volts, _) = contact.volts(look)?;
    let (amps, row) = greatest(look.amp_rows(), |row| contact.amps(look, row))?;
    let subject = look.site.part_text(contact.part());
    let thing = Thing::Device(contact.device);
    let finding = too_little(&subject, amps, volts)?;
    if material.is_none() {
        let words = format!(
            "material (silver does not stay clean at {:.1} mA and {volts:.1} V)",
            1e3 * amps
        );
        asks.add(&subject, Some(thing), &words);
        return None;
    }
    Some(finding.about(thing).at(row))
}

/// What too little amps or volts do to silver.
pub(super) fn too_little(subject: &str, amps: f64, volts: f64) -> Option<Finding> {
    if !exceeds(CLEAN_AMPS, amps) && !exceeds(CLEAN_VOLTS, volts) {
        return None;
    }
    let message = format!(
        "{subject} has silver contacts for {:.1} mA at {volts:.1} V: that does not burn the film away, and one day it will not close; gold or a solid-state output does",
        1e3 * amps
    );
    Some(
        WETTING
            .finding(Severity::Warn, subject, message)
            .measured(amps, CLEAN_AMPS, "A")
            .put_in(format!(
                "{amps:.3} A and {volts:.3} V against 0.01 A and 5 V"
            ))
            .lower_is_worse(),
    )
}

fn life(look: &Look<'_>, contact: &Contact, asks: &mut Asks) -> Option<Finding> {
    let relay = contact.relay(look);
    if relay.material == Some(ContactMaterial::SolidState) {
        return None;
    }
    let devices = &look.site.devices;
    let busiest = contact.loads.iter().filter_map(|i| devices[*i].coil.cycles);
    let cycles = busiest.reduce(f64::max).filter(|c| *c > 0.0);
    let subject = look.site.part_text(contact.part());
    let thing = Thing::Device(contact.device);
    let (Some(life), Some(cycles)) = (relay.life, cycles) else {
        if let (None, Some(_)) = (relay.life, cycles) {
            asks.add(
                &subject,
                Some(thing),
                "life (operations at its rating: the relay's data sheet)",
            );
        } else if let (Some(_), Some(load)) = (relay.life, contact.loads.first()) {
            let name = &devices[*load].name;
            asks.add(
                name,
                Some(Thing::Device(*load)),
                "cycles (how often it is switched in a day)",
            );
        }
        return None;
    };
    let kind = hardest(look, contact).map(|k| k.0);
    let wear = match kind {
        Some(Kind::Bare) => BARE_WEAR,
        _ => 1.0,
    };
    let days = life * wear / cycles;
    let years = days / 365.0;
    let severity = if exceeds(YEARS, years) {
        Severity::Warn
    } else {
        Severity::Note
    };
    let message = format!(
        "the contacts of {subject} last about {days:.0} days, {years:.1} years, at {cycles} cycles a day"
    );
    Some(
        LIFE.finding(severity, &subject, message)
            .about(thing)
            .measured(days, YEARS * 365.0, "days")
            .put_in(format!(
                "{life} x {wear} / ({cycles} x 365) = {years:.2} years"
            ))
            .lower_is_worse(),
    )
}
