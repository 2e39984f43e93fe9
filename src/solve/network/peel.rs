//! The currents of ideal sources: what is left at their nodes, from the leaves in.

use crate::circuit::Circuit;
use crate::solve::index;
use crate::solve::plan::Merge;

/// One step of finding the currents of the ideal sources of a group, from the leaves in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Peel {
    pub(super) source: usize,
    pub(super) leaf: u32,
    pub(super) inner: u32,
    pub(super) leaf_is_plus: bool,
}

/// Orders the sources that hold groups together so that each, in turn, is its node's last.
pub(super) fn peels(circuit: &Circuit, merge: &Merge) -> Vec<Peel> {
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); circuit.nodes];
    for (k, source) in circuit
        .sources
        .iter()
        .enumerate()
        .filter(|(k, _)| merge.holds[*k])
    {
        at[source.plus as usize].push(k);
        at[source.minus as usize].push(k);
    }
    let mut left: Vec<usize> = at.iter().map(Vec::len).collect();
    let mut done = vec![false; circuit.sources.len()];
    let mut leaves: Vec<u32> = (0..index(circuit.nodes))
        .filter(|node| left[*node as usize] == 1)
        .collect();
    let mut peels = Vec::new();
    while let Some(leaf) = leaves.pop() {
        let Some(&k) = at[leaf as usize].iter().find(|k| !done[**k]) else {
            continue;
        };
        let source = &circuit.sources[k];
        let leaf_is_plus = source.plus == leaf;
        let inner = if leaf_is_plus {
            source.minus
        } else {
            source.plus
        };
        done[k] = true;
        left[inner as usize] -= 1;
        if left[inner as usize] == 1 {
            leaves.push(inner);
        }
        peels.push(Peel {
            source: k,
            leaf,
            inner,
            leaf_is_plus,
        });
    }
    peels
}
