//! Everything that conducts at zero volts, in one case, and the loops that it makes.

use std::collections::{HashMap, HashSet, VecDeque};

use crate::checks::Look;
use crate::circuit::{BranchId, NodeId};
use crate::joined::Joined;
use crate::site::{End, Leg, ShieldBond, Site, Thing, Tie};

/// What conducts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum What {
    /// Inside a device, from its data common to its negative, behind a rectifier that of its dc side.
    Tie(usize),
    /// The negative leg of a run.
    Minus(usize),
    /// The data common of a run.
    Common(usize),
    /// The shield of a run, bonded at both ends.
    Shield(usize),
    /// A bond.
    Bond(usize),
    /// From an earth into the soil.
    Soil(usize),
}

impl What {
    /// As a person calls it.
    pub(super) fn name(self, site: &Site) -> String {
        match self {
            Self::Tie(d) => format!("inside {}", site.devices[d].name),
            Self::Minus(r) => format!("{} minus", site.runs[r].name),
            Self::Common(r) => format!("{} common", site.runs[r].name),
            Self::Shield(r) => format!("{} shield", site.runs[r].name),
            Self::Bond(r) => site.runs[r].name.clone(),
            Self::Soil(e) => format!("soil at {}", site.earths[e].name),
        }
    }

    /// The thing that it belongs to.
    pub(super) fn thing(self) -> Thing {
        match self {
            Self::Tie(d) => Thing::Device(d),
            Self::Minus(r) | Self::Common(r) | Self::Shield(r) | Self::Bond(r) => Thing::Run(r),
            Self::Soil(e) => Thing::Earth(e),
        }
    }

    /// The conductor of a run that it is.
    pub(super) fn leg(self) -> Option<(usize, Leg)> {
        match self {
            Self::Minus(r) => Some((r, Leg::Minus)),
            Self::Common(r) => Some((r, Leg::Common)),
            Self::Shield(r) => Some((r, Leg::Shield)),
            Self::Bond(r) => Some((r, Leg::Plus)),
            Self::Tie(_) | Self::Soil(_) => None,
        }
    }
}

/// One conductor at zero volts between two nodes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Strand {
    pub(super) ends: [NodeId; 2],
    pub(super) what: What,
    /// Its branch in the circuit, where it has ohms.
    pub(super) branch: Option<BranchId>,
}

/// A loop: strands one after the other, each with the node from which it is gone through.
#[derive(Clone, Debug)]
pub(super) struct Loop {
    /// In order; the first is the one that closes it.
    pub(super) strands: Vec<(Strand, NodeId)>,
    /// The first case that has it.
    pub(super) case: usize,
}

/// What conducts at zero volts in a case, ties first, then what carries more of the return.
fn strands(look: &Look<'_>, case: usize) -> Vec<Strand> {
    let (site, template) = (look.site, &look.results.template);
    let terminals = &template.terminals;
    let live = &look.results.live[case];
    let closed = |b: &BranchId| !live.open[*b];
    let mut all = Vec::new();
    for (i, device) in site.devices.iter().enumerate() {
        if matches!(device.tie, Tie::Through(_)) {
            all.push(Strand {
                ends: [terminals.commons[i], terminals.dc_minus[i]],
                what: What::Tie(i),
                branch: None,
            });
        }
    }
    let mut add = |branch: Option<BranchId>, what: What| {
        if let Some(b) = branch.filter(closed) {
            let (from, to) = template.branch_ends(b);
            all.push(Strand {
                ends: [from, to],
                what,
                branch: Some(b),
            });
        }
    };
    for (i, run) in site.runs.iter().enumerate() {
        if run.carries.bond && ![run.from, run.to].iter().any(is_plus) {
            add(template.runs[i].plus, What::Bond(i));
        }
        add(template.runs[i].minus, What::Minus(i));
    }
    for (i, run) in template.runs.iter().enumerate() {
        add(run.common, What::Common(i));
        add(run.shield, What::Shield(i));
    }
    for (i, branch) in template.earths.iter().enumerate() {
        add(*branch, What::Soil(i));
    }
    for (i, run) in site.runs.iter().enumerate() {
        // A shield whose ohms nobody states closes a loop all the same.
        let fitted = run.fitted || look.results.cases[case].fitted.contains(&i);
        if run.shield == Some(ShieldBond::Both) && template.runs[i].shield.is_none() && fitted {
            all.push(Strand {
                ends: [terminals.common(run.from), terminals.common(run.to)],
                what: What::Shield(i),
                branch: None,
            });
        }
    }
    all.retain(|strand| strand.ends[0] != strand.ends[1]);
    all
}

fn is_plus(end: &End) -> bool {
    matches!(end, End::Terminal(_, true))
}

/// The loops of a case, at most so many: every strand that closes one, with the shortest way
/// back over the strands before it. Such loops are independent, and all loops are sums of them.
///
/// Left out: conductors side by side between the same two things, and loops of bonds and soil
/// alone, which carry no return.
pub(super) fn loops(look: &Look<'_>, case: usize, most: usize) -> Vec<Loop> {
    let strands = strands(look, case);
    let mut joined = Joined::apart(look.results.template.terminals.count);
    let closes = |strand: &Strand| {
        let [a, b] = strand.ends;
        let closes = joined.root(a) == joined.root(b);
        joined.join(a, b);
        closes
    };
    let closing: Vec<bool> = strands.iter().map(closes).collect();
    if !closing.contains(&true) {
        return Vec::new();
    }
    let mut at: HashMap<NodeId, Vec<usize>> = HashMap::new();
    let mut found = Vec::new();
    for (i, strand) in strands.iter().enumerate() {
        let [a, b] = strand.ends;
        if closing[i] && found.len() < most {
            let mut way = vec![(*strand, a)];
            way.extend(shortest(&strands, &at, b, a));
            let is_return = |(s, _): &(Strand, NodeId)| {
                matches!(s.what, What::Minus(_) | What::Common(_) | What::Shield(_))
            };
            if way.iter().any(is_return) && !side_by_side(look.site, &way) {
                found.push(Loop { strands: way, case });
            }
        }
        at.entry(a).or_default().push(i);
        at.entry(b).or_default().push(i);
    }
    found
}

/// Whether a loop is nothing but conductors between the same two things.
fn side_by_side(site: &Site, way: &[(Strand, NodeId)]) -> bool {
    let mut pairs = way.iter().filter_map(|(s, _)| match s.what {
        What::Tie(_) => None,
        What::Soil(e) => Some([Thing::Earth(e); 2]),
        What::Minus(r) | What::Common(r) | What::Shield(r) | What::Bond(r) => {
            let mut pair = [site.runs[r].from.thing(), site.runs[r].to.thing()];
            pair.sort();
            Some(pair)
        }
    });
    let first = pairs.next();
    pairs.all(|pair| Some(pair) == first)
}

/// The shortest way from one node to another: its strands, each with the node it starts from.
fn shortest(
    strands: &[Strand],
    at: &HashMap<NodeId, Vec<usize>>,
    start: NodeId,
    goal: NodeId,
) -> Vec<(Strand, NodeId)> {
    let mut before: HashMap<NodeId, usize> = HashMap::new();
    let mut seen = HashSet::from([goal]);
    let mut next = VecDeque::from([goal]);
    // From the goal back, so that the steps come out in order.
    while let Some(node) = next.pop_front() {
        if node == start {
            break;
        }
        for i in at.get(&node).into_iter().flatten() {
            let [a, b] = strands[*i].ends;
            let other = if a == node { b } else { a };
            if seen.insert(other) {
                before.insert(other, *i);
                next.push_back(other);
            }
        }
    }
    let mut way = Vec::new();
    let mut node = start;
    while let Some(i) = before.get(&node).filter(|_| node != goal) {
        way.push((strands[*i], node));
        let [a, b] = strands[*i].ends;
        node = if a == node { b } else { a };
    }
    way
}
