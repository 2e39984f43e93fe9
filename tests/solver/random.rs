//! Random circuits, solved twice.

use farend::circuit::{Circuit, Law};
use farend::solve::{Outcome, Solution, Solver};

use super::oracle::{self, Answer};
use super::{feed, load, node, source, wire};

/// A linear congruential generator, with Knuth's MMIX constants: the same circuits everywhere.
pub(crate) struct Random(pub(crate) u64);

impl Random {
    /// Returns a number from 0 to 1.
    pub(crate) fn part(&mut self) -> f64 {
        const MULTIPLIER: u64 = 6_364_136_223_846_793_005;
        const INCREMENT: u64 = 1_442_695_040_888_963_407;
        self.0 = self.0.wrapping_mul(MULTIPLIER).wrapping_add(INCREMENT);
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / f64::from(u32::MAX)
    }

    /// Returns a whole number from 0, below `end`.
    pub(crate) fn below(&mut self, end: u32) -> u32 {
        let part = self.part() * f64::from(end);
        u32::try_from((1..end).filter(|k| f64::from(*k) <= part).count()).unwrap()
    }

    fn chance(&mut self, part: f64) -> bool {
        self.part() < part
    }

    /// Returns a number between the two, evenly by its logarithm.
    fn spread(&mut self, from: f64, to: f64) -> f64 {
        from * (to / from).powf(self.part())
    }
}

/// Pairs of plus and minus nodes that are one area, hung on each other.
struct Area {
    pairs: Vec<(u32, u32)>,
    volts: f64,
}

/// Changes one thing of a circuit: a wire, a load or a source, and now and then its shape.
pub(super) fn edit(random: &mut Random, circuit: &mut Circuit) {
    let one_of = |random: &mut Random, many: usize| {
        let many = u32::try_from(many).unwrap();
        usize::try_from(random.below(many)).unwrap()
    };
    match random.below(8) {
        0..=3 => {
            let branch = one_of(random, circuit.branches.len());
            let open = random.chance(0.1);
            let factor = random.spread(0.3, 3.0);
            let ohms = &mut circuit.branches[branch].resistance_ohm;
            *ohms = match *ohms {
                ohms if ohms.is_infinite() => random.spread(0.05, 2.0),
                _ if open => f64::INFINITY,
                ohms => ohms * factor,
            };
        }
        4 | 5 if !circuit.loads.is_empty() => {
            let load = one_of(random, circuit.loads.len());
            circuit.loads[load].law = match random.below(4) {
                0 => Law::Off,
                1 => Law::Current(random.spread(0.01, 0.3)),
                2 => Law::Power(random.spread(0.1, 4.0)),
                _ => Law::Resistance(random.spread(50.0, 2000.0)),
            };
        }
        6 => {
            let source = one_of(random, circuit.sources.len());
            circuit.sources[source].volts_v *= random.spread(0.9, 1.1);
        }
        _ => {
            let source = one_of(random, circuit.sources.len());
            let source = &mut circuit.sources[source];
            match random.below(3) {
                0 => source.resistance_ohm = 0.0,
                1 => source.resistance_ohm = random.spread(0.01, 1.0),
                _ => source.live = !source.live,
            }
        }
    }
}

/// Makes a tree with some loops from one supply, with some more supplies, and loads of all laws.
///
/// `heavy` is the power of all loads as a part of what would be near the cliff.
pub(super) fn circuit(random: &mut Random, feeds: u32, heavy: f64) -> Circuit {
    let mut circuit = Circuit {
        nodes: 2,
        ..Circuit::default()
    };
    let ohm = if random.chance(0.5) {
        0.0
    } else {
        random.spread(0.01, 1.0)
    };
    source(&mut circuit, 0, 1, 24.0, ohm);
    let mut areas = vec![Area {
        pairs: vec![(0, 1)],
        volts: 24.0,
    }];
    grow(&mut circuit, &mut areas[0], random, heavy);
    for _ in 0..feeds {
        let from = random.below(u32::try_from(areas.len()).unwrap()) as usize;
        let at = random.below(u32::try_from(areas[from].pairs.len()).unwrap()) as usize;
        let device = areas[from].pairs[at];
        let plus = node(&mut circuit);
        let shared = random.chance(0.5);
        let minus = if shared { device.1 } else { node(&mut circuit) };
        let volts = if random.chance(0.5) { 12.0 } else { 24.0 };
        let ohm = if random.chance(0.5) {
            0.0
        } else {
            random.spread(0.01, 0.3)
        };
        source(&mut circuit, plus, minus, volts, ohm);
        feed(&mut circuit, device.0, device.1, 0.7 + 0.3 * random.part());
        let mut area = Area {
            pairs: vec![(plus, minus)],
            volts,
        };
        grow(&mut circuit, &mut area, random, heavy * 0.4);
        if shared {
            // A second way back: the negatives of the two areas joined elsewhere.
            let there = areas[from].pairs[areas[from].pairs.len() - 1].1;
            let here = area.pairs[area.pairs.len() - 1].1;
            wire(&mut circuit, here, there, random.spread(0.01, 1.0));
        }
        areas.push(area);
    }
    circuit
}

fn grow(circuit: &mut Circuit, area: &mut Area, random: &mut Random, heavy: f64) {
    let devices = 2 + random.below(5);
    for _ in 0..devices {
        let to = area.pairs[random.below(u32::try_from(area.pairs.len()).unwrap()) as usize];
        let pair = (node(circuit), node(circuit));
        let ohm = random.spread(1e-3, 2.0);
        wire(circuit, to.0, pair.0, ohm);
        wire(circuit, pair.1, to.1, ohm * random.spread(0.3, 3.0));
        area.pairs.push(pair);
        let unit = heavy * area.volts / (4.0 * f64::from(devices));
        let law = match random.below(5) {
            0 => Law::Current(random.part() * unit * 0.3),
            1 => Law::Resistance(random.spread(20.0, 2000.0)),
            2 if random.chance(0.3) => Law::Off,
            _ => Law::Power(random.part() * unit * area.volts * 0.3),
        };
        load(circuit, pair.0, pair.1, law);
    }
    if random.chance(0.5) {
        let (a, b) = (area.pairs[1], area.pairs[area.pairs.len() - 1]);
        wire(circuit, a.0, b.0, random.spread(0.01, 1.0));
        wire(
            circuit,
            a.1,
            b.1,
            if random.chance(0.2) {
                f64::INFINITY
            } else {
                0.1
            },
        );
    }
    if random.chance(0.4) {
        let at = area.pairs[random.below(u32::try_from(area.pairs.len()).unwrap()) as usize];
        source(
            circuit,
            at.0,
            at.1,
            area.volts * (0.98 + 0.04 * random.part()),
            0.2,
        );
        let last = circuit.sources.len() - 1;
        circuit.sources[last].live = random.chance(0.8);
    }
    if random.chance(0.3) {
        // An ideal source in line: a step of potential in the middle of a run.
        let at = area.pairs[area.pairs.len() - 1];
        let beyond = node(circuit);
        source(circuit, beyond, at.0, 1.5, 0.0);
        load(circuit, beyond, at.1, Law::Current(0.05 * heavy));
    }
}

fn agrees(circuit: &Circuit, got: &Solution, want: &oracle::Point) {
    let close = |got: f64, want: f64, what: &str| {
        let gap = (got - want).abs();
        assert!(
            gap < 1e-8,
            "{what}: {got} for {want}, off by {gap:e} in {circuit:?}"
        );
    };
    for (load, got) in circuit.loads.iter().zip(&got.load_v) {
        let want = want.node_v[load.plus as usize] - want.node_v[load.minus as usize];
        close(*got, want, "load volts");
    }
    for branch in &circuit.branches {
        let across = |volts: &[f64]| volts[branch.from as usize] - volts[branch.to as usize];
        close(across(&got.node_v), across(&want.node_v), "branch volts");
    }
    for (got, want) in got.source_a.iter().zip(&want.source_a) {
        close(*got, *want, "source amps");
    }
    for (got, want) in got.feed_w.iter().zip(&want.feed_w) {
        close(*got, *want, "feed watts");
    }
    assert!(got.imbalance_a < 1e-9, "imbalance {:e}", got.imbalance_a);
}

fn compare(seeds: std::ops::Range<u64>, feeds: u32, heavy: f64) -> (usize, usize) {
    let mut solver = Solver::new();
    let (mut points, mut ends) = (0, 0);
    for seed in seeds {
        let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 77);
        let circuit = circuit(&mut random, feeds, heavy);
        match (solver.solve(&circuit), oracle::solve(&circuit)) {
            (Outcome::Solved(got), Answer::Point(want)) => {
                agrees(&circuit, &got, &want);
                points += 1;
            }
            (Outcome::Unserved(got), Answer::Ends(factor)) => {
                let gap = (got.served - factor).abs();
                assert!(
                    gap < 1e-6,
                    "seed {seed}: {} for {factor} in {circuit:?}",
                    got.served
                );
                ends += 1;
            }
            (Outcome::Solved(_), Answer::Ends(factor)) => {
                panic!("seed {seed}: solved, but the way ends at {factor}: {circuit:?}")
            }
            (Outcome::Unserved(got), Answer::Point(_)) => {
                panic!("seed {seed}: served only {} of {circuit:?}", got.served)
            }
        }
    }
    (points, ends)
}

#[test]
fn light_networks_agree() {
    let (points, _) = compare(0..30, 0, 1.0);
    assert!(points > 25);
}

#[test]
fn heavy_networks_agree_on_both_sides_of_the_cliff() {
    let (points, ends) = compare(100..140, 0, 30.0);
    assert!(points > 10 && ends > 10, "{points} {ends}");
}

#[test]
fn fed_networks_agree() {
    let (points, _) = compare(200..220, 2, 1.0);
    assert!(points > 15);
}

#[test]
fn heavy_fed_networks_agree_on_both_sides_of_the_cliff() {
    let (points, ends) = compare(300..318, 2, 15.0);
    assert!(points > 5 && ends > 3, "{points} {ends}");
}
