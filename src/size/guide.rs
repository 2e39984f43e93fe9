//! What a tree of runs costs at least outside of a part of it, if any mixture of two choices
//! could be had: the guides by which `pareto` leaves hopeless designs.
//!
//! In one row the least cost below a node falls with the volts that it is given, and the least
//! cost above rises with them; with mixtures both are convex and made of straight pieces, and
//! follow from one another run by run. Where several rows ask, a part costs in no row less than
//! another row makes it cost with the most volts that can reach it there.

use crate::size::convex::{Convex, Polyline};
use crate::size::forest::FAR_BELOW;
use crate::size::pareto::{Asks, Problem, ROUNDING_V};

/// Runs below one run from which on the single ones among them get no guide of their own: their
/// lists are short, and each guide is as long as all of them together.
const MANY: usize = 150;

/// Guides of one tree: by place in it, row after row.
#[derive(Debug)]
pub(crate) struct Guides {
    /// No design of the tree costs less.
    pub(crate) least: f64,
    rows: usize,
    /// Least cost outside a run with all below it, by minus the volts that it asks for.
    outside: Vec<Option<Polyline>>,
    /// The same outside the runs below a run, up to each of them.
    joined: Vec<Vec<Option<Polyline>>>,
    /// Least cost above and below the node at the far end of a run.
    nodes: Vec<Option<(Convex, Convex)>>,
}

/// One row's functions while they are made.
struct Row {
    hulls: Vec<Convex>,
    /// Below the node at the far end, and with the run itself.
    node: Vec<Convex>,
    inside: Vec<Convex>,
    /// Most volts at the near end.
    most_v: Vec<f64>,
}

impl Guides {
    /// The guides of a tree; `None` where nothing keeps what a row asks.
    pub(crate) fn of(problem: &Problem<'_>, tree: &[usize]) -> Option<Self> {
        let mut place = vec![usize::MAX; problem.options.open.len()];
        for (i, e) in tree.iter().enumerate() {
            place[*e] = i;
        }
        let below = |i: usize| problem.forest.below[tree[i]].iter().map(|e| place[*e]);
        let count = problem.rows.len();
        let mut rows = (0..count)
            .map(|r| Row::of(problem, tree, r, &place))
            .collect::<Option<Vec<Row>>>()?;
        for i in (0..tree.len()).rev() {
            for (row, asked) in rows.iter_mut().zip(&problem.rows) {
                let need = Convex::flat(asked.need_v[tree[i]].max(FAR_BELOW), 0.0);
                row.node[i] = below(i).fold(need, |sum, c| sum.beside(&row.inside[c]));
                row.inside[i] = row.hulls[i].after(&row.node[i]);
            }
            let each: Vec<f64> = rows.iter().map(|r| r.inside[i].at(r.most_v[i])).collect();
            let floor = each.into_iter().fold(0.0, f64::max);
            if !floor.is_finite() {
                return None;
            }
            for row in &mut rows {
                row.inside[i] = row.inside[i].no_less(floor);
            }
        }
        let least = rows.iter().map(|r| r.inside[0].at(ROUNDING_V));
        let mut guides = Self {
            least: least.fold(0.0, f64::max),
            rows: count,
            outside: vec![None; tree.len() * count],
            joined: vec![Vec::new(); tree.len() * count],
            nodes: vec![None; tree.len() * count],
        };
        for (r, row) in rows.iter().enumerate() {
            let mut outside = vec![None; tree.len()];
            outside[0] = Some(Convex::flat(-ROUNDING_V, 0.0));
            for i in 0..tree.len() {
                let Some(own): Option<Convex> = outside[i].take() else {
                    continue;
                };
                let above = row.hulls[i].after(&own);
                guides.outside[i * count + r] = Some(Polyline::of(&own));
                let need = problem.rows[r].need_v[tree[i]].max(FAR_BELOW);
                let children: Vec<usize> = below(i).collect();
                // What stands beside each: all before it and all behind it.
                let many = children.len() > MANY;
                let mut behind = vec![Convex::flat(need, 0.0)];
                for child in children.iter().rev() {
                    let last = &behind[behind.len() - 1];
                    behind.push(last.beside(&row.inside[*child]));
                }
                behind.pop();
                let mut before = Convex::flat(FAR_BELOW, 0.0);
                for child in children {
                    let rest = behind.pop()?;
                    let joined = above.against(&rest)?;
                    guides.joined[i * count + r].push(Some(Polyline::of(&joined)));
                    if many && below(child).next().is_none() {
                        continue;
                    }
                    outside[child] = Some(above.against(&before.beside(&rest))?);
                    before = before.beside(&row.inside[child]);
                }
                guides.nodes[i * count + r] = Some((above, row.node[i].clone()));
            }
        }
        Some(guides)
    }

    /// Least cost outside a run that asks for these volts.
    pub(crate) fn outside(&self, place: usize, asks: &Asks) -> f64 {
        let guides = &self.outside[place * self.rows..(place + 1) * self.rows];
        most(guides.iter().map(Option::as_ref), asks)
    }

    /// Least cost outside the runs below a run, up to one of them, that ask for these volts.
    pub(crate) fn joined(&self, place: usize, child: usize, asks: &Asks) -> f64 {
        let guides = &self.joined[place * self.rows..(place + 1) * self.rows];
        most(guides.iter().map(|g| g[child].as_ref()), asks)
    }

    /// Between which volts, less the supply's, the node at the far end of a run lies in a row
    /// where the whole tree costs no more than `most`; `None` where it must cost more.
    pub(crate) fn volts(&self, place: usize, row: usize, most: f64) -> Option<(f64, f64)> {
        let (above, below) = self.nodes[place * self.rows + row].as_ref()?;
        above.within(below, most)
    }
}

fn most<'p>(guides: impl Iterator<Item = Option<&'p Polyline>>, asks: &Asks) -> f64 {
    let each = guides.zip(asks).map(|(g, v)| g.map_or(0.0, |g| g.at(-v)));
    each.fold(0.0, f64::max)
}

impl Row {
    fn of(problem: &Problem<'_>, tree: &[usize], r: usize, place: &[usize]) -> Option<Self> {
        let row = problem.rows[r];
        let hull = |e: &usize| {
            let cost = |k: usize| problem.options.open[*e].choices[k].cost;
            let points = problem.left[*e]
                .iter()
                .map(|k| (row.lost_v[*e][*k], cost(*k)));
            Convex::hull(points.collect())
        };
        let hulls = tree.iter().map(hull).collect::<Option<Vec<Convex>>>()?;
        let mut most_v = vec![ROUNDING_V; tree.len()];
        for (i, e) in tree.iter().enumerate() {
            for below in &problem.forest.below[*e] {
                most_v[place[*below]] = most_v[i] - hulls[i].x;
            }
        }
        Some(Self {
            node: vec![Convex::flat(0.0, 0.0); tree.len()],
            inside: vec![Convex::flat(0.0, 0.0); tree.len()],
            hulls,
            most_v,
        })
    }
}
