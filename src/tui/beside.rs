//! What a site file holds beside the network: doors, raceways, cases, cables and the rest.

use crate::checks;
use crate::site::fields::{Field, Holds};
use crate::site::{Edit, FireRelease, MeterOf, Project, Reading, Site, Thing, WithoutPower};
use crate::tui::dialog::Dialog;
use crate::tui::group::Group;
use crate::tui::numbers::Numbers;
use crate::tui::state::State;
use crate::units;

/// What the line over all groups says.
pub(super) fn heading(site: &Site, open: bool) -> String {
    let counts = Group::ALL.iter().filter(|group| !group.is_single());
    let counts: Vec<String> = counts
        .filter_map(|group| {
            let word = group.table();
            match group.count(site) {
                0 => None,
                1 => Some(format!("1 {word}")),
                n => Some(format!("{n} {}", plural(word))),
            }
        })
        .collect();
    let (mark, enter) = if open {
        ("-", "Enter closes")
    } else {
        ("+", "Enter opens")
    };
    let start = std::iter::once("site, design".to_owned());
    let all: Vec<String> = start.chain(counts).collect();
    format!("{mark} beside the network ({enter}): {}", all.join(", "))
}

fn plural(word: &str) -> String {
    match word {
        "bus" => "buses".to_owned(),
        "exclusive" | "accepted" => word.to_owned(),
        _ => format!("{word}s"),
    }
}

/// One table in a few words.
pub(super) fn describe(project: &Project, group: Group, i: usize) -> String {
    let site = project.site();
    let words = match group {
        Group::Door => door(site, i),
        Group::Raceway => raceway(project, i),
        Group::Case => stated(project, group, i, "states", "all idle"),
        Group::Alternate => stated(project, group, i, "set", "nothing set"),
        Group::Design => temperatures(site),
        _ => summary(project, group, i),
    };
    let name = group.name(site, i);
    if group.is_single() || group.is_list() {
        format!("{name}  {words}")
    } else {
        format!("{} {name}  {words}", group.table())
    }
}

/// What the file says of a table, key by key, as far as a line goes.
fn summary(project: &Project, group: Group, i: usize) -> String {
    let path = group.path(project.site(), i);
    let said = |field: &Field| {
        let typed = project.typed(&path, field.key)?;
        Some(match (field.holds, typed.as_str()) {
            (Holds::Table, _) => return None,
            (Holds::Flag, "true") => field.key.to_owned(),
            (Holds::Flag, "false") => format!("not {}", field.key),
            (Holds::Count | Holds::Quantity(..), _) => {
                format!("{} {typed}", field.key)
            }
            _ => typed,
        })
    };
    let words: Vec<String> = group.fields().iter().filter_map(said).collect();
    if words.is_empty() {
        "nothing stated".to_owned()
    } else {
        words.join(", ")
    }
}

/// What lets people out by a door, and what its locks do without power; a mark stands at what is
/// not stated.
fn door(site: &Site, i: usize) -> String {
    let door = &site.doors[i];
    let ways = [
        ("handle", door.hand_release),
        ("sensor", door.sensor),
        ("button", door.button),
        (
            "fire alarm",
            door.fire_release.map(|by| by != FireRelease::No),
        ),
    ];
    let ways = ways.into_iter().filter_map(|(word, there)| match there {
        Some(true) => Some(word.to_owned()),
        Some(false) => None,
        None => Some(format!("{word}?")),
    });
    let ways: Vec<String> = ways.collect();
    let ways = if ways.is_empty() {
        "nothing".to_owned()
    } else {
        ways.join(", ")
    };
    let out = match door.way_out {
        Some(true) => format!("way out by {ways}"),
        Some(false) => "no way out".to_owned(),
        None => format!("way out? by {ways}"),
    };
    let on_it = site.devices.iter().filter(|device| device.door == Some(i));
    let locks = on_it.map(|device| match device.without_power {
        Some(WithoutPower::Unlocked) => format!("{} opens without power", device.name),
        Some(WithoutPower::Locked) => format!("{} stays locked without power", device.name),
        Some(WithoutPower::Unknown) | None => device.name.clone(),
    });
    let all: Vec<String> = std::iter::once(out).chain(locks).collect();
    all.join("; ")
}

/// A raceway and what lies in it.
fn raceway(project: &Project, i: usize) -> String {
    let site = project.site();
    let raceway = &site.raceways[i];
    let path = Group::Raceway.path(site, i);
    let typed = |key: &str| project.typed(&path, key);
    let size = typed("size").or_else(|| typed("inside"));
    let what: Vec<String> = size.into_iter().chain(typed("kind")).collect();
    let inside: Vec<&str> = (site.runs.iter())
        .filter(|run| run.raceway.as_ref() == Some(&raceway.name))
        .map(|run| run.name.as_str())
        .collect();
    let inside = match inside.as_slice() {
        [] => "nothing in it".to_owned(),
        runs => format!("with {}", runs.join(", ")),
    };
    format!("{} {inside}", what.join(" "))
}

/// What stands in a table below: the states that a case sets, the values of an alternate.
fn stated(project: &Project, group: Group, i: usize, key: &str, silent: &str) -> String {
    let path = group.path(project.site(), i);
    let mut below = path.clone();
    below.push(key.to_owned());
    let names = project.keys(&below);
    let said = names.iter().filter_map(|name| {
        let value = project.typed(&path, &format!("{key}.{name}"))?;
        Some(format!("{name} {value}"))
    });
    let said: Vec<String> = said.collect();
    if said.is_empty() {
        silent.to_owned()
    } else {
        said.join(", ")
    }
}

/// The temperatures that all is solved at.
fn temperatures(site: &Site) -> String {
    let t = site.design.temperatures;
    let shown = |t: Option<_>| t.map_or_else(String::new, |t| units::show(t, site.units));
    format!(
        "{}, hot {}, cold {}",
        shown(t.nominal),
        shown(t.hot),
        shown(t.cold)
    )
}

/// A raceway's fill and the most that is allowed, in per cent; nothing else here has numbers.
pub(super) fn numbers(site: &Site, group: Group, i: usize) -> Numbers {
    let raceway = site.raceways.get(i).filter(|_| group == Group::Raceway);
    let Some((fill, most)) = raceway.and_then(|one| checks::raceway_fill(site, one)) else {
        return Numbers::default();
    };
    Numbers {
        now: Some(fill),
        worst: Some(fill),
        limit: Some(most),
        margin: Some(most - fill),
        unit: "%",
    }
}

/// What a finding without a place in the network is about.
pub(super) fn named(site: &Site, code: &str, subject: &str) -> Option<(Group, usize)> {
    if subject == "site" {
        return Some((Group::Site, 0));
    }
    // Doors, raceways and places may share a name: the check says which is meant.
    let meant = |group: &&Group| code.starts_with(group.table());
    let first = Group::ALL.iter().find(meant);
    (first.into_iter().chain(&Group::ALL))
        .find_map(|group| Some((*group, group.find(site, subject)?)))
}

/// Takes a key out of the readings that mention what goes.
fn unsaid(
    site: &Site,
    key: &str,
    mentions: impl Fn(&Reading) -> bool,
    goes: &mut Vec<String>,
    edits: &mut Vec<Edit>,
) {
    for i in (0..site.readings.len()).filter(|i| mentions(&site.readings[*i])) {
        goes.push(format!("{key} of {}", Group::Reading.name(site, i)));
        edits.push(Edit::set("reading", &i.to_string(), key, ""));
    }
}

/// Asks whether to delete a table, and shows what would lose its mention of it.
pub(super) fn remove(state: &State, group: Group, i: usize) -> Option<Dialog> {
    if group.is_single() {
        return None;
    }
    let site = state.site();
    let name = group.name(site, i);
    let (mut goes, mut holds, mut edits) = (Vec::new(), Vec::new(), Vec::new());
    let mut mention = |thing: Thing, key: &str| {
        let of = site.name_of(thing);
        goes.push(format!("{key} of {of}"));
        edits.push(Edit::set(thing.table(), of, key, ""));
    };
    match group {
        Group::Door => {
            for d in (0..site.devices.len()).filter(|d| site.devices[*d].door == Some(i)) {
                mention(Thing::Device(d), "door");
            }
        }
        Group::Raceway => {
            // A run in another's jacket lies where that one lies.
            let own = |r: &usize| {
                let run = &site.runs[*r];
                run.shares.is_none() && run.raceway.as_ref() == Some(&name)
            };
            for r in (0..site.runs.len()).filter(own) {
                mention(Thing::Run(r), "raceway");
            }
        }
        Group::Bus => {
            for r in (0..site.runs.len()).filter(|r| site.runs[*r].bus == Some(i)) {
                mention(Thing::Run(r), "bus");
            }
        }
        Group::Case => unsaid(
            site,
            "case",
            |r| r.case.as_ref() == Some(&name),
            &mut goes,
            &mut edits,
        ),
        Group::Meter => {
            let with = |r: &Reading| r.meter == Some(MeterOf::Named(i));
            unsaid(site, "meter", with, &mut goes, &mut edits);
        }
        Group::Cable => {
            let made = site.runs.iter().filter(|run| run.cable_text == name);
            holds = made
                .map(|run| format!("run {} is made of it", run.name))
                .collect();
        }
        _ => {}
    }
    edits.push(Edit::Delete {
        table: group.path(site, i),
    });
    let name = if group.is_list() {
        name
    } else {
        format!("{} {name}", group.table())
    };
    Some(Dialog::Delete {
        name,
        goes,
        holds,
        edits,
    })
}
