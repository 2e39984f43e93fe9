//! Network and bus cables between two earths; network cables beside a second supply, from an injector, in a bundle.

use std::collections::BTreeSet;

use crate::checks::ground::{is_outside, surge_seat};
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::joined::Joined;
use crate::site::{End, Place, Run, Thing};
use crate::units::Measure;

pub(crate) const BETWEEN: Check = Check {
    code: "copper-between-earths",
    question: "Does a copper network or bus cable join two buildings or two earths?",
    formula: "copper between two earths or outdoors has a surge part at each end; fibre needs none",
    source: "NEC {communications bonding} (secondary copy seen), by analogy; common practice, no source",
};
pub(crate) const TWO_FEEDS: Check = Check {
    code: "two-feeds",
    question: "Is a device fed by its network cable and by another supply at once?",
    formula: "one feed for a device, or a device made for both",
    source: "common practice, no source",
};
pub(crate) const INJECTOR: Check = Check {
    code: "plain-injector",
    question: "Does power come over a network cable without the two ends agreeing on it?",
    formula: "a port that states its class, and 44 V to 57 V",
    source: "IEEE 802.3 clauses 33 and 145 (secondary copy seen): a port asks before it gives",
};
pub(crate) const BUNDLE: Check = Check {
    code: "bundle-heat",
    question: "Do cables that carry much power lie in a bundle?",
    formula: "classes 5 to 8 in a bundle of more than 24 cables: wire 10 C to 15 C warmer",
    source: "common practice, no source",
};

/// Cables that lie together before they warm one another much.
const BUNDLE_OF: usize = 24;
/// Volts of a port that asks before it gives.
const PORT_V: std::ops::RangeInclusive<f64> = 44.0..=57.0;

pub(crate) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let cables: Vec<(usize, &Run)> = (look.site.runs.iter().enumerate())
        .filter(|(i, run)| (run.carries.ethernet || run.carries.rs485) && look.is_fitted(*i))
        .collect();
    if cables.is_empty() {
        return;
    }
    let earths = Earths::of(look);
    for (i, run) in cables.iter().copied() {
        found.extend(between(look, &earths, i, run));
        if run.carries.ethernet {
            found.extend(injector(look, i, run));
        }
    }
    for (i, _) in look.devices() {
        found.extend(two_feeds(look, i));
    }
    bundles(look, &cables, found);
}

/// Which earths the cases of things are bonded to, by bonds alone.
struct Earths {
    /// By node: what it is bonded to.
    groups: Vec<u32>,
}

impl Earths {
    fn of(look: &Look<'_>) -> Self {
        let terminals = &look.results.template.terminals;
        let mut joined = Joined::apart(terminals.count);
        let bonds = look.site.runs.iter().filter(|r| r.carries.bond && r.fitted);
        for run in bonds {
            joined.join(terminals.bond(run.from), terminals.bond(run.to));
        }
        Self {
            groups: joined.roots(),
        }
    }

    /// The earths that something is bonded to.
    fn at(&self, look: &Look<'_>, thing: Thing) -> BTreeSet<usize> {
        let terminals = &look.results.template.terminals;
        let nodes = match thing {
            Thing::Supply(i) => vec![terminals.bond(End::Supply(i)), terminals.supplies[i][1]],
            Thing::Device(i) => vec![terminals.bond(End::Device(i)), terminals.devices[i][1]],
            Thing::Junction(i) => vec![terminals.junctions[i][1]],
            _ => Vec::new(),
        };
        let group = |node: u32| self.groups[node as usize];
        let own: BTreeSet<u32> = nodes.into_iter().map(group).collect();
        (0..look.site.earths.len())
            .filter(|e| own.contains(&group(terminals.earths[*e])))
            .collect()
    }
}

/// The building of a thing's place.
fn building<'s>(look: &Look<'s>, thing: Thing) -> Option<&'s str> {
    let site = look.site;
    let place = match thing {
        Thing::Supply(i) => site.supplies[i].place.as_deref(),
        Thing::Device(i) => site.devices[i].place.as_deref(),
        Thing::Junction(i) => site.junctions[i].place.as_deref(),
        _ => None,
    }?;
    let is_it = |p: &&Place| p.name == place;
    site.places.iter().find(is_it)?.building.as_deref()
}

fn between(look: &Look<'_>, earths: &Earths, i: usize, run: &Run) -> Option<Finding> {
    let ends = [run.from.thing(), run.to.thing()];
    let protected = ends.iter().all(|end| {
        let mut own = look.site.surges.iter().filter(|s| s.line == i);
        own.any(|s| surge_seat(look, s) == Some(*end) && s.earth.is_some())
    });
    if protected {
        return None;
    }
    let [a, b] = ends.map(|end| earths.at(look, end));
    let buildings = ends.map(|end| building(look, end));
    let name = |e: &BTreeSet<usize>| e.first().map(|e| look.site.earths[*e].name.as_str());
    let why = if let [Some(a), Some(b)] = buildings
        && a != b
    {
        format!("joins {a} and {b}, two buildings")
    } else if let (Some(a_name), Some(b_name)) = (name(&a), name(&b))
        && a.is_disjoint(&b)
    {
        format!("joins two earths, {a_name} and {b_name}")
    } else if run.carries.ethernet && is_outside(run) {
        "lies outdoors".to_owned()
    } else {
        return None;
    };
    let message = format!(
        "{} {why}, in copper: take fibre or radio, or put a surge part on both its ends, each led to its earth",
        run.name
    );
    Some(
        BETWEEN
            .finding(Severity::Warn, &run.name, message)
            .about(Thing::Run(i)),
    )
}

fn two_feeds(look: &Look<'_>, i: usize) -> Option<Finding> {
    let own = |ethernet: bool| {
        let runs = look.site.runs.iter().enumerate();
        let mut own = runs.filter(move |(r, run)| {
            run.to == End::Device(i)
                && run.carries.power
                && run.carries.ethernet == ethernet
                && look.is_fitted(*r)
        });
        own.next().map(|(_, run)| run)
    };
    let (network, other) = (own(true)?, own(false));
    let sits = look.site.devices[i].on;
    if other.is_none() && sits.is_none() {
        return None;
    }
    let other = other.map_or_else(
        || sits.map(|on| look.site.end_text(on)).unwrap_or_default(),
        |run| run.name.clone(),
    );
    let device = &look.site.devices[i];
    let message = format!(
        "{} is fed by {} and by {other} at once: their minuses are not the same, and one feeds the other back; take one, or state by its data sheet that it keeps them apart",
        device.name, network.name
    );
    Some(
        TWO_FEEDS
            .finding(Severity::Warn, &device.name, message)
            .about(Thing::Device(i)),
    )
}

fn injector(look: &Look<'_>, i: usize, run: &Run) -> Option<Finding> {
    if !run.carries.power {
        return None;
    }
    let (End::Supply(s) | End::Output(s, _)) = run.from else {
        return None;
    };
    let supply = &look.site.supplies[s];
    let output_class = match run.from {
        End::Output(s, o) => look.site.supplies[s].outputs[o].poe_class,
        _ => None,
    };
    if supply.poe.is_some() || output_class.is_some() {
        return None;
    }
    let device = match run.to {
        End::Device(d) => look.site.devices.get(d),
        _ => None,
    };
    let asks = device.is_some_and(|d| d.poe_class.is_some());
    let volts = supply.voltage.base();
    let severity = match (asks, PORT_V.contains(&volts)) {
        (true, false) => Severity::Stop,
        (true, true) | (false, false) => Severity::Warn,
        (false, true) => return None,
    };
    let to = look.site.end_text(run.to);
    let message = if asks {
        format!(
            "{} puts {volts} V on {} without asking, and {to} is made to be asked: take a port of its class",
            supply.name, run.name
        )
    } else {
        format!(
            "{} puts {volts} V on {} without asking: make sure of volts and pins, and plug nothing else into it",
            supply.name, run.name
        )
    };
    Some(
        INJECTOR
            .finding(severity, &run.name, message)
            .about(Thing::Run(i))
            .measured(volts, *PORT_V.start(), "V")
            .put_in(format!("{volts} V, no class"))
            .lower_is_worse(),
    )
}

/// Devices of classes whose cables warm one another; one note for those of which nobody says how
/// many lie together.
fn bundles(look: &Look<'_>, cables: &[(usize, &Run)], found: &mut Vec<Finding>) {
    let mut untold: Vec<usize> = Vec::new();
    for (i, device) in look.site.devices.iter().enumerate() {
        let high = device.poe_class.is_some_and(|class| class >= 5);
        let own = cables.iter().find(|(_, run)| run.to == End::Device(i));
        let Some((_, run)) = own.filter(|_| high) else {
            continue;
        };
        // Who states a temperature has thought of it.
        if run.temperatures.nominal.is_some() || run.temperatures.hot.is_some() {
            continue;
        }
        let Some(raceway) = &run.raceway else {
            untold.push(i);
            continue;
        };
        let beside = (cables.iter())
            .filter(|(_, other)| other.carries.power && other.raceway.as_ref() == Some(raceway));
        let count = beside.count();
        if count > BUNDLE_OF {
            let message = format!(
                "{} is of class {} and its cable lies in {raceway} with {count} that carry power: state a temperature 10 C to 15 C higher for its run",
                device.name,
                device.poe_class.unwrap_or_default()
            );
            let count = u32::try_from(count).map_or(f64::INFINITY, f64::from);
            let limit = u32::try_from(BUNDLE_OF).map_or(0.0, f64::from);
            found.push(
                BUNDLE
                    .finding(Severity::Note, &device.name, message)
                    .about(Thing::Device(i))
                    .measured(count, limit, "cables"),
            );
        }
    }
    if let Some(first) = untold.first() {
        let device = &look.site.devices[*first];
        let others = match untold.len() {
            1 => String::new(),
            n => format!(" (and {} more)", n - 1),
        };
        let message = format!(
            "{}{others} is of class {}: where its cable lies in a bundle of more than {BUNDLE_OF}, state a temperature 10 C to 15 C higher for its run",
            device.name,
            device.poe_class.unwrap_or_default()
        );
        found.push(
            BUNDLE
                .finding(Severity::Note, &device.name, message)
                .about(Thing::Device(*first)),
        );
    }
}
