//! The fuse at the post of a battery.

use super::One;
use crate::checks::{Check, Finding};
use crate::diagnostic::Severity;
use crate::site::{PostFuse, Thing};

pub(crate) const FUSE: Check = Check {
    code: "battery-fuse",
    question: "is there a fuse at the post of the battery?",
    formula: "a fuse within reach of the post, before anything else",
    source: "common practice, no source: a short across even a small battery draws over 100 A",
};

/// A battery about whose fuse nothing is said is taken for one without: the first thing that is
/// done with a battery is to connect it, and then it is too late to ask.
pub(super) fn check(one: &One<'_>, found: &mut Vec<Finding>) {
    let name = &one.supply.name;
    let message = match one.battery.fuse {
        Some(PostFuse::Named(_) | PostFuse::Rated(_)) => return,
        Some(PostFuse::None) => format!(
            "the battery of {name} has no fuse: a short makes wire glow before anything trips; put a fuse at its post first"
        ),
        None => format!(
            "nothing is said about a fuse at the battery of {name}: do not connect it before there is one at its post; then write fuse = \"10 A\", or the name of the fuse"
        ),
    };
    found.push(
        FUSE.finding(Severity::Stop, name, message)
            .about(Thing::Supply(one.discharge.supply)),
    );
}
