//! The network as lines: every supply with what hangs on it, the way the current goes.

use std::collections::HashMap;

use crate::results::Ways;
use crate::site::{End, Site, Thing};

/// What a line is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Item {
    /// A thing with a name of its own.
    Thing(Thing),
    /// An output of a supply.
    Output(usize, usize),
}

/// One line of the network.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// What it is about.
    pub item: Item,
    /// The branches of the tree before it.
    pub stem: String,
    /// Where a run leads that closes a loop or carries no power: shown behind it.
    pub leads_to: Option<String>,
}

/// Lays the site out as lines; everything in it has exactly one.
pub(super) fn lines(site: &Site, ways: &Ways) -> Vec<Line> {
    let mut tree = Tree {
        site,
        children: HashMap::new(),
        others: HashMap::new(),
        lines: Vec::new(),
    };
    let ends = (0..site.devices.len())
        .map(End::Device)
        .chain((0..site.junctions.len()).map(End::Junction));
    let mut used = vec![false; site.runs.len()];
    let mut roots: Vec<Thing> = (0..site.supplies.len()).map(Thing::Supply).collect();
    // A fed supply hangs on its device, where that does not hang on it in turn.
    roots.retain(|root| match root {
        Thing::Supply(i) => match site.supplies[*i].fed_by {
            Some(device) if ways.supply_of(device.0).is_some_and(|s| s != *i) => {
                tree.children
                    .entry(Thing::Device(device.0))
                    .or_default()
                    .push((None, *root));
                false
            }
            _ => true,
        },
        _ => true,
    });
    for end in ends {
        let thing = match end {
            End::Device(i) => Thing::Device(i),
            End::Junction(i) => Thing::Junction(i),
            _ => continue,
        };
        match ways.towards(end) {
            Some((run, parent)) => {
                if let Some(run) = run {
                    used[run] = true;
                }
                tree.children.entry(parent).or_default().push((run, thing));
            }
            None => roots.push(thing),
        }
    }
    for (i, run) in site.runs.iter().enumerate().filter(|(i, _)| !used[*i]) {
        tree.others.entry(run.from.thing()).or_default().push(i);
    }
    for root in roots {
        tree.thing(root, "", "");
    }
    for i in 0..site.fuses.len() {
        tree.thing(Thing::Fuse(i), "", "");
    }
    for i in 0..site.earths.len() {
        tree.thing(Thing::Earth(i), "", "");
    }
    tree.lines
}

struct Tree<'s> {
    site: &'s Site,
    children: HashMap<Thing, Vec<(Option<usize>, Thing)>>,
    others: HashMap<Thing, Vec<usize>>,
    lines: Vec<Line>,
}

impl Tree<'_> {
    /// A thing, and below it what hangs on it.
    ///
    /// A chain of a thousand junctions must not overflow the stack, so what is still to come
    /// waits in a list.
    fn thing(&mut self, root: Thing, first: &str, rest: &str) {
        let mut waiting = vec![(None, root, first.to_owned(), rest.to_owned())];
        while let Some((run, thing, first, rest)) = waiting.pop() {
            if let Some(run) = run {
                self.line(Item::Thing(Thing::Run(run)), first, None);
                self.line(Item::Thing(thing), rest.clone(), None);
            } else {
                self.line(Item::Thing(thing), first, None);
            }
            if let Thing::Supply(i) = thing {
                for o in 0..self.site.supplies[i].outputs.len() {
                    self.line(Item::Output(i, o), format!("{rest}· "), None);
                }
            }
            let below = self.children.remove(&thing).unwrap_or_default();
            let beside = self.others.remove(&thing).unwrap_or_default();
            for run in &beside {
                let to = self.site.end_text(self.site.runs[*run].to);
                let last = below.is_empty() && run == &beside[beside.len() - 1];
                let stem = format!("{rest}{}", if last { "└ " } else { "├ " });
                self.line(Item::Thing(Thing::Run(*run)), stem, Some(to));
            }
            for (k, (run, child)) in below.iter().enumerate().rev() {
                let last = k + 1 == below.len();
                let first = format!("{rest}{}", if last { "└ " } else { "├ " });
                let next = format!("{rest}{}", if last { "  " } else { "│ " });
                waiting.push((*run, *child, first, next));
            }
        }
    }

    fn line(&mut self, item: Item, stem: String, leads_to: Option<String>) {
        self.lines.push(Line {
            item,
            stem,
            leads_to,
        });
    }
}
