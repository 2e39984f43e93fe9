//! Between which volts and amperes a row must lie, while every open run may still have any of
//! the choices left to it.
//!
//! Each device's volts are the supplies' less what is lost on its way. Its amperes follow its
//! volts, and what is lost follows the amperes. Going round with intervals instead of numbers
//! keeps every passing design inside: a device that passes is within its window, which starts
//! the round, and each turn may only narrow.

use std::rc::Rc;

use crate::circuit::Law;
use crate::size::mesh::{Crossing, MeshBounds};
use crate::size::row::Row;
use crate::size::shape::{Shape, Step};
use crate::size::trial::{Bench, TOLERANCE};

/// Turns after which the intervals are taken as they are.
const MOST_TURNS: usize = 40;
/// Volts below which a turn changes nothing worth another.
const STILL_V: f64 = 1e-7;

/// Least and most of something.
pub(crate) type Range = (f64, f64);

/// Choices left to each open run.
pub(crate) type Left = Vec<Vec<usize>>;

/// What a row's wiring says once and for all.
#[derive(Debug)]
pub(crate) struct Wiring {
    /// One for all rows in which the same lives.
    pub(crate) shape: Rc<Shape>,
    /// By device: a supply stands in a loop on its way, so nothing is known of its volts.
    pub(crate) loose: Rc<Vec<bool>>,
    /// Volts of all live supplies together: more is nowhere.
    most_v: f64,
    /// By feed: device and supply.
    pub(crate) feeds: Vec<(usize, usize)>,
}

/// Intervals of one row.
#[derive(Debug)]
pub(crate) struct Bounds {
    /// By branch, then by supply, along their own direction.
    pub(crate) edge_a: Vec<Range>,
    /// By device.
    pub(crate) device_v: Vec<Range>,
    /// By device: amperes that it draws, with those for supplies that it feeds.
    pub(crate) sink_a: Vec<Range>,
    /// Ohms of each branch.
    pub(crate) ohms: Vec<Range>,
    meshes: Vec<Option<MeshBounds>>,
    crossings: Vec<Vec<Crossing>>,
}

impl Wiring {
    /// The wiring of every row.
    pub(crate) fn all(bench: &Bench, opened: bool) -> Vec<Self> {
        let mut all: Vec<Self> = Vec::with_capacity(bench.rows.len());
        for row in &bench.rows {
            let same = bench.rows.iter().zip(&all);
            let same = same.rev().find(|(known, _)| known.live == row.live);
            let wiring = match same {
                Some((_, known)) => Self::with(bench, row, (&known.shape, &known.loose)),
                None => Self::of(bench, row, opened),
            };
            all.push(wiring);
        }
        all
    }

    fn of(bench: &Bench, row: &Row, opened: bool) -> Self {
        let shape = Shape::of(&row.circuit, &bench.devices, opened);
        let loose = |way: &Option<Vec<Step>>| {
            way.as_ref().is_some_and(|way| {
                way.iter()
                    .any(|step| matches!(step, Step::Mesh(m, ..) if shape.meshes[*m].has_source))
            })
        };
        let loose = shape.ways.iter().map(loose).collect();
        Self::with(bench, row, (&Rc::new(shape), &Rc::new(loose)))
    }

    fn with(bench: &Bench, row: &Row, (shape, loose): (&Rc<Shape>, &Rc<Vec<bool>>)) -> Self {
        let live = row.circuit.sources.iter().filter(|s| s.live);
        let feeders = bench.template.feeders.iter();
        let feeds = feeders.zip(&bench.template.fed_supply);
        Self {
            shape: Rc::clone(shape),
            loose: Rc::clone(loose),
            most_v: live.map(|s| s.volts_v.abs()).sum(),
            feeds: feeds.map(|(d, s)| (*d, *s)).collect(),
        }
    }

    /// Whether a device's way passes some of these branches, or a mesh that they are in.
    pub(crate) fn passes(&self, device: usize, branches: &[Option<usize>]) -> bool {
        let own = |branch: usize| branches.contains(&Some(branch));
        self.shape.ways[device]
            .iter()
            .flatten()
            .any(|step| match *step {
                Step::Bridge(edge, _) => edge < self.shape.branches && own(edge),
                Step::Mesh(mesh, ..) => self.shape.meshes[mesh].branches.iter().any(|b| own(b.0)),
            })
    }
}

impl Bounds {
    /// Narrows the intervals of a row; `None` where no choice left can pass in it.
    ///
    /// `known_v` has volts between which each device is known to lie.
    pub(crate) fn of(
        bench: &Bench,
        row: &Row,
        wiring: &Wiring,
        (left, known_v): (&Left, &[Range]),
    ) -> Option<Self> {
        let ohms = ohms(bench, row, left);
        let meshes = wiring.shape.meshes.iter().map(|mesh| {
            let usable = !mesh.has_source && !mesh.branches.is_empty();
            usable.then(|| MeshBounds::of(mesh, |branch| ohms[branch]))
        });
        let edges = row.circuit.branches.len() + row.circuit.sources.len();
        let start = |d: usize| {
            let least = row.lowest[d].map_or(0.0, |v| v - TOLERANCE).max(0.0);
            let most = row.highest[d].map_or(f64::INFINITY, |v| v + TOLERANCE);
            let (low, high) = known_v[d];
            (least.max(low), most.min(wiring.most_v).min(high))
        };
        let mut bounds = Self {
            edge_a: vec![(f64::NEG_INFINITY, f64::INFINITY); edges],
            device_v: (0..bench.devices.len()).map(start).collect(),
            meshes: meshes.collect(),
            crossings: Vec::new(),
            sink_a: Vec::new(),
            ohms,
        };
        for _ in 0..MOST_TURNS {
            bounds.amperes(row, wiring);
            let moved = bounds.volts(row, wiring)?;
            if moved < STILL_V {
                break;
            }
        }
        bounds.amperes(row, wiring);
        bounds.keeps_ratings(row, wiring).then_some(bounds)
    }

    /// Amperes of every edge and mesh from the devices' volts.
    fn amperes(&mut self, row: &Row, wiring: &Wiring) {
        let mut sinks: Vec<Range> = row
            .circuit
            .loads
            .iter()
            .zip(&self.device_v)
            .map(|(load, v)| drawn(load.law, *v))
            .collect();
        for (f, (device, supply)) in wiring.feeds.iter().enumerate() {
            let source = row.circuit.sources[*supply];
            if source.live {
                let amps = self.edge_a[wiring.shape.branches + supply];
                let mut watts = given(row.open_v(*supply), source.resistance_ohm, amps);
                if amps.1 > row.free_a(*supply) {
                    watts.0 = watts.0.min(0.0);
                }
                let efficiency = row.circuit.feeds[f].efficiency;
                let watts = (watts.0 / efficiency, watts.1 / efficiency);
                let own = over(watts, self.device_v[*device]);
                sinks[*device] = (sinks[*device].0 + own.0, sinks[*device].1 + own.1);
            }
        }
        self.edge_a.fill((0.0, 0.0));
        self.crossings = vec![Vec::new(); wiring.shape.meshes.len()];
        for (way, amps) in wiring.shape.ways.iter().zip(&sinks) {
            for step in way.iter().flatten() {
                match *step {
                    Step::Bridge(edge, forward) => {
                        let own = &mut self.edge_a[edge];
                        *own = if forward {
                            (own.0 + amps.0, own.1 + amps.1)
                        } else {
                            (own.0 - amps.1, own.1 - amps.0)
                        };
                    }
                    Step::Mesh(mesh, into, out) => self.crossings[mesh].push(Crossing {
                        into,
                        out,
                        least_a: amps.0,
                        most_a: amps.1,
                    }),
                }
            }
        }
        self.sink_a = sinks;
        for mesh in &wiring.shape.meshes {
            if mesh.has_source {
                for edge in wiring.shape.branches..self.edge_a.len() {
                    self.edge_a[edge] = (f64::NEG_INFINITY, f64::INFINITY);
                }
            }
        }
    }

    /// Volts of every device from the amperes; how far anything moved.
    fn volts(&mut self, row: &Row, wiring: &Wiring) -> Option<f64> {
        let mut moved = 0.0_f64;
        for (d, way) in wiring.shape.ways.iter().enumerate() {
            let Some(way) = way else { continue };
            let (mut least, mut most) = self.device_v[d];
            if !wiring.loose[d] {
                let lost = way.iter().map(|step| self.lost(row, wiring, *step));
                let (few, many) = lost.fold((0.0, 0.0), |sum, l| (sum.0 + l.0, sum.1 + l.1));
                if -few < most {
                    most = -few;
                }
                if -many > least {
                    least = -many;
                }
            }
            let draws = !matches!(row.circuit.loads[d].law, Law::Off);
            if most < least - TOLERANCE || (draws && most <= 0.0) {
                return None;
            }
            // Rounding must not turn an interval round.
            let now = (least.min(most), most.max(least));
            let before = std::mem::replace(&mut self.device_v[d], now);
            let change = (now.0 - before.0).max(before.1 - now.1);
            moved = moved.max(if change.is_nan() { 0.0 } else { change });
        }
        Some(moved)
    }

    /// Volts lost on a step, along the way; a supply loses less than nothing.
    pub(crate) fn lost(&self, row: &Row, wiring: &Wiring, step: Step) -> Range {
        match step {
            Step::Bridge(edge, forward) => {
                let (low, high) = self.edge_a[edge];
                let amps = if forward { (low, high) } else { (-high, -low) };
                if edge < wiring.shape.branches {
                    return times(self.ohms[edge], amps);
                }
                let supply = edge - wiring.shape.branches;
                let source = row.circuit.sources[supply];
                let mut lost = times((source.resistance_ohm, source.resistance_ohm), amps);
                if amps.1 > row.free_a(supply) {
                    // Where it limits, its volts may fall to nothing.
                    lost.1 = f64::INFINITY;
                }
                let open_v = row.open_v(supply);
                let volts = if forward { open_v } else { -open_v };
                (lost.0 - volts, lost.1 - volts)
            }
            Step::Mesh(mesh, into, out) => match &self.meshes[mesh] {
                Some(bounds) => bounds.loss(into, out, &self.crossings[mesh]),
                None => (f64::NEG_INFINITY, f64::INFINITY),
            },
        }
    }

    /// Amperes that an edge has at least, whichever way.
    pub(crate) fn at_least(&self, edge: usize) -> f64 {
        let (low, high) = self.edge_a[edge];
        low.max(-high).max(0.0)
    }

    /// Whether no supply, output or fixed conductor must be overdrawn.
    fn keeps_ratings(&self, row: &Row, wiring: &Wiring) -> bool {
        let supplies = row.supply_a.iter().enumerate().all(|(s, limit)| {
            let least = self.edge_a[wiring.shape.branches + s].0;
            limit.is_none_or(|limit| least <= limit + TOLERANCE)
        });
        let over = |branch: usize, limit: f64| self.at_least(branch) > limit + TOLERANCE;
        supplies && !row.branch_a.iter().any(|(b, limit, _)| over(*b, *limit))
    }
}

/// Least and most ohms of each branch while the open runs have the choices left to them.
fn ohms(bench: &Bench, row: &Row, left: &Left) -> Vec<Range> {
    let fixed = row.circuit.branches.iter().map(|b| b.resistance_ohm);
    let mut ohms: Vec<Range> = fixed.map(|r| (r, r)).collect();
    for (e, choices) in left.iter().enumerate() {
        for (slot, branch) in bench.branches[e].iter().enumerate() {
            if let Some(branch) = branch {
                let each = || choices.iter().map(|k| row.ohms[e][*k][slot]);
                ohms[*branch] = (
                    each().fold(f64::INFINITY, f64::min),
                    each().fold(0.0, f64::max),
                );
            }
        }
    }
    ohms
}

/// Amperes that a load draws between two volts.
fn drawn(law: Law, (least, most): Range) -> Range {
    match law {
        Law::Off => (0.0, 0.0),
        Law::Current(amps) => (amps, amps),
        Law::Power(watts) => over((watts, watts), (least, most)),
        Law::Resistance(ohm) => (least / ohm, most / ohm),
    }
}

/// Watts out of a supply between two currents: (E - R I) I, greatest at I = E / 2R.
fn given(volts_v: f64, ohm: f64, (least, most): Range) -> Range {
    let at = |amps: f64| {
        if ohm > 0.0 {
            (volts_v - ohm * amps) * amps
        } else {
            volts_v * amps
        }
    };
    let (a, b) = (at(least), at(most));
    if a.is_nan() || b.is_nan() {
        return (f64::NEG_INFINITY, f64::INFINITY);
    }
    let top = volts_v / (2.0 * ohm);
    let peak = if ohm > 0.0 && least < top && top < most {
        at(top)
    } else {
        f64::NEG_INFINITY
    };
    (a.min(b), a.max(b).max(peak))
}

/// Amperes for some watts between two volts, none below 0.
fn over(watts: Range, (least, most): Range) -> Range {
    let at = |watts: f64, volts: f64| if watts == 0.0 { 0.0 } else { watts / volts };
    let low = at(watts.0, if watts.0 >= 0.0 { most } else { least });
    let high = at(watts.1, if watts.1 >= 0.0 { least } else { most });
    (low, high)
}

fn times(ohms: Range, amps: Range) -> Range {
    let low = if amps.0 >= 0.0 { ohms.0 } else { ohms.1 } * amps.0;
    let high = if amps.1 >= 0.0 { ohms.1 } else { ohms.0 } * amps.1;
    let or = |v: f64, other: f64| if v.is_nan() { other } else { v };
    (or(low, f64::NEG_INFINITY), or(high, f64::INFINITY))
}
