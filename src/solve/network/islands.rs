//! What conducts to what: islands of rows, where each has its zero, and what lies between two.

use super::{Link, Network};
use crate::circuit::Circuit;
use crate::joined::Joined;
use crate::solve::element::Flow;
use crate::solve::index;

impl Network {
    /// Finds which rows conduct to one another.
    pub(super) fn find_islands(&mut self) {
        let mut joined = Joined::apart(self.rows() + 1);
        for wire in self.wires.iter().filter(|wire| wire.siemens > 0.0) {
            joined.join(wire.rows.0, wire.rows.1);
        }
        for draw in self.draws.iter().filter(|draw| draw.flow.siemens() > 0.0) {
            joined.join(draw.rows.0, draw.rows.1);
        }
        self.island = joined.roots();
    }

    /// Fixes the potential of one row in each island.
    ///
    /// The minus of an island's first live source is its zero, or else its first row.
    pub(super) fn ground(&mut self, circuit: &Circuit) {
        for row in self.fixed.drain(..) {
            self.is_fixed[row as usize] = false;
            self.start[row as usize] = 0.0;
        }
        let mut has_zero = vec![false; self.island.len()];
        let mut fix = |row: usize, volts: f64| {
            if !std::mem::replace(&mut has_zero[self.island[row] as usize], true) {
                self.is_fixed[row] = true;
                self.start[row] = volts;
                self.fixed.push(index(row));
            }
        };
        for source in circuit.sources.iter().filter(|source| source.live) {
            let minus = source.minus as usize;
            let row = self.plan.row[self.merge.group[minus] as usize] as usize;
            fix(row, -self.merge.offset[minus]);
        }
        for row in 0..self.plan.symbolic.rows() {
            fix(row, 0.0);
        }
        self.fixed.sort_unstable();
        let before = |row: usize| self.fixed.partition_point(|fixed| (*fixed as usize) < row);
        let ends = self.plan.blocks.iter().map(|block| before(block.rows.end));
        self.fixed_start = std::iter::once(0).chain(ends).collect();
    }

    pub(super) fn fill_links(&mut self, circuit: &Circuit) {
        let link = |feed: &crate::circuit::Feed| Link {
            source: feed.source,
            gain: if circuit.sources[feed.source].live {
                feed.efficiency.recip()
            } else {
                0.0
            },
        };
        self.links.clear();
        self.links.extend(circuit.feeds.iter().map(link));
    }

    pub(super) fn mark_torn(&mut self) {
        (self.torn_load, self.torn_feed) = (false, false);
        for draw in &mut self.draws {
            if self.island[draw.rows.0 as usize] == self.island[draw.rows.1 as usize] {
                continue;
            }
            match draw.flow {
                Flow::Current(drawn) | Flow::Power(drawn) if drawn != 0.0 => self.torn_load = true,
                Flow::Feed(feed) => {
                    self.torn_feed = true;
                    self.links[feed].gain = 0.0;
                    draw.flow = Flow::Open;
                }
                _ => {}
            }
        }
    }

    /// Follows the feeds from island to island; coupled if that never ends.
    pub(super) fn is_coupled(&self) -> bool {
        let mut depth = vec![0_usize; self.island.len()];
        let at = |element: usize| {
            let (row, _) = self.row(self.nodes[element].0 as usize);
            self.island[row] as usize
        };
        for _ in 0..=self.links.len().min(100) {
            let mut changed = false;
            for (k, link) in self
                .links
                .iter()
                .enumerate()
                .filter(|(_, link)| link.gain > 0.0)
            {
                let from = at(self.branches + link.source);
                let to = at(self.wires.len() + self.loads + k);
                if depth[to] <= depth[from] {
                    depth[to] = depth[from] + 1;
                    changed = true;
                }
            }
            if !changed {
                return false;
            }
        }
        true
    }
}
