//! The network as lines: every supply with what hangs on it, the way the current goes.

use crate::grouped::Grouped;
use crate::results::Ways;
use crate::site::{End, Site, Thing};
use crate::tui::group::Group;

/// What a line is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Item {
    /// A thing with a name of its own.
    Thing(Thing),
    /// An output of a supply.
    Output(usize, usize),
    /// The line that opens and closes what stands beside the network.
    Beside,
    /// One table of that.
    Table(Group, usize),
}

/// One line of the network.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// What it is about.
    pub item: Item,
    /// It is a run that closes a loop or carries no power: where it leads is shown behind it.
    pub leads: bool,
    joint: Joint,
}

/// How a line hangs on another, of which it has the index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Joint {
    /// On none.
    Root,
    /// As a branch of it, perhaps the last.
    Branch(usize, bool),
    /// Behind the run of the line above, which is such a branch.
    Behind(usize, bool),
    /// As an output of it.
    Output(usize),
    /// Under the line of what stands beside the network.
    Inside,
}

/// The branches of the tree that are drawn before a line.
///
/// They are put together only for the lines in sight: in a long chain they are long.
pub(super) fn stem(lines: &[Line], i: usize) -> String {
    let (under, end) = match lines[i].joint {
        Joint::Root => return String::new(),
        Joint::Inside => return "  ".to_owned(),
        Joint::Branch(under, last) => (under, if last { "└ " } else { "├ " }),
        Joint::Behind(under, last) => (under, past(last)),
        Joint::Output(under) => (under, "· "),
    };
    let mut pieces = vec![end];
    let mut at = under;
    while let Joint::Branch(under, last) | Joint::Behind(under, last) = lines[at].joint {
        pieces.push(past(last));
        at = under;
    }
    pieces.into_iter().rev().collect()
}

/// What is drawn beside all that hangs on a branch.
fn past(last: bool) -> &'static str {
    if last { "  " } else { "│ " }
}

/// Lays the site out as lines: the network, in which everything has exactly one, and then what
/// stands beside it, under one line that is `open` or not.
pub(super) fn lines(site: &Site, ways: &Ways, open: bool) -> Vec<Line> {
    let mut children: Vec<(Thing, Hung)> = Vec::new();
    let mut roots: Vec<Thing> = (0..site.supplies.len()).map(Thing::Supply).collect();
    // A fed supply hangs on its device, where that does not hang on it in turn.
    roots.retain(|root| match root {
        Thing::Supply(i) => match site.supplies[*i].fed_by {
            Some(device) if ways.supply_of(device.0).is_some_and(|s| s != *i) => {
                children.push((Thing::Device(device.0), (None, *root)));
                false
            }
            _ => true,
        },
        _ => true,
    });
    let mut used = vec![false; site.runs.len()];
    let ends = (0..site.devices.len()).map(|i| (End::Device(i), Thing::Device(i)));
    let junctions = (0..site.junctions.len()).map(|i| (End::Junction(i), Thing::Junction(i)));
    for (end, thing) in ends.chain(junctions) {
        match ways.towards(end) {
            Some((run, parent)) => {
                if let Some(run) = run {
                    used[run] = true;
                }
                children.push((parent, (run, thing)));
            }
            None => roots.push(thing),
        }
    }
    let others = site.runs.iter().enumerate().filter(|(i, _)| !used[*i]);
    let mut tree = Tree {
        site,
        children: Grouped::new(children),
        others: Grouped::new(others.map(|(i, run)| (run.from.thing(), i))),
        lines: Vec::new(),
    };
    let fuses = (0..site.fuses.len()).map(Thing::Fuse);
    let earths = (0..site.earths.len()).map(Thing::Earth);
    for root in roots.into_iter().chain(fuses).chain(earths) {
        tree.thing(root);
    }
    tree.beside(open);
    tree.lines
}

/// What hangs on a thing, and the run by which it does.
type Hung = (Option<usize>, Thing);

struct Tree<'s> {
    site: &'s Site,
    children: Grouped<Thing, Hung>,
    others: Grouped<Thing, usize>,
    lines: Vec<Line>,
}

impl Tree<'_> {
    /// A thing, and below it what hangs on it.
    ///
    /// A chain of a thousand junctions must not overflow the stack, so what is still to come
    /// waits in a list.
    fn thing(&mut self, root: Thing) {
        let mut waiting = vec![((None, root), Joint::Root)];
        while let Some(((run, thing), joint)) = waiting.pop() {
            let own = match (run, joint) {
                (Some(run), Joint::Branch(under, last)) => {
                    push(&mut self.lines, Item::Thing(Thing::Run(run)), joint);
                    let behind = Joint::Behind(under, last);
                    push(&mut self.lines, Item::Thing(thing), behind)
                }
                _ => push(&mut self.lines, Item::Thing(thing), joint),
            };
            if let Thing::Supply(i) = thing {
                for o in 0..self.site.supplies[i].outputs.len() {
                    push(&mut self.lines, Item::Output(i, o), Joint::Output(own));
                }
            }
            let (below, beside) = (self.children.of(thing), self.others.of(thing));
            let (children, others) = (below.len(), beside.len());
            for (k, run) in beside.enumerate() {
                let last = children == 0 && k + 1 == others;
                let item = Item::Thing(Thing::Run(*run));
                let line = push(&mut self.lines, item, Joint::Branch(own, last));
                self.lines[line].leads = true;
            }
            for (k, hung) in below.enumerate().rev() {
                waiting.push((*hung, Joint::Branch(own, k + 1 == children)));
            }
        }
    }

    /// What is no part of the network.
    fn beside(&mut self, open: bool) {
        push(&mut self.lines, Item::Beside, Joint::Root);
        for group in Group::ALL.into_iter().filter(|_| open) {
            for i in 0..group.count(self.site) {
                push(&mut self.lines, Item::Table(group, i), Joint::Inside);
            }
        }
    }
}

/// Adds a line, and returns its index.
fn push(lines: &mut Vec<Line>, item: Item, joint: Joint) -> usize {
    lines.push(Line {
        item,
        leads: false,
        joint,
    });
    lines.len() - 1
}
