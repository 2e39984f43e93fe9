//! Inputs that a relay closes: volt-free, long enough, never by accident, and never what protects
//! people.

use super::contact::too_little;
use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look, exceeds};
use crate::diagnostic::Severity;
use crate::site::{AtBoot, ContactMaterial, Does, End, Input, Part, Relay, Thing, Throw, WhichEnd};
use crate::units::Measure;

pub(crate) const WETTED: Check = Check {
    code: "wetted-input",
    question: "does an input that brings its own volts get a contact without any?",
    formula: "no power run passes the relay whose contact closes a dry input",
    source: "the input's data sheet; common practice, no source",
};
pub(crate) const PULSE: Check = Check {
    code: "pulse-length",
    question: "does the input see the pulse, and take it for one?",
    formula: "shortest <= pulse <= longest",
    source: "the input's data sheet",
};
pub(crate) const BOOT: Check = Check {
    code: "boot-state",
    question: "does the hub open anything by accident while it starts?",
    formula: "the contact is open with the relay as it stands at rest and at the start",
    source: "common practice, no source",
};
pub(crate) const SAFETY_INPUT: Check = Check {
    code: "safety-input",
    question: "does a relay work what protects people from the gate?",
    formula: "no relay of a hub closes an input that takes or puts off entrapment protection",
    source: "UL 325, entrapment protection is connected to and monitored by the gate operator (secondary copy seen)",
};

pub(crate) const OPENS: Check = Check {
    code: "more-than-open",
    question: "does a relay do anything to the gate but ask it to open?",
    formula: "inputs of a gate operator that relays close: open or stop",
    source: "UL 325, who closes or resets a gate sees all of it (secondary copy seen); common practice, no source",
};

/// A relay's contact on an input, by the run between them.
struct Closing<'a> {
    look: &'a Look<'a>,
    /// The thing with the input, and how findings call the input.
    thing: Thing,
    subject: String,
    input: &'a Input,
    relay: &'a Relay,
    device: usize,
    throw: Throw,
    part: String,
}

pub(super) fn check(look: &Look<'_>, asks: &mut Asks, found: &mut Vec<Finding>) {
    for (i, run) in look.runs() {
        if !run.carries.contact || run.carries.power || !look.is_fitted(i) {
            continue;
        }
        unnamed(look, i, asks);
        let contacts = run.through.iter().filter_map(|part| match *part {
            Part::Contact(d, r, throw) => Some((*part, d, r, throw)),
            Part::Fuse(_) => None,
        });
        for (part, device, relay, throw) in contacts {
            let Some((thing, input)) = closed_by(look, i, device, asks) else {
                continue;
            };
            let closing = Closing {
                look,
                thing,
                subject: format!("{}.{}", look.site.name_of(thing), input.name),
                input,
                relay: &look.site.devices[device].relays[relay],
                device,
                throw,
                part: look.site.part_text(part),
            };
            found.extend(closing.judge_does(asks));
            found.extend(closing.wetted(relay, asks));
            found.extend(closing.wetting(asks));
            found.extend(closing.pulse(asks));
            found.extend(closing.boot(asks));
        }
    }
}

/// Asks which relay closes an input of a gate operator, where the run does not pass one.
fn unnamed(look: &Look<'_>, run: usize, asks: &mut Asks) {
    let (site, own) = (look.site, &look.site.runs[run]);
    let has_relays = |end: End| matches!(end, End::Device(d) if !site.devices[d].relays.is_empty());
    let ends = [
        (own.from, own.to, WhichEnd::To),
        (own.to, own.from, WhichEnd::From),
    ];
    let closes = |(near, _, which): &(End, End, WhichEnd)| {
        has_relays(*near) && site.input_at(own, *which).is_some()
    };
    let passes = |part: &Part| matches!(part, Part::Contact(..));
    if let Some((near, far, _)) = ends.into_iter().find(closes)
        && !own.through.iter().any(passes)
    {
        let words = format!(
            "through (the contact of {} that closes the input of {})",
            site.end_text(near),
            site.end_text(far)
        );
        asks.add(&own.name, Some(Thing::Run(run)), &words);
    }
}

/// The input that a contact run closes: the one that it names, else the only one of its end.
fn closed_by<'a>(
    look: &Look<'a>,
    run: usize,
    relay_of: usize,
    asks: &mut Asks,
) -> Option<(Thing, &'a Input)> {
    let own = &look.site.runs[run];
    let ends = [(own.from, WhichEnd::From), (own.to, WhichEnd::To)];
    let (far, which) = ends
        .into_iter()
        .find(|(end, _)| *end != End::Device(relay_of))?;
    let thing = far.thing();
    if !matches!(thing, Thing::Device(_) | Thing::Supply(_)) {
        return None;
    }
    let found = look.site.input_at(own, which);
    if found.is_none() {
        let name = look.site.name_of(thing);
        let words = if look.site.inputs_of(thing).is_empty() {
            format!(
                "the input of {name} that it closes (write [{}.\"{name}\".input.NAME]: does, dry, voltage, current, shortest, longest)",
                thing.table()
            )
        } else {
            format!("which input of {name} it closes (write \"{name}.NAME\" at that end)")
        };
        asks.add(&own.name, Some(Thing::Run(run)), &words);
    }
    found.map(|input| (thing, input))
}

impl Closing<'_> {
    fn ask(&self, silent: bool, words: &str, asks: &mut Asks) {
        if silent {
            asks.add(&self.subject, Some(self.thing), words);
        }
    }

    fn judge_does(&self, asks: &mut Asks) -> Option<Finding> {
        self.ask(
            self.input.does.is_none(),
            "does (open, close, stop, step, hold open, safety, bypass, reset, release or other)",
            asks,
        );
        let what = match self.input.does? {
            Does::Safety => "takes what protects people",
            Does::Bypass => "puts what protects people out of work",
            _ => return self.more_than_open(),
        };
        let message = format!(
            "{} {what}, and {} closes it: take that run off; nothing but the gate operator's own devices goes there",
            self.subject, self.part
        );
        Some(
            SAFETY_INPUT
                .finding(Severity::Stop, &self.subject, message)
                .about(self.thing),
        )
    }

    /// What a relay may ask of a gate that nobody may see move.
    fn more_than_open(&self) -> Option<Finding> {
        let kind = match self.thing {
            Thing::Device(i) => self.look.site.devices[i].kind.as_deref(),
            _ => None,
        };
        if kind.is_some_and(|kind| kind != "operator") {
            return None;
        }
        let (severity, what) = match self.input.does? {
            Does::Close => (Severity::Stop, "closes the gate on whoever stands in it"),
            Does::Step => (
                Severity::Stop,
                "closes the gate when it stands open, on whoever stands in it",
            ),
            Does::Reset => (
                Severity::Stop,
                "sets the gate going again after it met somebody",
            ),
            Does::HoldOpen => (
                Severity::Warn,
                "holds the gate open as long as it is closed, and a relay that sticks for good",
            ),
            _ => return None,
        };
        let message = format!(
            "{} {what}, and {} works it with nobody there to see: let it close the open input alone, by a pulse",
            self.subject, self.part
        );
        Some(
            OPENS
                .finding(severity, &self.subject, message)
                .about(self.thing),
        )
    }

    /// The contacts of one relay share their common, so power at either of them reaches the input.
    fn wetted(&self, relay: usize, asks: &mut Asks) -> Option<Finding> {
        self.ask(
            self.input.dry.is_none(),
            "dry (true if it brings its own volts and bears no others)",
            asks,
        );
        if self.input.dry != Some(true) {
            return None;
        }
        let mine = |part: &Part| matches!(part, Part::Contact(d, r, _) if (*d, *r) == (self.device, relay));
        let runs = self.look.site.runs.iter().enumerate();
        let mut wet = runs.filter(|(i, run)| {
            run.carries.power && self.look.is_fitted(*i) && run.through.iter().any(mine)
        });
        let (_, run) = wet.next()?;
        let message = format!(
            "{} brings its own volts, and {} that closes it carries the power of {} as well: give the input a relay of its own",
            self.subject, self.part, run.name
        );
        Some(
            WETTED
                .finding(Severity::Stop, &self.subject, message)
                .about(self.thing)
                .put_in(format!("{} passes {}", run.name, self.part)),
        )
    }

    fn wetting(&self, asks: &mut Asks) -> Option<Finding> {
        let (Some(amps), Some(volts)) = (self.input.current, self.input.voltage) else {
            self.ask(
                self.input.current.is_none(),
                "current (what it drives through the closed contact: put the milliammeter across it)",
                asks,
            );
            self.ask(
                self.input.voltage.is_none(),
                "voltage (what it puts on the open contact: measure it)",
                asks,
            );
            return None;
        };
        let finding = too_little(&self.part, amps.base(), volts.base())?;
        match self.relay.material {
            Some(ContactMaterial::Silver) => Some(finding.about(Thing::Device(self.device))),
            Some(ContactMaterial::Gold | ContactMaterial::SolidState) => None,
            None => {
                let words = format!(
                    "material (silver does not stay clean at the {:.1} mA of {})",
                    1e3 * amps.base(),
                    self.subject
                );
                asks.add(&self.part, Some(Thing::Device(self.device)), &words);
                None
            }
        }
    }

    fn pulse(&self, asks: &mut Asks) -> Option<Finding> {
        self.ask(
            self.input.shortest.is_none(),
            "shortest (the shortest pulse that it sees)",
            asks,
        );
        let Some(pulse) = self.relay.pulse.map(Measure::base) else {
            asks.add(
                &self.part,
                Some(Thing::Device(self.device)),
                "pulse (how long the relay stays pulled)",
            );
            return None;
        };
        let shortest = self.input.shortest.map(Measure::base);
        let longest = self.input.longest.map(Measure::base);
        let (severity, limit, message) = match (shortest, longest) {
            (Some(least), _) if exceeds(least, pulse) => (
                Severity::Fail,
                least,
                format!(
                    "{} pulses {pulse} s, and {} sees nothing under {least} s",
                    self.part, self.subject
                ),
            ),
            (_, Some(most)) if exceeds(pulse, most) => (
                Severity::Warn,
                most,
                format!(
                    "{} pulses {pulse} s, and {} takes more than {most} s for a contact that is held",
                    self.part, self.subject
                ),
            ),
            _ => return None,
        };
        let sign = if severity == Severity::Fail { "<" } else { ">" };
        let finding = PULSE
            .finding(severity, &self.subject, message)
            .about(self.thing)
            .measured(pulse, limit, "s")
            .put_in(format!("{pulse} s {sign} {limit} s"));
        Some(if severity == Severity::Fail {
            finding.lower_is_worse()
        } else {
            finding
        })
    }

    fn boot(&self, asks: &mut Asks) -> Option<Finding> {
        let closed_at_rest = self.throw == Throw::Closed;
        let message = match self.relay.at_boot {
            _ if closed_at_rest => format!(
                "{} is closed at rest, so {} is held as long as the hub does nothing, and when it dies: use the contact that is open at rest",
                self.part, self.subject
            ),
            Some(AtBoot::Pulled) => format!(
                "{} is pulled while its hub starts, and closes {} each time: use another relay, or the delay that holds it back",
                self.part, self.subject
            ),
            Some(AtBoot::Unknown) | None => {
                asks.add(
                    &self.part,
                    Some(Thing::Device(self.device)),
                    "at_boot (whether the relay moves while the hub starts: switch it off and on, and watch)",
                );
                return None;
            }
            Some(AtBoot::Rest) => return None,
        };
        Some(
            BOOT.finding(Severity::Warn, &self.subject, message)
                .about(self.thing),
        )
    }
}
