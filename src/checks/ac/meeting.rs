//! What must not meet in one wire: unlike rectifiers, and unlike frequencies.

use crate::checks::{Check, Finding, Look};
use crate::circuit::Live;
use crate::diagnostic::Severity;
use crate::joined::Joined;
use crate::site::{Device, Rectifier, ShieldBond, SupplyKind, Thing};

pub(crate) const MIXED: Check = Check {
    code: "mixed-rectifiers",
    question: "does a bridge share its negative with a leg of its own ac?",
    formula: "the dc negative of a bridge lies one diode below either leg: joined to a leg, by a half-wave device, a shield or earth, one of its diodes lies across the secondary in each half cycle",
    source: "the circuit itself; a transient simulation shows the short",
};
pub(crate) const UNKNOWN: Check = Check {
    code: "rectifier-kind",
    question: "which rectifier has a device whose negative is shared?",
    formula: "half wave and bridge must not share a negative on one secondary",
    source: "the device's own data; unknown never passes",
};
pub(crate) const FREQUENCIES: Check = Check {
    code: "mixed-frequencies",
    question: "do supplies of different frequency drive current through the same wires?",
    formula: "all supplies in one ring of conductors and draws have one frequency; dc counts as 0 Hz",
    source: "phasors hold for one frequency; where two meet, their volts add up at some instant",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, _) in look.devices() {
        found.extend(shared(look, i));
    }
    for (i, _) in look.supplies() {
        found.extend(frequencies(look, i));
    }
}

/// Nodes joined by conductors in a case, counting every shield that is bonded at both ends.
fn conductors(look: &Look<'_>, live: &Live) -> Vec<u32> {
    let mut joined = Joined::apart(live.conductor.len());
    for (node, root) in (0..).zip(&live.conductor) {
        joined.join(node, *root);
    }
    let terminals = &look.results.template.terminals;
    for run in look.site.runs.iter().filter(|r| r.fitted) {
        if run.shield == Some(ShieldBond::Both) {
            joined.join(terminals.common(run.from), terminals.common(run.to));
        }
    }
    joined.roots()
}

/// A dc negative that is joined to a leg, in the first case where it is.
fn shared(look: &Look<'_>, i: usize) -> Option<Finding> {
    let device = &look.site.devices[i];
    if !matches!(device.dc.rectifier, Rectifier::Bridge | Rectifier::Unknown) {
        return None;
    }
    let terminals = &look.results.template.terminals;
    for (case, live) in look.results.live.iter().enumerate() {
        let on_ac = |d: usize| {
            let hertz = live.hertz.as_ref().and_then(|h| h.devices[d]);
            live.devices[d] && hertz.is_some_and(|hz| hz > 0.0)
        };
        if !on_ac(i) {
            continue;
        }
        let conductor = conductors(look, live);
        let at = |node: u32| conductor[node as usize];
        let minus = at(terminals.dc_minus[i]);
        let on_leg = terminals.devices[i].iter().any(|leg| at(*leg) == minus);
        let with = |d: &usize| *d != i && on_ac(*d) && at(terminals.dc_minus[*d]) == minus;
        let unlike = |other: &Device| match device.dc.rectifier {
            Rectifier::Bridge => other.dc.rectifier == Rectifier::HalfWave,
            _ => other.dc.is_rectified(),
        };
        let partner = (0..look.site.devices.len())
            .filter(with)
            .map(|d| &look.site.devices[d])
            .find(|d| unlike(d));
        let found = match (device.dc.rectifier, partner) {
            (Rectifier::Bridge, Some(half)) if on_leg => Some((
                MIXED,
                Severity::Stop,
                format!(
                    "{} has a bridge and {} a half-wave rectifier on one secondary, and their negatives are joined: that shorts the secondary through one diode in each half cycle",
                    device.name, half.name
                ),
            )),
            (Rectifier::Bridge, None) if on_leg => Some((
                MIXED,
                Severity::Stop,
                format!(
                    "the dc negative of {} is joined to a leg of its own ac: that shorts the secondary through one diode of the bridge in each half cycle",
                    device.name
                ),
            )),
            (Rectifier::Unknown, _) if on_leg || partner.is_some() => Some((
                UNKNOWN,
                Severity::Ask,
                format!(
                    "{} shares its dc negative{}: find out whether its rectifier is a bridge or a half wave",
                    device.name,
                    partner.map_or_else(String::new, |p| format!(" with {}", p.name))
                ),
            )),
            _ => None,
        };
        if let Some((check, severity, message)) = found {
            let mut finding = check
                .finding(severity, &device.name, message)
                .about(Thing::Device(i));
            finding.case = Some(case);
            return Some(finding);
        }
    }
    None
}

/// A supply that shares conductors with one of another frequency; said of the later one.
fn frequencies(look: &Look<'_>, i: usize) -> Option<Finding> {
    let site = look.site;
    for (case, live) in look.results.live.iter().enumerate() {
        let Some(hertz) = &live.hertz else { continue };
        let Some(ring) = hertz.mixed.iter().find(|ring| ring.contains(&i)) else {
            continue;
        };
        let differs = |s: &&usize| **s < i && (hertz.supplies[**s] - hertz.supplies[i]).abs() > 0.0;
        let Some(other) = ring.iter().find(differs).copied() else {
            continue;
        };
        let terminals = &look.results.template.terminals;
        let at = |node: u32| live.conductor[node as usize];
        let plus = |s: usize| at(terminals.supplies[s][0]);
        let touches = |s: usize, node: u32| terminals.supplies[s].iter().any(|n| at(*n) == node);
        // With a positive in common they drive one another; else returns alone share conductors.
        let severity = if touches(other, plus(i)) || touches(i, plus(other)) {
            Severity::Stop
        } else {
            Severity::Warn
        };
        let kind = |s: usize| match site.supplies[s].kind {
            SupplyKind::Dc => "dc".to_owned(),
            SupplyKind::Ac => format!("{} Hz", hertz.supplies[s]),
        };
        let message = format!(
            "{} ({}) and {} ({}) drive current through the same wires; the numbers take both for one frequency and are no guide there",
            site.supplies[i].name,
            kind(i),
            site.supplies[other].name,
            kind(other)
        );
        let mut finding = FREQUENCIES
            .finding(severity, &site.supplies[i].name, message)
            .about(Thing::Supply(i));
        finding.case = Some(case);
        return Some(finding.put_in(format!("{} and {}", kind(i), kind(other))));
    }
    None
}
