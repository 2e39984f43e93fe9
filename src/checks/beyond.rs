//! Combinations of states that are worse than every case: what no case shows.
//!
//! The cases are the person's own, or the program's few; whether every other combination can
//! happen only the person knows. So such a combination warns, and names itself: it becomes a case,
//! or its states are listed as exclusive.

use std::collections::HashSet;

use crate::checks::{Check, Finding, Worse, amps, headroom, volts};
use crate::circuit::{cases, is_inrush, states};
use crate::diagnostic::Severity;
use crate::site::{Case, Part, Site, Thing};
use crate::states::{AllStates, Combination, Worst};
use crate::units::{Draw, ElectricCurrent, Measure};

pub(crate) const BEYOND: Check = Check {
    code: "beyond-cases",
    question: "is some combination of states worse than every case?",
    formula: "volts in the window, amps within the rating and an operating point, in every combination of draws and relays",
    source: "Kirchhoff's laws on the whole network, over all combinations by bounds and search",
};

/// What to do about it, for the end of a message.
const REMEDY: &str =
    "no case has this: if it can happen, make it a case; if not, list its states under exclusive";
/// The same where a case has those states under other circumstances.
const ELSEWHERE: &str =
    "the cases have these states only at a temperature of their own or with other wires";

/// Where a device leaves its window, a rating is exceeded or the network fails in some combination
/// although it does in no case.
pub fn check(site: &Site, all: &AllStates, known: &[&Finding]) -> Vec<Finding> {
    let beyond = Beyond { site, known };
    let mut found = Vec::from_iter(beyond.point(all));
    beyond.windows(all, &mut found);
    beyond.ratings(all, &mut found);
    // One finding a subject: the first is the gravest.
    let mut seen = HashSet::new();
    found.retain(|f| seen.insert(f.subject.clone()));
    found
}

struct Beyond<'a> {
    site: &'a Site,
    /// What the cases show.
    known: &'a [&'a Finding],
}

impl Beyond<'_> {
    fn is_known(&self, check: &Check, subject: &str) -> bool {
        self.known
            .iter()
            .any(|f| f.code == check.code && f.subject == subject)
    }

    fn finding<Q>(&self, subject: &str, thing: Thing, worst: &Worst<Q>, what: &str) -> Finding {
        let state = worst.state.words(self.site);
        let message = format!("{what} with {state}: {}", self.remedy(&worst.state));
        let mut finding = BEYOND
            .finding(Severity::Warn, subject, message)
            .about(thing);
        finding.corner = Some(worst.corner);
        finding
    }

    fn remedy(&self, state: &Combination) -> &'static str {
        let wanted = state.case(self.site);
        let drawn = |case: &Case| -> Vec<Draw> {
            let states = states(self.site, case);
            let devices = self.site.devices.iter().zip(states);
            devices
                .map(|(device, state)| device.draw_in(state))
                .collect()
        };
        let same = |case: &Case| {
            let relays = wanted.relays.iter().all(|r| case.relays.contains(r));
            relays && drawn(case) == drawn(&wanted)
        };
        if cases(self.site).iter().any(same) {
            ELSEWHERE
        } else {
            REMEDY
        }
    }

    fn windows(&self, all: &AllStates, found: &mut Vec<Finding>) {
        for (i, window) in all.devices.iter().enumerate() {
            let device = &self.site.devices[i];
            let name = device.name.as_str();
            if let (Some(least), Some(lowest)) = (&window.least, device.lowest.map(Measure::base))
                && least.value.base() < lowest - 1e-9
                && !self.is_known(&volts::LOW, name)
            {
                let v = least.value.base();
                let what = format!(
                    "{name} gets {v:.2} V, {:.2} V under its lowest {lowest} V,",
                    lowest - v
                );
                let finding = self.finding(name, Thing::Device(i), least, &what);
                let finding = finding.measured(v, lowest, "V").lower_is_worse();
                found.push(finding.put_in(format!("{v:.3} V < {lowest} V")));
                continue;
            }
            if let (Some(most), Some(highest)) = (&window.most, device.highest.map(Measure::base))
                && most.value.base() > highest + 1e-9
                && !self.is_known(&volts::HIGH, name)
            {
                let v = most.value.base();
                let what = format!(
                    "{name} gets {v:.2} V, {:.2} V over its highest {highest} V,",
                    v - highest
                );
                let finding = self.finding(name, Thing::Device(i), most, &what);
                found.push(
                    finding
                        .measured(v, highest, "V")
                        .put_in(format!("{v:.3} V > {highest} V")),
                );
            }
        }
    }

    fn ratings(&self, all: &AllStates, found: &mut Vec<Finding>) {
        let base = |rated: Option<ElectricCurrent>| rated.map(Measure::base);
        for (i, supply) in self.site.supplies.iter().enumerate() {
            let thing = Thing::Supply(i);
            let steady = base(supply.current);
            let rushing = base(supply.peak.or(supply.current));
            let known = self.is_known(&amps::OVER, &supply.name)
                || self.is_known(&amps::INRUSH, &supply.name);
            if known {
                continue;
            }
            let before = found.len();
            found.extend(self.rating(&supply.name, thing, all.steady[i].as_ref(), steady));
            if found.len() == before && self.rushes(all.supplies[i].as_ref().map(|w| &*w.state)) {
                found.extend(self.rating(&supply.name, thing, all.supplies[i].as_ref(), rushing));
            }
            for (output, worst) in supply.outputs.iter().zip(&all.outputs[i]) {
                let name = format!("{}.{}", supply.name, output.name);
                found.extend(self.part(&name, thing, worst.as_ref(), base(output.current)));
            }
        }
        for (i, (fuse, worst)) in self.site.fuses.iter().zip(&all.fuses).enumerate() {
            found.extend(self.part(
                &fuse.name,
                Thing::Fuse(i),
                worst.as_ref(),
                base(fuse.current),
            ));
        }
        for (part, worst) in &all.contacts {
            if let Part::Contact(d, r, _) = part {
                let rated = base(self.site.devices[*d].relays[*r].current);
                let name = self.site.part_text(*part);
                found.extend(self.part(&name, Thing::Device(*d), worst.as_ref(), rated));
            }
        }
    }

    /// Whether a combination has something in its inrush.
    fn rushes(&self, state: Option<&Combination>) -> bool {
        state.is_some_and(|s| is_inrush(self.site, &s.case(self.site)))
    }

    fn part(
        &self,
        name: &str,
        thing: Thing,
        worst: Option<&Worst<ElectricCurrent>>,
        rated: Option<f64>,
    ) -> Option<Finding> {
        if self.is_known(&amps::OVER, name) {
            return None;
        }
        self.rating(name, thing, worst, rated)
    }

    fn rating(
        &self,
        name: &str,
        thing: Thing,
        worst: Option<&Worst<ElectricCurrent>>,
        rated: Option<f64>,
    ) -> Option<Finding> {
        let (worst, rated) = (worst?, rated?);
        let amps = worst.value.base();
        if amps <= rated + 1e-9 {
            return None;
        }
        let what = format!("{name} carries {amps:.3} A of its {rated} A");
        let finding = self.finding(name, thing, worst, &what);
        Some(
            finding
                .measured(amps, rated, "A")
                .put_in(format!("{amps:.3} A > {rated} A")),
        )
    }

    fn point(&self, all: &AllStates) -> Option<Finding> {
        let short = all.unserved.as_ref()?;
        if self.known.iter().any(|f| f.code == headroom::POINT.code) {
            return None;
        }
        let device = short.device?;
        let name = self.site.devices[device].name.as_str();
        let message = format!(
            "{name} cannot be served with {}, only {:.1} % of the draws: {}",
            short.state.words(self.site),
            short.served * 100.0,
            self.remedy(&short.state)
        );
        let mut finding = BEYOND
            .finding(Severity::Warn, name, message)
            .about(Thing::Device(device));
        finding.corner = Some(short.corner);
        finding.worse = Worse::Lower;
        Some(
            finding
                .measured(short.served, 1.0, "x")
                .put_in(format!("served {:.3} < 1", short.served)),
        )
    }
}
