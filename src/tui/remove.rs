//! Deleting a thing: what hangs on it goes with it, or holds it.

use crate::site::{Edit, End, FireRelease, Part, PostFuse, Site, Thing, Whole};
use crate::tui::beside;
use crate::tui::dialog::Dialog;
use crate::tui::state::State;
use crate::tui::tree::Item;

/// Asks whether to delete the selected thing, and shows what hangs on it.
pub(crate) fn dialog(state: &State) -> Option<Dialog> {
    let site = state.site();
    let item = state.item()?;
    if let Item::Table(group, i) = item {
        return beside::remove(state, group, i);
    }
    let Item::Thing(thing) = item else {
        let Item::Output(s, o) = item else {
            return None;
        };
        let supply = &site.supplies[s];
        let table = ["supply", &supply.name, "output", &supply.outputs[o].name]
            .map(str::to_owned)
            .to_vec();
        let holds = runs_at(site, |end| {
            end == End::Output(s, o)
                || matches!(end, End::Terminal(Whole::Output(a, b), _) if (a, b) == (s, o))
        });
        let holds = holds
            .into_iter()
            .map(|i| format!("run {} starts or ends there", site.runs[i].name))
            .collect();
        return Some(Dialog::Delete {
            name: state.name(item),
            goes: Vec::new(),
            holds,
            edits: vec![Edit::Delete { table }],
        });
    };
    let name = site.name_of(thing).to_owned();
    let delete = |kind: &str, name: &str| Edit::Delete {
        table: vec![kind.into(), name.into()],
    };
    let runs = runs_at(site, |end| end.thing() == thing);
    let mut goes: Vec<String> = runs
        .iter()
        .map(|i| format!("run {}", site.runs[*i].name))
        .collect();
    let mut edits: Vec<Edit> = runs
        .iter()
        .map(|i| delete("run", &site.runs[*i].name))
        .collect();
    let taken = readings_of(site, thing, &runs);
    goes.extend(taken.iter().map(|i| format!("reading {}", i + 1)));
    // The last first: what stands behind a reading moves up when it goes.
    let taken = taken.iter().rev();
    edits.extend(taken.map(|i| delete("reading", &i.to_string())));
    edits.push(delete(thing.table(), &name));
    let gone: Vec<usize> = runs
        .iter()
        .copied()
        .chain(if let Thing::Run(i) = thing {
            Some(i)
        } else {
            None
        })
        .collect();
    for case in &site.cases {
        if let Thing::Device(d) = thing
            && case.states.iter().any(|(device, _)| *device == d)
        {
            goes.push(format!("its state in case {}", case.name));
            edits.push(Edit::Set {
                table: vec!["case".into(), case.name.clone()],
                key: format!("states.{name}"),
                text: String::new(),
            });
        }
    }
    let holds = holds(site, thing, &gone);
    Some(Dialog::Delete {
        name,
        goes,
        holds,
        edits,
    })
}

/// The readings that were taken at a thing or at one of the runs that go with it.
fn readings_of(site: &Site, thing: Thing, runs: &[usize]) -> Vec<usize> {
    let goes = |at: Thing| at == thing || runs.iter().any(|run| at == Thing::Run(*run));
    (0..site.readings.len())
        .filter(|i| site.readings[*i].at.things().any(goes))
        .collect()
}

fn runs_at(site: &Site, is_it: impl Fn(End) -> bool) -> Vec<usize> {
    (0..site.runs.len())
        .filter(|i| is_it(site.runs[*i].from) || is_it(site.runs[*i].to))
        .collect()
}

/// References that would point at nothing: they have to go first.
fn holds(site: &Site, thing: Thing, gone: &[usize]) -> Vec<String> {
    let mut holds = Vec::new();
    for run in site
        .runs
        .iter()
        .enumerate()
        .filter(|(i, _)| !gone.contains(i))
        .map(|(_, r)| r)
    {
        let passes = run.through.iter().any(|part| match (*part, thing) {
            (Part::Fuse(i), Thing::Fuse(j)) => i == j,
            (Part::Contact(d, ..), Thing::Device(j)) => d == j,
            _ => false,
        });
        if passes {
            holds.push(format!("run {} goes through it", run.name));
        }
    }
    let sits = |on: Option<End>| on.is_some_and(|end| end.thing() == thing);
    for supply in &site.supplies {
        if sits(supply.on) || supply.fed_by.is_some_and(|d| Thing::Device(d.0) == thing) {
            holds.push(format!("supply {} lives on it", supply.name));
        }
        let fuse = supply.battery.as_ref().and_then(|battery| battery.fuse);
        if let (Some(PostFuse::Named(i)), Thing::Fuse(j)) = (fuse, thing)
            && i == j
        {
            holds.push(format!("it stands at the battery of {}", supply.name));
        }
    }
    for device in site.devices.iter().filter(|d| sits(d.on)) {
        holds.push(format!("device {} sits on it", device.name));
    }
    for junction in site.junctions.iter().filter(|j| sits(j.on)) {
        holds.push(format!("junction {} sits on it", junction.name));
    }
    for door in &site.doors {
        if let Some(FireRelease::By(d, _)) = door.fire_release
            && Thing::Device(d) == thing
        {
            holds.push(format!("door {} is let go by it", door.name));
        }
    }
    for bus in &site.buses {
        let named = bus.terminators.iter().flatten().copied();
        let mut named = named.chain(bus.bias_at.iter().copied());
        if named.any(|d| Thing::Device(d) == thing) {
            holds.push(format!("bus {} names it", bus.name));
        }
    }
    for surge in &site.surges {
        if gone.contains(&surge.line) || surge.earth.is_some_and(|e| Thing::Earth(e) == thing) {
            holds.push(format!("surge part {} names it", surge.name));
        }
    }
    for case in &site.cases {
        let run = case
            .broken
            .iter()
            .map(|(r, _)| r)
            .chain(&case.fitted)
            .any(|r| gone.contains(r));
        let relay = case.relays.iter().any(|(d, ..)| Thing::Device(*d) == thing);
        if run || relay {
            holds.push(format!("case {} names it", case.name));
        }
    }
    holds
}
