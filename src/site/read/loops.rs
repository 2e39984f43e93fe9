//! Loops of `fed_by` and of `on`, which no site can have.

use crate::joined::Joined;
use crate::site::form::{Mistakes, table_of};
use crate::site::model::{End, Site};
use crate::site::value::{Place, Table};

/// What stands on what, or is fed by what: supplies, then devices, then junctions.
struct Graph {
    next: Vec<Option<usize>>,
}

/// Says where things feed themselves or sit on themselves.
pub(crate) fn check(top: &Table<'_>, site: &Site, mistakes: &mut Mistakes) {
    let (s, d) = (site.supplies.len(), site.devices.len());
    let index = |end: End| match end {
        End::Supply(i) | End::Output(i, _) => Some(i),
        End::Device(i) => Some(s + i),
        End::Junction(i) => Some(s + d + i),
        End::Earth(_) | End::Terminal(..) => None,
    };
    let name = |i: usize| match i {
        i if i < s => ("supply", &site.supplies[i].name),
        i if i < s + d => ("device", &site.devices[i - s].name),
        i => ("junction", &site.junctions[i - s - d].name),
    };
    let on = |on: Option<End>| on.and_then(index);
    let supplies = site.supplies.iter().map(|x| on(x.on));
    let devices = site.devices.iter().map(|x| on(x.on));
    let junctions = site.junctions.iter().map(|x| on(x.on));
    let sits = Graph {
        next: supplies.chain(devices).chain(junctions).collect(),
    };
    for i in sits.loops() {
        let (kind, thing) = name(i);
        mistakes
            .add(
                &place(top, kind, thing, "on"),
                format!("'{thing}' sits on itself in the end"),
            )
            .allow("a chain of 'on' ends at a thing with a run");
    }
    for i in feeding(site).loops() {
        let thing = &site.supplies[i].name;
        mistakes
            .add(
                &place(top, "supply", thing, "fed_by"),
                format!("supply '{thing}' feeds itself in the end"),
            )
            .allow("a chain of 'fed_by' ends at a device with another supply");
    }
}

/// For each fed supply that nothing but fed supplies can ever keep alive: one of those.
fn feeding(site: &Site) -> Graph {
    let (s, d) = (site.supplies.len(), site.devices.len());
    let mut groups = Joined::apart(s + d + site.junctions.len());
    let index = |end: End| match end {
        End::Supply(i) | End::Output(i, _) => Some(i),
        End::Device(i) => Some(s + i),
        End::Junction(i) => Some(s + d + i),
        End::Earth(_) | End::Terminal(..) => None,
    };
    let mut join = |a: Option<usize>, b: Option<usize>| {
        let small = |i: Option<usize>| i.and_then(|i| u32::try_from(i).ok());
        if let (Some(a), Some(b)) = (small(a), small(b)) {
            groups.join(a, b);
        }
    };
    for run in site.runs.iter().filter(|r| r.carries.power) {
        join(index(run.from), index(run.to));
    }
    for (i, supply) in site.supplies.iter().enumerate() {
        join(Some(i), supply.on.and_then(index));
    }
    for (i, device) in site.devices.iter().enumerate() {
        join(Some(s + i), device.on.and_then(index));
    }
    for (i, junction) in site.junctions.iter().enumerate() {
        join(Some(s + d + i), junction.on.and_then(index));
    }
    let group = groups.roots();
    let mut alive: Vec<bool> = site.supplies.iter().map(|x| x.fed_by.is_none()).collect();
    let mut live: std::collections::HashSet<u32> =
        (0..s).filter(|i| alive[*i]).map(|i| group[i]).collect();
    let mut grew = true;
    while grew {
        grew = false;
        for (i, supply) in site.supplies.iter().enumerate() {
            if !alive[i]
                && supply
                    .fed_by
                    .is_some_and(|f| live.contains(&group[s + f.0]))
            {
                (alive[i], grew) = (true, true);
                live.insert(group[i]);
            }
        }
    }
    let one_in: std::collections::HashMap<u32, usize> =
        (0..s).rev().map(|i| (group[i], i)).collect();
    let next = site.supplies.iter().enumerate().map(|(i, supply)| {
        let device = supply.fed_by.filter(|_| !alive[i])?;
        one_in.get(&group[s + device.0]).copied()
    });
    Graph {
        next: next.collect(),
    }
}

fn place(top: &Table<'_>, kind: &str, name: &str, key: &str) -> Place {
    let inner = table_of(&top.entry(kind)?.value)?;
    let thing = table_of(&inner.entry(name)?.value)?;
    thing.entry(key)?.value.place.clone()
}

impl Graph {
    /// The smallest member of each loop.
    fn loops(&self) -> Vec<usize> {
        let mut seen = vec![0_usize; self.next.len()];
        let mut found = Vec::new();
        for start in 0..self.next.len() {
            let mark = start + 1;
            let mut at = start;
            while seen[at] == 0 {
                seen[at] = mark;
                match self.next[at] {
                    Some(next) => at = next,
                    None => break,
                }
            }
            if seen[at] == mark && self.next[at].is_some() && self.returns(at) {
                found.push(at);
            }
        }
        found
    }

    fn returns(&self, start: usize) -> bool {
        let mut at = start;
        for _ in 0..self.next.len() {
            match self.next[at] {
                Some(next) if next == start => return true,
                Some(next) => at = next,
                None => return false,
            }
        }
        false
    }
}
