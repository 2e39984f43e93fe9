//! Power over Ethernet: class, pairs, budget and the channel between port and device.

use super::{Check, Finding, Look, exceeds, greatest};
use crate::circuit::{Corner, per_length};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{End, Run, Thing};
use crate::tables::{self, Material, PoeClass};
use crate::units::Measure;

const STANDARD: &str = "IEEE 802.3-2018 with amendment bt, clauses 33 and 145";

pub(crate) const WATTS: Check = Check {
    code: "poe-watts",
    question: "Does the device, with all that it feeds, stay within the watts of its class?",
    formula: "W at the device <= W of the class at the device",
    source: STANDARD,
};
pub(crate) const BUDGET: Check = Check {
    code: "poe-budget",
    question: "Do all ports together stay within the budget of the switch?",
    formula: "sum of W at the ports <= budget",
    source: "the budget as stated; watts by Kirchhoff's laws on the whole network",
};
pub(crate) const PAIRS: Check = Check {
    code: "poe-pairs",
    question: "Do enough pairs carry the power of the class?",
    formula: "classes 5 to 8: pairs >= 4",
    source: STANDARD,
};
pub(crate) const CHANNEL: Check = Check {
    code: "poe-channel",
    question: "Is the channel stout enough for the class?",
    formula: "ohms out + ohms back <= ohms of the class",
    source: STANDARD,
};
pub(crate) const VOLTS: Check = Check {
    code: "poe-volts",
    question: "Has the device the volts that its class promises?",
    formula: "volts at the device >= port V - port W / port V x ohms of the class; class 3 for all below it",
    source: STANDARD,
};
pub(crate) const LENGTH: Check = Check {
    code: "channel-length",
    question: "Is the channel short enough for data, cords and all?",
    formula: "sum of the lengths of the channel <= 100 m",
    source: "ANSI/TIA-568 and ISO/IEC 11801: 90 m fixed and 10 m of cords",
};

pub(crate) const METAL: Check = Check {
    code: "poe-metal",
    question: "Is the network cable that carries power made of copper?",
    formula: "conductors are of copper",
    source: "ANSI/TIA-568: conductors of balanced cable are copper; from memory",
};

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    // Most sites have neither ports nor network cables.
    let concerned = look.site.supplies.iter().any(|s| s.poe.is_some())
        || look.site.devices.iter().any(|d| d.poe_class.is_some())
        || look.site.runs.iter().any(|r| r.carries.ethernet);
    if !concerned {
        return;
    }
    for (i, supply) in look.supplies() {
        if supply.poe.is_some() {
            found.extend(budget(look, i));
        }
    }
    let cables: Vec<&Run> = look
        .site
        .runs
        .iter()
        .filter(|r| r.carries.ethernet)
        .collect();
    for (i, _) in look.devices() {
        let channel = Channel::to(look, &cables, i);
        if !channel.runs.is_empty() {
            device(look, i, &channel, found);
        }
    }
}

/// The network cables in a row that end at a device.
struct Channel<'s> {
    /// From the device on.
    runs: Vec<&'s Run>,
    /// The class that both ends can count on, where it carries power.
    class: Option<u8>,
    /// Pairs on which the port gives power, where that is stated.
    pairs: Option<u32>,
    /// The port states a class; one that gives without asking is judged as such.
    asked: bool,
}

impl<'s> Channel<'s> {
    fn to(look: &Look<'s>, cables: &[&'s Run], device: usize) -> Self {
        let site = look.site;
        let mut runs: Vec<&Run> = Vec::new();
        let mut at = End::Device(device);
        // A junction is a plate or a coupler; anything else begins a channel anew.
        while let Some(run) = cables.iter().find(|run| {
            let ends_here = run.to == at || (run.from == at && matches!(at, End::Junction(_)));
            ends_here && !runs.iter().any(|known| known.name == run.name)
        }) {
            runs.push(run);
            at = if run.to == at { run.from } else { run.to };
            if !matches!(at, End::Junction(_)) {
                break;
            }
        }
        let (given, pairs) = match at {
            End::Supply(s) => site.supplies[s]
                .poe
                .map_or((None, None), |p| (p.class, p.pairs)),
            End::Output(s, o) => {
                let (supply, own) = (&site.supplies[s], site.supplies[s].outputs[o].poe_class);
                let ports = supply.poe.unwrap_or_default();
                (own.or(ports.class), ports.pairs)
            }
            _ => (None, None),
        };
        let watts = |class: &u8| tables::poe_class(*class).map_or(0.0, |c| c.device.base());
        let powered = runs.iter().all(|run| run.carries.power);
        let class = [site.devices[device].poe_class, given]
            .into_iter()
            .flatten()
            .filter(|_| powered)
            .min_by(|a, b| watts(a).total_cmp(&watts(b)));
        Self {
            runs,
            class,
            pairs,
            asked: given.is_some(),
        }
    }
}

fn device(look: &Look<'_>, i: usize, channel: &Channel<'_>, found: &mut Vec<Finding>) {
    found.extend(length(look, i, channel));
    let Some((class, row)) = channel
        .class
        .and_then(|class| Some((class, tables::poe_class(class)?)))
    else {
        return;
    };
    found.extend(watts(look, i, class, &row));
    found.extend(pairs(look, i, channel, class, &row));
    found.extend(ohms(look, i, channel, class, &row));
    if channel.asked {
        found.extend(volts(look, i, class));
    }
    for run in &channel.runs {
        found.extend(metal(look, run));
    }
}

/// Copper-clad aluminum has half again the ohms, and no network cable may be made of it.
fn metal(look: &Look<'_>, run: &Run) -> Option<Finding> {
    let cable = run.cable(look.site)?;
    if cable.material != Material::CopperCladAluminum {
        return None;
    }
    let message = format!(
        "{} is of copper-clad aluminum: take copper for power over a network cable",
        run.name
    );
    let mut finding = METAL.finding(Severity::Fail, &run.name, message);
    finding.thing = look.site.names.get(&run.name).copied();
    Some(finding)
}

fn watts(look: &Look<'_>, i: usize, class: u8, limits: &PoeClass) -> Option<Finding> {
    let device = &look.site.devices[i];
    let watts = |row: &Row| look.results.device(row, i).map(|w| w.watts.base());
    let (watts, row) = greatest(look.results.rows.iter(), watts)?;
    let limit = limits.device.base();
    if watts <= limit + 1e-9 {
        return None;
    }
    let message = format!(
        "{} and what it feeds take {watts:.2} W, class {class} lets it have {limit} W",
        device.name
    );
    Some(
        WATTS
            .finding(Severity::Fail, &device.name, message)
            .about(Thing::Device(i))
            .at(row)
            .measured(watts, limit, "W")
            .put_in(format!("{watts:.3} W > {limit} W")),
    )
}

/// Least volts against those of the class, where the device states no lowest of its own.
fn volts(look: &Look<'_>, i: usize, class: u8) -> Option<Finding> {
    let device = &look.site.devices[i];
    if device.lowest.is_some() {
        return None;
    }
    // Devices of the classes below 3 are made for the same volts as those of class 3.
    let limits = tables::poe_class(class.max(3))?;
    let [port_w, port_v, ohms] = [
        limits.port.base(),
        limits.least_volts.base(),
        limits.channel.base(),
    ];
    let limit = port_v - port_w / port_v * ohms;
    let live = |row: &Row| look.results.live[row.case].devices[i] && !look.is_off(row, i);
    let fallen = |row: &Row| look.results.device(row, i).map(|w| -w.volts.base());
    let rows = look.results.rows.iter().filter(|row| live(row));
    let (fallen, row) = greatest(rows, fallen)?;
    let volts = -fallen;
    if !exceeds(limit, volts) {
        return None;
    }
    let message = format!(
        "{} gets {volts:.2} V, and a device of class {class} is made for {limit:.1} V and more: stouter cable, or less drawn",
        device.name
    );
    Some(
        VOLTS
            .finding(Severity::Fail, &device.name, message)
            .about(Thing::Device(i))
            .at(row)
            .measured(volts, limit, "V")
            .put_in(format!(
                "{port_v} V - {port_w} W / {port_v} V x {ohms} ohm = {limit:.2} V > {volts:.2} V"
            ))
            .lower_is_worse(),
    )
}

fn pairs(
    look: &Look<'_>,
    i: usize,
    channel: &Channel<'_>,
    class: u8,
    limits: &PoeClass,
) -> Option<Finding> {
    let wired = channel.runs.iter().map(|run| run.parallel).min()?;
    let least = channel.pairs.map_or(wired, |pairs| wired.min(pairs));
    if limits.pairs < 4 || least >= limits.pairs {
        return None;
    }
    let device = &look.site.devices[i];
    let message = format!(
        "{} is of class {class}, which needs power on {} pairs; {least} carry it",
        device.name, limits.pairs
    );
    Some(
        PAIRS
            .finding(Severity::Fail, &device.name, message)
            .about(Thing::Device(i))
            .measured(f64::from(least), f64::from(limits.pairs), "pairs")
            .put_in(format!("{least} < {}", limits.pairs))
            .lower_is_worse(),
    )
}

fn ohms(
    look: &Look<'_>,
    i: usize,
    channel: &Channel<'_>,
    class: u8,
    limits: &PoeClass,
) -> Option<Finding> {
    // In the hottest case: the wire's own temperature, or that of a case.
    let of_row = |row: &Row| {
        let case = &look.results.cases[row.case];
        let ohms = channel.runs.iter().map(|run| {
            if let Some(stated) = run.resistance {
                return 2.0 * stated.base();
            }
            let at = row.corner.temperature(look.site, run, case);
            let one = per_length(look.site, run, at).base() * run.length.base();
            one / f64::from(run.parallel) + one / f64::from(run.minus_parallel.max(1))
        });
        Some(ohms.sum::<f64>())
    };
    let rows = look.results.rows.iter();
    let (ohms, row) = greatest(rows.filter(|r| r.corner == Corner::Low), of_row)?;
    let limit = limits.channel.base();
    if ohms <= limit + 1e-9 {
        return None;
    }
    let device = &look.site.devices[i];
    let message = format!(
        "the channel to {} has {ohms:.2} ohm, class {class} allows {limit} ohm",
        device.name
    );
    Some(
        CHANNEL
            .finding(Severity::Fail, &device.name, message)
            .about(Thing::Device(i))
            .at(row)
            .measured(ohms, limit, "ohm")
            .put_in(format!("{ohms:.3} ohm > {limit} ohm")),
    )
}

/// Every network cable has its limit for data, whether it carries power or not.
fn length(look: &Look<'_>, i: usize, channel: &Channel<'_>) -> Option<Finding> {
    let metres: f64 = channel.runs.iter().map(|run| run.length.base()).sum();
    let limit = tables::longest_channel().base();
    if metres <= limit + 1e-9 {
        return None;
    }
    let device = &look.site.devices[i];
    let names: Vec<&str> = channel
        .runs
        .iter()
        .rev()
        .map(|run| run.name.as_str())
        .collect();
    let message = format!(
        "the network channel to {} is {metres:.1} m long ({}); data need not get over {limit} m, however well the power does",
        device.name,
        names.join(", ")
    );
    Some(
        LENGTH
            .finding(Severity::Fail, &device.name, message)
            .about(Thing::Device(i))
            .measured(metres, limit, "m")
            .put_in(format!("{metres:.2} m > {limit} m")),
    )
}

fn budget(look: &Look<'_>, i: usize) -> Option<Finding> {
    let supply = &look.site.supplies[i];
    let budget = supply.poe?.budget?.base();
    let watts = |row: &Row| look.results.supply(row, i).map(|w| w.watts.base());
    let (watts, row) = greatest(look.results.rows.iter(), watts)?;
    if watts <= budget + 1e-9 {
        return None;
    }
    let message = format!(
        "the ports of {} give {watts:.2} W, its budget is {budget} W",
        supply.name
    );
    Some(
        BUDGET
            .finding(Severity::Fail, &supply.name, message)
            .about(Thing::Supply(i))
            .at(row)
            .measured(watts, budget, "W")
            .put_in(format!("{watts:.3} W > {budget} W")),
    )
}
