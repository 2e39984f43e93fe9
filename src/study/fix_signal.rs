//! Fixes of signals: what draws much on a pair of its own, an isolator, bus ends and bias.

use super::fix::{Candidate, thicker_to};
use crate::checks::{Finding, wiegand_worst};
use crate::site::{Carries, Edit, End, Run, ShieldBond, Site, Temperatures, Thing, Tie};
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

/// Smaller bias resistors, or some at all.
pub(super) fn stronger_bias(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(b) = bus_of(site, finding) else {
        return Vec::new();
    };
    let rungs = BIAS_OHM.iter().map(|ohms| {
        let mut changed = site.clone();
        changed.buses[b].bias = Some(ElectricalResistance::from_base(*ohms));
        let text = format!("{ohms} ohm");
        Candidate {
            what: format!("bias resistors of {text} each, at one place"),
            site: changed,
            edits: vec![Edit::set("bus", &finding.subject, "bias", &text)],
        }
    });
    vec![rungs.collect()]
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
