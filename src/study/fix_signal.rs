//! Fixes of signals: what draws much on a pair of its own, an isolator, bus ends and bias.

use super::fix::{Candidate, proven, thicker_to};
use crate::checks::{Finding, wiegand_worst};
use crate::site::{Carries, Edit, End, Run, ShieldBond, Site, Temperatures, Thing, Tie};
use crate::solve::Solver;
use crate::study::Study;
use crate::units::{ElectricalResistance, Measure};

/// Bias resistors that are commonly sold, in ohms, the largest first.
const BIAS_OHM: [f64; 8] = [1000.0, 820.0, 750.0, 680.0, 620.0, 560.0, 470.0, 390.0];

/// What keeps other currents away from the data of a run: own pairs, thicker negatives, an
/// isolator.
pub(super) fn apart(site: &Site, study: &Study, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Run(run)) = finding.thing else {
        return Vec::new();
    };
    let ends: Vec<usize> = [site.runs[run].from, site.runs[run].to]
        .into_iter()
        .filter_map(|end| match end {
            End::Device(i) => Some(i),
            _ => None,
        })
        .collect();
    let mut ladders = Vec::new();
    for end in &ends {
        let own = (0..site.devices.len())
            .filter(|i| site.devices[*i].on == Some(End::Device(*end)))
            .filter_map(|i| home_run(site, study, *end, i));
        ladders.push(own.collect());
    }
    for end in &ends {
        ladders.extend(thicker_to(site, study, finding, *end));
    }
    ladders.push(ends.iter().map(|end| isolated(site, *end)).collect());
    ladders
}

/// A device that sits on another's terminals, on a pair of its own from the supply.
fn home_run(site: &Site, study: &Study, hub: usize, device: usize) -> Option<Candidate> {
    let ways = &study.results.ways;
    let supply = ways.supply_of(hub)?;
    let way = ways.way_to(End::Device(hub)).into_iter();
    let [feed] = way.filter_map(|(run, _)| run).collect::<Vec<_>>()[..] else {
        return None;
    };
    let feed = &site.runs[feed];
    if !is_plain(feed) {
        return None;
    }
    let (name, from) = (&site.devices[device].name, &site.supplies[supply].name);
    let own = format!("{name} pair");
    if site.names.contains_key(&own) {
        return None;
    }
    let mut changed = site.clone();
    changed.devices[device].on = None;
    changed
        .names
        .insert(own.clone(), Thing::Run(site.runs.len()));
    changed.runs.push(Run {
        name: own.clone(),
        from: End::Supply(supply),
        to: End::Device(device),
        choices: Vec::new(),
        sharers: Vec::new(),
        wires: Vec::new(),
        measured: None,
        risers: None,
        route: None,
        raceway: None,
        surge: ElectricalResistance::default(),
        ..feed.clone()
    });
    let metres = format!("{} m", feed.length.base());
    let keys = [
        ("from", from.as_str()),
        ("to", name.as_str()),
        ("cable", feed.cable_text.as_str()),
        ("length", metres.as_str()),
    ];
    let edits = vec![
        Edit::set("device", name, "on", ""),
        Edit::Add {
            table: vec!["run".into(), own],
            keys: keys
                .map(|(key, text)| (key.to_owned(), text.to_owned()))
                .to_vec(),
        },
    ];
    Some(Candidate {
        what: format!(
            "{name} on a pair of its own from {from}, {metres} in {}",
            feed.cable_text
        ),
        site: changed,
        edits,
    })
}

/// Whether a run is a cable of a length with one conductor a leg, and nothing else.
fn is_plain(run: &Run) -> bool {
    let power = Carries {
        power: true,
        ..Carries::default()
    };
    run.resistance.is_none()
        && run.carries == power
        && (run.parallel, run.minus_parallel, run.splices) == (1, 1, 0)
        && run.through.is_empty()
        && run.temperatures == Temperatures::default()
        && run.shares.is_none()
        && run.cable == run.jacket
}

/// An isolator between a device's data common and its negative.
fn isolated(site: &Site, device: usize) -> Candidate {
    let mut changed = site.clone();
    changed.devices[device].tie = Tie::Isolated;
    let name = &site.devices[device].name;
    Candidate {
        what: format!("an isolator in the data of {name}"),
        site: changed,
        edits: vec![Edit::set("device", name, "tie", "isolated")],
    }
}

/// Most volts of a low after the change.
pub(super) fn outcome(site: &Site, after: &Study, finding: &Finding) -> Option<String> {
    let Some(Thing::Run(run)) = finding.thing else {
        return None;
    };
    let volts = wiegand_worst(site, &after.results, run)?;
    Some(format!("a low then arrives at {volts:.2} V at most"))
}

fn bus_of(site: &Site, finding: &Finding) -> Option<usize> {
    let mut buses = site.buses.iter();
    buses.position(|bus| bus.name == finding.subject)
}

/// Two of a bus's terminators, each pair in turn.
pub(super) fn two_terminators(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(b) = bus_of(site, finding) else {
        return Vec::new();
    };
    let on = devices_on(site, b);
    let pairs = (0..on.len()).flat_map(|i| (i + 1..on.len()).map(move |j| [i, j]));
    let rungs = pairs.map(|pair| {
        let devices = pair.map(|k| on[k]);
        let mut changed = site.clone();
        changed.buses[b].terminators = Some(devices.to_vec());
        let names = devices.map(|i| site.devices[i].name.as_str());
        Candidate {
            what: format!("terminators at {} and {} alone", names[0], names[1]),
            site: changed,
            edits: vec![Edit::set(
                "bus",
                &finding.subject,
                "terminators",
                &names.join(", "),
            )],
        }
    });
    vec![rungs.collect()]
}

/// Smaller bias resistors, or some at all; where terminators are wrong, too, with those put right.
pub(super) fn stronger_bias(
    site: &Site,
    study: &Study,
    finding: &Finding,
    solver: &mut Solver,
) -> Vec<Vec<Candidate>> {
    let Some(b) = bus_of(site, finding) else {
        return Vec::new();
    };
    let mut ladders = vec![biased(site, b, None)];
    let wrong_ends = (study.findings.iter().map(|j| &j.finding))
        .find(|f| f.code == "bus-terminators" && f.subject == finding.subject);
    if let Some(ends) = wrong_ends {
        let pairs = two_terminators(site, ends).into_iter().flatten();
        let right = { pairs }.find(|pair| proven(pair.clone(), study, ends, solver).is_some());
        if let Some(right) = right {
            // Two terminators alone may do.
            let mut rungs = vec![right.clone()];
            rungs.extend(biased(&right.site, b, Some(&right)));
            ladders.push(rungs);
        }
    }
    ladders
}

/// Ever smaller bias resistors, on top of another change.
fn biased(site: &Site, b: usize, first: Option<&Candidate>) -> Vec<Candidate> {
    let bus = &site.buses[b].name;
    let weaker = |ohms: &&f64| site.buses[b].bias.is_none_or(|now| **ohms < now.base());
    let rung = |ohms: &f64| {
        let mut changed = site.clone();
        changed.buses[b].bias = Some(ElectricalResistance::from_base(*ohms));
        let text = format!("{ohms} ohm");
        let mut what = format!("bias resistors of {text} each, at one place");
        let mut edits = vec![Edit::set("bus", bus, "bias", &text)];
        if let Some(first) = first {
            what = format!("{} and {what}", first.what);
            edits.splice(0..0, first.edits.clone());
        }
        Candidate {
            what,
            site: changed,
            edits,
        }
    };
    BIAS_OHM.iter().filter(weaker).map(rung).collect()
}

/// The bias resistors of one device on the bus alone.
pub(super) fn one_bias(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(b) = bus_of(site, finding) else {
        return Vec::new();
    };
    let mut on = site.buses[b].bias_at.clone();
    on.extend(devices_on(site, b));
    let rungs = on.into_iter().map(|d| {
        let mut changed = site.clone();
        changed.buses[b].bias_at = vec![d];
        let name = &site.devices[d].name;
        Candidate {
            what: format!("bias resistors at {name} alone"),
            site: changed,
            edits: vec![Edit::set("bus", &finding.subject, "bias_at", name)],
        }
    });
    vec![rungs.collect()]
}

/// The devices at which runs of a bus end, in order of first use.
fn devices_on(site: &Site, b: usize) -> Vec<usize> {
    let mut on: Vec<usize> = Vec::new();
    for run in site.runs.iter().filter(|run| run.bus == Some(b)) {
        for end in [run.from, run.to] {
            if let End::Device(i) = end
                && !on.contains(&i)
            {
                on.push(i);
            }
        }
    }
    on
}

/// A shield that is open at one of its ends.
pub(super) fn one_bond(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Run(run)) = finding.thing else {
        return Vec::new();
    };
    let rungs = [
        (ShieldBond::From, "from", site.runs[run].from),
        (ShieldBond::To, "to", site.runs[run].to),
    ];
    let rungs = rungs.into_iter().map(|(bond, key, end)| {
        let mut changed = site.clone();
        changed.runs[run].shield = Some(bond);
        Candidate {
            what: format!(
                "the shield of {} bonded at {} alone",
                finding.subject,
                site.end_text(end)
            ),
            site: changed,
            edits: vec![Edit::set("run", &finding.subject, "shield", key)],
        }
    });
    vec![rungs.collect()]
}
