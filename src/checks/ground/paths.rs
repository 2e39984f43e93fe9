//! Every loop at zero volts as a path, and how the return divides in it.

use crate::checks::ground::loops::{Names, find, worst};
use crate::checks::{GroundPath, Look, Way};

/// The loops of a site.
pub(crate) fn paths(look: &Look<'_>) -> Vec<GroundPath> {
    let names = Names::of(look);
    let loops = find(look);
    let told = loops.iter().map(|one| {
        let mut path = GroundPath {
            path: names.path(look.site, one),
            thing: one.strands[0].0.what.thing(),
            at: String::new(),
            ways: Vec::new(),
            worst: None,
        };
        if let Some((split, row)) = worst(look, one) {
            let total = split.ways[0].1 + split.ways[1].1;
            path.at = names.get(split.at).to_owned();
            path.worst = Some((row.case, row.corner));
            path.ways = split
                .ways
                .iter()
                .map(|(strand, amps)| Way {
                    name: strand.what.name(look.site),
                    branch: strand.branch,
                    amps: *amps,
                    share: amps / total,
                })
                .collect();
        }
        path
    });
    told.collect()
}
