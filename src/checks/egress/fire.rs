//! What a fire alarm does to a lock: whether anything still feeds it once the alarm's relay moved.

use std::collections::{HashMap, VecDeque};

use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look};
use crate::circuit::{BranchId, Live, NodeId};
use crate::diagnostic::Severity;
use crate::site::{Does, Door, FireRelease, Part, Site, Thing, WhichEnd};

pub(crate) const FIRE: Check = Check {
    code: "exit-fire",
    question: "does a fire alarm cut the lock's power, without the hub?",
    formula: "the alarm opens the lock's supply in hardware, its battery's too; with its relay named: in one of its two positions no supply and no battery reaches the lock, every other contact closed",
    source: "the network as drawn; NFPA 101 7.2.1.6.2 and IBC 2015 1010.1.9.8 (secondary copies seen); where your local code asks for it",
};

/// Kinds whose relays are access control, and no alarm.
const ACCESS: [&str; 3] = ["hub", "reader", "keypad"];

/// What holds a lock in spite of the alarm.
struct Held {
    supply: usize,
    /// It lives on its battery alone.
    by_battery: bool,
    /// Runs and contacts from there to the lock.
    way: Vec<String>,
}

/// Judges what a door says of the fire alarm, for one lock that needs power to hold.
pub(super) fn release(
    look: &Look<'_>,
    lock: usize,
    door: &Door,
    asks: &mut Asks,
) -> Option<Finding> {
    let name = &look.site.devices[lock].name;
    let stop = |message: String, numbers: &str| {
        FIRE.finding(Severity::Stop, name, message)
            .about(Thing::Device(lock))
            .put_in(numbers)
    };
    match door.fire_release {
        Some(FireRelease::Said) => None,
        None => {
            let words = "fire_release (whether the alarm cuts the lock's supply in hardware; better, the relay of the alarm that does)";
            asks.add(&door.name, None, words);
            None
        }
        Some(FireRelease::No) => {
            let message = format!(
                "no fire alarm cuts the power of {name} at {}: let a contact of the alarm open the lock's supply, behind its battery",
                door.name
            );
            Some(stop(message, "fire_release = false"))
        }
        Some(FireRelease::By(device, relay)) => {
            let alarm = &look.site.devices[device];
            let part = format!("{}.{}", alarm.name, alarm.relays[relay].name);
            if alarm.kind.as_deref().is_some_and(|k| ACCESS.contains(&k)) {
                let message = format!(
                    "{part} is to let {name} go on a fire alarm, and {} is access control itself: a contact of the alarm opens the lock's supply, with nothing in between that may hang",
                    alarm.name
                );
                return Some(stop(message, &format!("fire_release = {part}")));
            }
            held(look, lock, (device, relay)).map(|(held, asked)| {
                let (message, numbers) = told(look, lock, &part, &held, asked);
                stop(message, &numbers)
            })
        }
    }
}

fn told(
    look: &Look<'_>,
    lock: usize,
    part: &str,
    held: &Held,
    asked: Option<usize>,
) -> (String, String) {
    let site = look.site;
    let (name, supply) = (&site.devices[lock].name, &site.supplies[held.supply].name);
    let by = if held.by_battery {
        "the battery of "
    } else {
        ""
    };
    let way = if held.way.is_empty() {
        "its own terminals".to_owned()
    } else {
        held.way.join(", ")
    };
    let why = asked.map_or_else(String::new, |hub| {
        format!(
            "; the alarm only asks {}, and a hub that hangs lets nobody go",
            site.devices[hub].name
        )
    });
    let message = format!(
        "{part} does not let {name} go: however it stands, {by}{supply} still feeds it by {way}{why}; put the alarm's contact between the lock and all that can feed it, batteries too, with no way around it"
    );
    let numbers = format!("{part} at rest and pulled: {supply} - {way} - {name}");
    (message, numbers)
}

/// What still holds a lock however the alarm's relay stands, and the hub that the alarm asks.
fn held(look: &Look<'_>, lock: usize, relay: (usize, usize)) -> Option<(Held, Option<usize>)> {
    let (off, asked) = released(look.site, relay);
    if off.contains(&Thing::Device(lock)) {
        return None;
    }
    let mut last = None;
    for pulled in [false, true] {
        let mut case = look.whole_case();
        case.relays.push((relay.0, relay.1, pulled));
        let live = look.results.template.live(look.site, &case);
        // One position that lets go is the one that the alarm brings about.
        last = Some(feeding(look, lock, &live, &off)?);
    }
    Some((last?, asked))
}

/// What the alarm switches off by an input that releases, supplies and devices; and a hub that it
/// asks to do so.
fn released(site: &Site, (device, relay): (usize, usize)) -> (Vec<Thing>, Option<usize>) {
    let passes =
        |part: &Part| matches!(part, Part::Contact(d, r, _) if (*d, *r) == (device, relay));
    let (mut off, mut asked) = (Vec::new(), None);
    let contacts = site.runs.iter().filter(|run| {
        run.carries.contact && !run.carries.power && run.fitted && run.through.iter().any(passes)
    });
    for run in contacts {
        for (which, end) in [(WhichEnd::From, run.from), (WhichEnd::To, run.to)] {
            let thing = end.thing();
            let does = site.input_at(run, which).and_then(|input| input.does);
            match thing {
                Thing::Device(d) if d == device => {}
                Thing::Device(d) if site.devices[d].kind.as_deref() == Some("hub") => {
                    asked = Some(d);
                }
                thing if does == Some(Does::Release) => off.push(thing),
                _ => {}
            }
        }
    }
    (off, asked)
}

/// The supply that feeds a lock in spite of what is switched off, and the way from there. Supplies
/// with a battery live on when what feeds them dies.
fn feeding(look: &Look<'_>, lock: usize, live: &Live, off: &[Thing]) -> Option<Held> {
    let (site, terminals) = (look.site, &look.results.template.terminals);
    let at = |pair: [NodeId; 2]| pair.map(|n| live.conductor[n as usize]);
    let count = site.supplies.len();
    let mut given: Vec<bool> = vec![false; count];
    let mut by_battery = vec![false; count];
    let feeds = |given: &[bool], device: usize| {
        let own = at(terminals.devices[device]);
        (0..count).find(|s| given[*s] && at(terminals.supplies[*s]) == own)
    };
    // Each round gives volts to one supply more at least, so it ends.
    loop {
        let next = (0..count).find_map(|s| {
            let supply = &site.supplies[s];
            if given[s] || off.contains(&Thing::Supply(s)) {
                return None;
            }
            let fed = supply.fed_by.is_none_or(|hub| {
                !off.contains(&Thing::Device(hub.0)) && feeds(&given, hub.0).is_some()
            });
            (fed || supply.battery.is_some()).then_some((s, !fed))
        });
        let Some((s, battery)) = next else { break };
        (given[s], by_battery[s]) = (true, battery);
    }
    let supply = match feeds(&given, lock) {
        Some(supply) => supply,
        // Supplies in series reach it together.
        None if off.is_empty() && live.devices[lock] => look.results.ways.supply_of(lock)?,
        None => return None,
    };
    Some(Held {
        supply,
        by_battery: by_battery[supply],
        way: way(look, live, supply, lock),
    })
}

/// The runs and contacts of the shortest way from a supply's positive to a lock's.
fn way(look: &Look<'_>, live: &Live, supply: usize, lock: usize) -> Vec<String> {
    let (site, template) = (look.site, &look.results.template);
    let (start, goal) = (
        template.terminals.supplies[supply][0],
        template.terminals.devices[lock][0],
    );
    let mut at: HashMap<NodeId, Vec<(NodeId, BranchId)>> = HashMap::new();
    for branch in (0..live.open.len()).filter(|b| !live.open[*b]) {
        let (a, b) = template.branch_ends(branch);
        at.entry(a).or_default().push((b, branch));
        at.entry(b).or_default().push((a, branch));
    }
    let mut before: HashMap<NodeId, (NodeId, BranchId)> = HashMap::new();
    let mut next = VecDeque::from([goal]);
    while let Some(node) = next.pop_front() {
        for (other, branch) in at.get(&node).into_iter().flatten() {
            if *other != goal && !before.contains_key(other) {
                before.insert(*other, (node, *branch));
                next.push_back(*other);
            }
        }
    }
    let name = |branch: BranchId| {
        let parts = template.parts.iter().find(|(_, b)| *b == branch);
        let run = || template.runs.iter().position(|r| r.plus == Some(branch));
        parts
            .map(|(part, _)| site.part_text(*part))
            .or_else(|| run().map(|r| site.runs[r].name.clone()))
    };
    let mut names = Vec::new();
    let mut node = start;
    while let Some((towards, branch)) = before.get(&node).filter(|_| node != goal) {
        names.extend(name(*branch));
        node = *towards;
    }
    names
}
