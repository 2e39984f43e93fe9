//! The network of phasors: the real network's layout, with what angles add to each element.

use num_complex::Complex64;

use crate::circuit::{Circuit, Lag};
use crate::solve::element::{Demand, Draw, Flow, Wire};
use crate::solve::index;
use crate::solve::network::Network;

use super::block::{Block, NOTHING};

/// Volts that count as none, as a part of the largest source voltage, as in the real network.
const NO_VOLTS: f64 = 1e-9;

/// How an element's current follows its volts.
#[derive(Clone, Copy, Debug)]
pub(super) enum Follows {
    /// Not at all.
    Open,
    /// y (v - e).
    Admittance(Complex64, f64),
    /// Of a dc source at its limit, at angle 0: less these amperes, and these siemens times v.
    Held(f64, f64),
    /// A constant, in phase with the volts, times the demand on loads.
    Current(f64),
    /// Watts, with their angle, behind volts lost first; times the demand on loads.
    Power(f64, Angle),
    /// The power of this feed, an unknown, likewise.
    Feed(usize, Angle),
}

/// 1 less j times the vars for each watt, and rms volts lost before the watts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Angle {
    pub(super) unit: Complex64,
    pub(super) lost_v: f64,
}

/// A branch, source, load or feeding device.
#[derive(Clone, Copy, Debug)]
pub(super) struct Element {
    /// Rows of the ends.
    pub(super) rows: (u32, u32),
    /// Nodes of the ends.
    nodes: (u32, u32),
    /// Matrix entry of the two rows; one more than there are where there is none.
    pub(super) slot: u32,
    /// Volts to add to the difference of the rows' potentials.
    shift_v: f64,
    pub(super) follows: Follows,
}

/// Potentials of the rows, one more that stays 0, and powers of the feeds.
#[derive(Clone, Debug)]
pub(super) struct State {
    pub(super) x: Vec<Complex64>,
    pub(super) p: Vec<f64>,
}

/// A circuit with angles, ready for iteration.
#[derive(Debug)]
pub(super) struct System<'a> {
    pub(super) base: &'a Network,
    /// Branches, sources, loads, feeds.
    pub(super) elements: Vec<Element>,
    first_source: usize,
    first_load: usize,
    first_feed: usize,
}

/// A current, and how it changes with the volts.
pub(super) type Current = (Complex64, Block);

impl<'a> System<'a> {
    /// Adds the angles of a circuit to its network.
    pub(super) fn new(base: &'a Network, circuit: &Circuit) -> Self {
        let none = crate::circuit::Ac::default();
        let ac = circuit.ac.as_deref().unwrap_or(&none);
        let no_slot = index(base.plan.symbolic.entries());
        let free = |(a, b): (u32, u32)| !(base.is_fixed[a as usize] || base.is_fixed[b as usize]);
        let slot = |rows, slot| if free(rows) { slot } else { no_slot };
        let offset = |node: u32| base.merge.offset[node as usize];
        let wire = |k: usize, nodes: (u32, u32)| {
            let (wire, at) = (base.branch(k), base.plan.wires.at[k] as usize);
            let x = ac.reactance_ohm.get(k).copied().unwrap_or(0.0);
            let shift_v = offset(nodes.0) - offset(nodes.1);
            Element {
                rows: wire.rows,
                nodes,
                slot: slot(wire.rows, base.plan.wires.slots[at]),
                shift_v,
                follows: conducts(wire, x, shift_v),
            }
        };
        let draw = |k: usize, nodes: (u32, u32), lag: Option<&Lag>| {
            let (draw, at) = (base.load(k), base.load_at(k));
            Element {
                rows: draw.rows,
                nodes,
                slot: slot(draw.rows, base.plan.draws.slots[at]),
                shift_v: draw.shift_v,
                follows: draws(draw, lag.copied().unwrap_or_default()),
            }
        };
        let branches = circuit.branches.iter().map(|b| (b.from, b.to));
        let sources = circuit.sources.iter().map(|s| (s.plus, s.minus));
        let loads = circuit.loads.iter().map(|l| (l.plus, l.minus));
        let feeds = circuit.feeds.iter().map(|f| (f.plus, f.minus));
        let lags = (0..circuit.loads.len()).map(|k| ac.loads.get(k));
        let lags = lags.chain((0..circuit.feeds.len()).map(|k| ac.feeds.get(k)));
        let wires = branches
            .chain(sources)
            .enumerate()
            .map(|(k, nodes)| wire(k, nodes));
        let drawn = loads.chain(feeds).zip(lags).enumerate();
        let first_source = circuit.branches.len();
        let first_load = first_source + circuit.sources.len();
        Self {
            base,
            elements: wires
                .chain(drawn.map(|(k, (nodes, lag))| draw(k, nodes, lag)))
                .collect(),
            first_source,
            first_load,
            first_feed: first_load + circuit.loads.len(),
        }
    }

    /// The element of a source.
    pub(super) fn source(&self, source: usize) -> usize {
        self.first_source + source
    }

    /// The element of a load.
    pub(super) fn load(&self, load: usize) -> usize {
        self.first_load + load
    }

    /// The element of a feed's device.
    pub(super) fn feed(&self, feed: usize) -> usize {
        self.first_feed + feed
    }

    /// The elements of the loads.
    pub(super) fn loads(&self) -> &[Element] {
        &self.elements[self.first_load..self.first_feed]
    }

    /// The current of an element and its derivative.
    pub(super) fn current(&self, k: usize, state: &State, demand: Demand) -> Current {
        let element = &self.elements[k];
        let volts = element.volts(&state.x);
        match element.follows {
            Follows::Open => (Complex64::ZERO, NOTHING),
            Follows::Admittance(y, emf_v) => (y * (volts - emf_v), [y.re, -y.im, y.im, y.re]),
            Follows::Held(amps, siemens) => {
                (-(volts * siemens + amps), [-siemens, 0.0, 0.0, -siemens])
            }
            Follows::Current(amps) => in_phase(amps * demand.loads, volts),
            Follows::Power(watts, Angle { unit, lost_v }) => {
                power(unit * watts * demand.loads, lost_v, volts)
            }
            Follows::Feed(feed, Angle { unit, lost_v }) => {
                power(unit * state.p[feed], lost_v, volts)
            }
        }
    }

    /// The current of an element that one watt more of its feed adds.
    pub(super) fn per_watt(&self, k: usize, state: &State) -> Complex64 {
        match self.elements[k].follows {
            Follows::Feed(_, Angle { unit, lost_v }) => {
                power(unit, lost_v, self.elements[k].volts(&state.x)).0
            }
            _ => Complex64::ZERO,
        }
    }

    /// The draws whose current is not proportional to their volts.
    pub(super) fn draws(&self, demand: Demand) -> impl Iterator<Item = &Element> {
        let draws = move |element: &&Element| match element.follows {
            Follows::Power(drawn, _) | Follows::Current(drawn) => drawn * demand.loads != 0.0,
            Follows::Feed(..) => true,
            Follows::Open | Follows::Admittance(..) | Follows::Held(..) => false,
        };
        self.elements[self.first_load..].iter().filter(draws)
    }

    /// Whether everything that draws, and every feeding device, has volts.
    pub(super) fn is_served(&self, x: &[Complex64], demand: Demand) -> bool {
        let enough = NO_VOLTS * self.base.scale_v;
        let torn = self.base.has_torn_feed() || (self.base.is_torn() && demand.loads > 0.0);
        let fed = |element: &Element| {
            let needs = match element.follows {
                Follows::Open | Follows::Held(..) => false,
                Follows::Admittance(..) | Follows::Feed(..) => true,
                Follows::Current(drawn) | Follows::Power(drawn, _) => drawn != 0.0,
            };
            !needs || element.useful(x) > enough
        };
        !torn && self.elements[self.first_load..].iter().all(fed)
    }

    /// Source currents out of plus, and what is left at each node, from every element's current.
    pub(super) fn source_currents(
        &self,
        current: impl Fn(usize) -> Complex64,
    ) -> (Vec<Complex64>, Vec<Complex64>) {
        let nodes = self.base.merge.group.len();
        let sources = self.first_source..self.first_load;
        let mut left = [vec![0.0; nodes], vec![0.0; nodes]];
        let mut amps = [vec![0.0; sources.len()], vec![0.0; sources.len()]];
        for (k, element) in self.elements.iter().enumerate() {
            let through = current(k);
            for (part, through) in [through.re, through.im].into_iter().enumerate() {
                left[part][element.nodes.0 as usize] += through;
                left[part][element.nodes.1 as usize] -= through;
                if sources.contains(&k) {
                    amps[part][k - sources.start] = -through;
                }
            }
        }
        for (left, amps) in left.iter_mut().zip(&mut amps) {
            self.base.peel(left, amps);
        }
        let pair = |[re, im]: [Vec<f64>; 2]| -> Vec<Complex64> {
            std::iter::zip(re, im)
                .map(|(re, im)| Complex64::new(re, im))
                .collect()
        };
        (pair(amps), pair(left))
    }
}

impl Element {
    /// Its volts.
    pub(super) fn volts(&self, x: &[Complex64]) -> Complex64 {
        x[self.rows.0 as usize] - x[self.rows.1 as usize] + self.shift_v
    }

    /// The size of its volts, less those that its draw loses first.
    pub(super) fn useful(&self, x: &[Complex64]) -> f64 {
        let size = self.volts(x).norm();
        match self.follows {
            Follows::Power(_, angle) | Follows::Feed(_, angle) => size - angle.lost_v,
            Follows::Open | Follows::Admittance(..) | Follows::Held(..) | Follows::Current(_) => {
                size
            }
        }
    }
}

/// A branch or source, with reactance in series.
fn conducts(wire: &Wire, reactance_ohm: f64, shift_v: f64) -> Follows {
    if wire.held_a != 0.0 {
        return Follows::Held(wire.held_a, -wire.siemens);
    }
    if wire.siemens > 0.0 {
        let ohms = Complex64::new(wire.siemens.recip(), reactance_ohm);
        let siemens = if reactance_ohm == 0.0 {
            wire.siemens.into()
        } else {
            ohms.inv()
        };
        Follows::Admittance(siemens, wire.emf_v + shift_v)
    } else {
        Follows::Open
    }
}

/// A load or feeding device, with its angle.
fn draws(draw: &Draw, lag: Lag) -> Follows {
    let angle = Angle {
        unit: Complex64::new(1.0, -lag.vars_per_watt),
        lost_v: lag.lost_v,
    };
    match draw.flow {
        Flow::Open => Follows::Open,
        Flow::Linear(siemens) => Follows::Admittance(siemens.into(), 0.0),
        Flow::Current(amps) => Follows::Current(amps),
        Flow::Power(watts) => Follows::Power(watts, angle),
        Flow::Feed(feed) => Follows::Feed(feed, angle),
    }
}

/// A constant current in phase with its volts: a v / |v|.
fn in_phase(amps: f64, volts: Complex64) -> Current {
    if amps == 0.0 {
        return (Complex64::ZERO, NOTHING);
    }
    let size = volts.norm();
    let unit = volts / size;
    let slope = amps / size;
    let cross = -slope * unit.re * unit.im;
    (
        unit * amps,
        [
            slope * (1.0 - unit.re * unit.re),
            cross,
            cross,
            slope * (1.0 - unit.im * unit.im),
        ],
    )
}

/// A constant power s behind d volts lost: s v h with h = 1 / (|v| (|v| - d)).
///
/// Its derivative is s (h + h' v v̂ᵀ), s as the matrix that multiplies by it.
fn power(s: Complex64, lost_v: f64, volts: Complex64) -> Current {
    if s == Complex64::ZERO {
        return (Complex64::ZERO, NOTHING);
    }
    let size = volts.norm();
    let over = size * (size - lost_v);
    let (h, slope) = (over.recip(), -(2.0 * size - lost_v) / (over * over));
    let unit = volts / size;
    let real = s * (Complex64::from(h) + volts * unit.re * slope);
    let imaginary = s * (Complex64::I * h + volts * unit.im * slope);
    (
        s * volts * h,
        [real.re, imaginary.re, real.im, imaginary.im],
    )
}

/// The most that the derivative of a draw can take from the definiteness of the matrix, in
/// siemens: less its symmetric part's smallest eigenvalue.
///
/// In axes along and across the volts the derivative is s times a diagonal of a = -1 / (|v| - d)²
/// and b = 1 / (|v| (|v| - d)), and the symmetric part of that has the smallest eigenvalue
/// Re s (a + b) / 2 - |s| (b - a) / 2; P / v² for watts alone, and none for a current.
pub(super) fn weight(s: Complex64, lost_v: f64, size_v: f64) -> f64 {
    let useful = size_v - lost_v;
    let (a, b) = (-(useful * useful).recip(), (size_v * useful).recip());
    (s.norm() * (b - a) - s.re * (a + b)) / 2.0
}
