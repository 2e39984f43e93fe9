//! Where current leaves a supply: whether something limits it there, and what else a short takes
//! with it.

use std::collections::HashMap;

use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::results::Results;
use crate::site::{End, Limiting, Part, PostFuse, Run, Site, Supply, Thing};

pub(crate) const UNFUSED: Check = Check {
    code: "unfused-run",
    question: "does something limit the current of every run where it leaves its supply?",
    formula: "a class that the supply is listed as, a limiter or output of its own, or a fuse where the run starts",
    source: "NEC Chapter 9, notes to Table 11: where the conductor receives its supply (secondary copy seen); common practice, no source",
};
pub(crate) const TOGETHER: Check = Check {
    code: "shared-limiter",
    question: "does one short outdoors take the hub down with it?",
    formula: "between what a run outdoors shares with the hub and the run itself lies a fuse, or an output of its own",
    source: "common practice, no source; the ways of the network as drawn",
};

/// How many runs one finding names.
const MOST_NAMED: usize = 6;

pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    for (i, _) in look.supplies() {
        found.extend(unfused(look, i));
    }
    let mut shorts = Shorts::of(look.site, look.results);
    for (i, _) in look.devices() {
        found.extend(together(look, &mut shorts, i));
    }
}

/// Whether a supply limits what it gives by itself: as its class has it, by a limiter, by its
/// ports, or by the fuse at the post of its battery.
fn limits_itself(supply: &Supply) -> bool {
    let limiter = supply.restrained.limit;
    let post = supply.battery.as_ref().and_then(|b| b.fuse);
    supply.class.is_some()
        || limiter.is_some_and(|limit| limit != Limiting::None)
        || supply.poe.is_some()
        || supply.fed_by.is_some()
        || matches!(post, Some(PostFuse::Named(_) | PostFuse::Rated(_)))
}

/// What a run that leaves a supply lacks there: a fuse, or a fuse at this end.
fn lacks<'s>(look: &Look<'s>, run: &'s Run, supply: &Supply) -> Option<String> {
    let site = look.site;
    let fuse = run.through.iter().find_map(|part| match part {
        Part::Fuse(i) => Some(&site.fuses[*i]),
        Part::Contact(..) => None,
    });
    let Some(fuse) = fuse else {
        return Some(format!("{} has no fuse", run.name));
    };
    // A part sits at the end that `from` names.
    if !matches!(run.from, End::Supply(_)) {
        return Some(format!(
            "{} sits at the far end of {}: write the run from {}",
            fuse.name, run.name, supply.name
        ));
    }
    match (&fuse.place, &supply.place) {
        (Some(at), Some(of)) if at != of => Some(format!(
            "{} of {} is at {at}, and {} at {of}",
            fuse.name, run.name, supply.name
        )),
        _ => None,
    }
}

/// A sketch without places and fuses is not asked.
fn unfused(look: &Look<'_>, i: usize) -> Option<Finding> {
    let site = look.site;
    let supply = &site.supplies[i];
    let says_fuses = !site.fuses.is_empty();
    if limits_itself(supply) || !(says_fuses || supply.place.is_some()) {
        return None;
    }
    let leaves = |run: &Run| [run.from, run.to].contains(&End::Supply(i));
    let all = site.runs.iter().enumerate();
    let own = all.filter(|(r, run)| run.carries.power && look.is_fitted(*r) && leaves(run));
    let lacking: Vec<String> = own
        .filter_map(|(_, run)| lacks(look, run, supply))
        .collect();
    if lacking.is_empty() {
        return None;
    }
    let (name, lacking) = (&supply.name, lacking.join("; "));
    let (severity, message) = if says_fuses {
        (
            Severity::Warn,
            format!(
                "{name} is not said to be of class 2 or 3 nor to limit its current, and {lacking}: all that it can give flows into a short there; put a fuse within 0.3 m (1 ft) of where the run starts"
            ),
        )
    } else {
        (
            Severity::Ask,
            format!(
                "{name} states neither class nor limit, and {lacking}: write class = \"class 2\" if its label says so, or draw the fuse where the run starts"
            ),
        )
    };
    Some(
        UNFUSED
            .finding(severity, name, message)
            .about(Thing::Supply(i))
            .put_in("class, limit, battery.fuse: none"),
    )
}

/// Whether a run passes a fuse or starts at an output of its own.
fn limited(run: &Run) -> bool {
    let fused = run.through.iter().any(|p| matches!(p, Part::Fuse(_)));
    let ends = [run.from, run.to];
    fused || ends.iter().any(|end| matches!(end, End::Output(..)))
}

/// What shares its shorts: the ways from the supplies, cut where a fuse or an output limits them.
/// A part between cuts goes by its topmost thing.
pub(crate) struct Shorts<'s> {
    site: &'s Site,
    results: &'s Results,
    /// The part of each thing that was asked for.
    part: HashMap<Thing, Thing>,
    /// The power runs outdoors that end in each part.
    outside: HashMap<Thing, Vec<usize>>,
}

impl<'s> Shorts<'s> {
    pub(crate) fn of(site: &'s Site, results: &'s Results) -> Self {
        let mut all = Self {
            site,
            results,
            part: HashMap::new(),
            outside: HashMap::new(),
        };
        for (i, run) in site.runs.iter().enumerate() {
            if !is_exposed(run) || !results.is_fitted(site, i) {
                continue;
            }
            if let Some(far) = results.ways.far_end(site, i) {
                let part = all.part_of(far.thing());
                all.outside.entry(part).or_default().push(i);
            }
        }
        all
    }

    /// Climbs to the next cut; each step is taken once.
    fn part_of(&mut self, thing: Thing) -> Thing {
        let mut steps = Vec::new();
        let mut at = thing;
        let top = loop {
            if let Some(top) = self.part.get(&at) {
                break *top;
            }
            steps.push(at);
            let step = at
                .terminals()
                .and_then(|end| self.results.ways.towards(end));
            match step {
                Some((run, from)) if !run.is_some_and(|r| limited(&self.site.runs[r])) => at = from,
                _ => break at,
            }
        };
        self.part.extend(steps.into_iter().map(|step| (step, top)));
        top
    }

    /// The runs outdoors in which a short takes a device down with it, though they do not feed it.
    pub(crate) fn takes_down(&mut self, device: usize) -> Vec<usize> {
        let way = self.results.ways.way_to(End::Device(device));
        let own: Vec<usize> = way.iter().filter_map(|(run, _)| *run).collect();
        let supply = self.results.ways.supply_of(device).map(Thing::Supply);
        let mut parts: Vec<Thing> = Vec::new();
        for thing in supply.into_iter().chain(way.into_iter().map(|step| step.1)) {
            let part = self.part_of(thing);
            // Along a way a part is left once and for all.
            if parts.last() != Some(&part) {
                parts.push(part);
            }
        }
        let runs = parts.iter().filter_map(|part| self.outside.get(part));
        let others = runs.flatten().filter(|run| !own.contains(run));
        others.copied().collect()
    }
}

fn is_exposed(run: &Run) -> bool {
    run.carries.power && run.is_outside()
}

/// One finding for a hub, with the runs that do not keep their shorts to themselves.
fn together(look: &Look<'_>, shorts: &mut Shorts<'_>, i: usize) -> Option<Finding> {
    let site = look.site;
    let hub = &site.devices[i];
    if !hub.is_head() {
        return None;
    }
    let runs = shorts.takes_down(i);
    if runs.is_empty() {
        return None;
    }
    let first = runs.iter().take(MOST_NAMED);
    let names: Vec<&str> = first.map(|run| site.runs[*run].name.as_str()).collect();
    let more = match runs.len() - names.len() {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    let (names, name) = (names.join(", ") + &more, &hub.name);
    let message = format!(
        "a short in {names} outdoors takes {name} down with it: nothing lies between; a fuse or an electronic limiter where the run leaves what it shares with {name}"
    );
    Some(
        TOGETHER
            .finding(Severity::Warn, name, message)
            .about(Thing::Device(i))
            .put_in(format!("no fuse and no output of its own: {names}")),
    )
}
