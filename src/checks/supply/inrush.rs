//! Capacitors that charge when the power comes: the pulse, and whether a limited supply gets them
//! charged at all.

use crate::checks::supply::path::{Path, Paths};
use crate::checks::{Check, Finding, Look};
use crate::circuit::{Corner, Law, Manner, Restraint, SHORT_SHARE};
use crate::diagnostic::Severity;
use crate::site::{End, SupplyKind, Thing};
use crate::units::Measure;

pub(crate) const PULSE: Check = Check {
    code: "charging-pulse",
    question: "how large is the pulse that charges the capacitor when the power comes?",
    formula: "I = V / R, tau = R C, I2t = V^2 C / (2 R), heat in R = C V^2 / 2; R of supply and way, cold",
    source: "charging of a capacitor through a resistance: integrals of V / R x e^(-t / (R C))",
};
pub(crate) const SLOW: Check = Check {
    code: "slow-start",
    question: "how long does a limited supply charge the capacitors, and does its limiter wait so long?",
    formula: "t = C x V / (limit - amps drawn meanwhile)",
    source: "charge over current; how long the limiter waits is the supply's own data",
};
pub(crate) const NEVER: Check = Check {
    code: "never-starts",
    question: "does a limited supply ever get the capacitors charged?",
    formula: "amps drawn meanwhile < amps that the limiter leaves (folding: those at no volts)",
    source: "charge over current; the supply's own data",
};

pub(super) fn check(look: &Look<'_>, paths: &Paths, found: &mut Vec<Finding>) {
    for path in &paths.all {
        let Some(farad) = reservoir(look, path) else {
            continue;
        };
        found.extend(pulse(look, paths, path, farad));
    }
    for (i, _) in look.supplies() {
        let of_supply = paths.all.iter().filter(|path| path.supply == i);
        let farad: f64 = of_supply.filter_map(|path| reservoir(look, path)).sum();
        let mut all = paths.circuit.restraints.iter();
        if let Some(restraint) = all.find(|r| r.source == i).filter(|_| farad > 0.0) {
            found.extend(start(look, paths, restraint, farad));
        }
    }
}

/// The capacitor of a device on dc.
fn reservoir(look: &Look<'_>, path: &Path) -> Option<f64> {
    let End::Device(i) = path.end else {
        return None;
    };
    let dc = look.site.supplies[path.supply].kind == SupplyKind::Dc;
    let own = look.site.devices[i].dc.reservoir.filter(|_| dc)?;
    Some(own.base())
}

fn pulse(look: &Look<'_>, paths: &Paths, path: &Path, farad: f64) -> Option<Finding> {
    let supply = &look.site.supplies[path.supply];
    let restraints = &paths.circuit.restraints;
    let limited = restraints.iter().find(|r| r.source == path.supply);
    if limited.is_some_and(|r| r.limiter.is_some()) {
        return None;
    }
    let (volts, ohm) = (paths.open_v[path.supply], path.source_ohm + path.wire_ohm);
    let amps = volts / ohm;
    let square = volts * volts * farad / (2.0 * ohm);
    let (tau, joule) = (ohm * farad, farad * volts * volts / 2.0);
    let most = supply.peak.or(supply.current).map(Measure::base);
    let name = path.name(look);
    let (severity, beside) = match most {
        Some(most) if amps > most + 1e-9 => (
            Severity::Warn,
            format!(
                ", {} is good for {most} A; say how it limits, or let the device start softly",
                supply.name
            ),
        ),
        _ => (Severity::Note, String::new()),
    };
    let message = format!(
        "{name} charges {:.0} uF with {amps:.1} A at first, over {:.2} ms, I2t {square:.3} A2s (hold the fuse's melting I2t against twice that){beside}",
        farad * 1e6,
        tau * 1e3
    );
    let numbers = format!(
        "I = {volts:.2} V / {ohm:.3} ohm = {amps:.3} A; tau = {:.3} ms; I2t = {square:.4} A2s; {joule:.3} J",
        tau * 1e3
    );
    let mut finding = PULSE.finding(severity, name, message);
    finding.thing = path.thing();
    finding.corner = Some(Corner::Heavy);
    (finding.value, finding.limit, finding.unit) = (Some(amps), most, Some("A"));
    Some(finding.put_in(numbers))
}

/// What the devices of a supply draw at the volts of the knee while the capacitors charge, at least:
/// the case in which least is drawn, in the corner nominal.
fn drawn(look: &Look<'_>, supply: usize) -> f64 {
    let results = look.results;
    let rows = results.rows.iter().filter(|r| r.corner == Corner::Nominal);
    let amps = rows.map(|row| {
        let each = row.laws.iter().enumerate();
        each.filter(|(i, _)| results.ways.supply_of(*i) == Some(supply))
            // What has a capacitor of its own starts when that is charged.
            .filter(|(i, _)| look.site.devices[*i].dc.reservoir.is_none())
            .map(|(_, law)| match law {
                Law::Current(amps) => *amps,
                Law::Off | Law::Power(_) | Law::Resistance(_) => 0.0,
            })
            .sum::<f64>()
    });
    amps.reduce(f64::min).unwrap_or(0.0)
}

fn start(look: &Look<'_>, paths: &Paths, restraint: &Restraint, farad: f64) -> Option<Finding> {
    let limiter = restraint.limiter?;
    let i = restraint.source;
    let supply = &look.site.supplies[i];
    let (volts, limit) = (paths.open_v[i], limiter.amps_a);
    let drawn = drawn(look, i);
    let least = match limiter.manner {
        Manner::Foldback => limit * SHORT_SHARE,
        Manner::Hard | Manner::Hiccup => limit,
    };
    let left = least - drawn;
    let uf = farad * 1e6;
    let name = &supply.name;
    if left <= 1e-12 {
        let message = format!(
            "{name} never starts: its limiter leaves {least:.3} A, and {drawn:.3} A are drawn while {uf:.0} uF should charge"
        );
        let finding = NEVER
            .finding(Severity::Fail, name, message)
            .about(Thing::Supply(i))
            .measured(drawn, least, "A");
        return Some(finding.put_in(format!("{drawn:.3} A >= {least:.3} A")));
    }
    let seconds = farad * volts / left;
    let (severity, beside) = match limiter.manner {
        Manner::Hiccup => (
            Severity::Ask,
            ": a limiter that stops sooner never gets it started; read its time at the limit off its data",
        ),
        Manner::Hard | Manner::Foldback => (Severity::Note, ""),
    };
    let message = format!(
        "{name} charges {uf:.0} uF at its limit for up to {:.1} ms{beside}",
        seconds * 1e3
    );
    let mut finding = SLOW
        .finding(severity, name, message)
        .about(Thing::Supply(i))
        .put_in(format!(
            "{uf:.0} uF x {volts:.2} V / ({least:.3} A - {drawn:.3} A) = {:.2} ms",
            seconds * 1e3
        ));
    (finding.value, finding.unit) = (Some(seconds), Some("s"));
    Some(finding)
}
