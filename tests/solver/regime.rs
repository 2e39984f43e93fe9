//! Diodes and limiters: closed forms, and every pattern of a small network tried by brute force.

use farend::circuit::{Circuit, Held, Law, Limiter, Manner, Restraint, SHORT_SHARE};
use farend::solve::{Outcome, Regime, Solution, Solver};
use nalgebra::{DMatrix, DVector};

use super::random::Random;
use super::{far_end, feed, load, node, solved, source, supplied, unserved, wire};

fn limit(circuit: &mut Circuit, source: usize, manner: Manner, amps_a: f64) {
    let limiter = Some(Limiter { manner, amps_a });
    circuit.restraints.push(Restraint {
        source,
        diode_v: None,
        limiter,
    });
}

fn diode(circuit: &mut Circuit, source: usize, volts: f64) {
    circuit.restraints.push(Restraint {
        source,
        diode_v: Some(volts),
        limiter: None,
    });
}

fn close(got: f64, want: f64) {
    assert!((got - want).abs() < 1e-9, "{got} for {want}");
}

#[test]
fn a_hard_limit_holds_the_amps_and_lets_the_volts_fall() {
    // 24 V behind 1 ohm at 2 A into 2 + 6 ohm: 24 / 9 = 2.667 A would flow; 2 A do, 2 x 6 = 12 V.
    let mut circuit = far_end(24.0, 2.0, Law::Resistance(6.0));
    circuit.sources[0].resistance_ohm = 1.0;
    limit(&mut circuit, 0, Manner::Hard, 2.0);
    let at = solved(&circuit);
    close(at.source_a[0], 2.0);
    close(at.load_v[0], 12.0);
    assert_eq!(at.regime(0), Some(Regime::Limited));
    // Just over what flows it does nothing.
    circuit.restraints[0].limiter = Some(Limiter {
        manner: Manner::Hard,
        amps_a: 24.0 / 9.0 + 1e-6,
    });
    let at = solved(&circuit);
    close(at.source_a[0], 24.0 / 9.0);
    assert_eq!(at.regime(0), Some(Regime::Gives));
}

#[test]
fn a_folding_limit_follows_its_line() {
    // Knee at 24 - 1 x 2 = 22 V; below it I = 2/3 + (4/3) V / 22. At V = 8 I (2 + 6 ohm):
    // I = (2/3) / (1 - (4/3) 8 / 22).
    let mut circuit = far_end(24.0, 2.0, Law::Resistance(6.0));
    circuit.sources[0].resistance_ohm = 1.0;
    limit(&mut circuit, 0, Manner::Foldback, 2.0);
    let at = solved(&circuit);
    let amps = 2.0 * SHORT_SHARE / (1.0 - 2.0 * (1.0 - SHORT_SHARE) * 8.0 / 22.0);
    close(at.source_a[0], amps);
    close(at.load_v[0], 6.0 * amps);
}

#[test]
fn a_limiter_serves_constant_power_up_to_its_knee_alone() {
    // Up to 2 A x 24 V = 48 W flow; one watt more collapses, whatever the manner.
    for manner in [Manner::Hard, Manner::Foldback, Manner::Hiccup] {
        let mut circuit = far_end(24.0, 1e-6, Law::Power(47.99));
        limit(&mut circuit, 0, manner, 2.0);
        close(solved(&circuit).load_v[0] * 1e-3, 24e-3 - 2e-9);
        circuit.loads[0].law = Law::Power(60.0);
        let none = unserved(&circuit);
        assert!((none.served - 48.0 / 60.0).abs() < 1e-6, "{}", none.served);
    }
}

#[test]
fn a_hiccup_that_is_overdrawn_says_by_how_much() {
    let mut circuit = far_end(24.0, 2.0, Law::Resistance(6.0));
    limit(&mut circuit, 0, Manner::Hiccup, 2.0);
    let none = unserved(&circuit);
    close(none.served, 0.0);
    let [over] = none.overdrawn.as_slice() else {
        panic!("{none:?}")
    };
    close(over.amps_a, 3.0);
    circuit.loads[0].law = Law::Resistance(10.0 + 1e-6);
    assert_eq!(solved(&circuit).regime(0), Some(Regime::Gives));
}

#[test]
fn the_higher_of_two_supplies_behind_diodes_gives_all() {
    // 24 V - 0.5 V and 20 V - 0.7 V on one pair, 10 ohm: the second faces 23.5 V and is blocked.
    let mut circuit = supplied(24.0);
    source(&mut circuit, 0, 1, 20.0, 0.0);
    let bus = node(&mut circuit);
    circuit.sources[1].plus = bus;
    wire(&mut circuit, 0, bus, 1e-6);
    load(&mut circuit, 0, 1, Law::Resistance(10.0));
    diode(&mut circuit, 0, 0.5);
    diode(&mut circuit, 1, 0.7);
    let at = solved(&circuit);
    close(at.load_v[0], 23.5);
    close(at.source_a[1], 0.0);
    assert_eq!(at.regime(1), Some(Regime::Blocked));
    // With the first limited to 1 A the second takes the rest of 1.93 A.
    circuit.restraints[0].limiter = Some(Limiter {
        manner: Manner::Hard,
        amps_a: 1.0,
    });
    let at = solved(&circuit);
    close(at.source_a[0], 1.0);
    assert!((at.load_v[0] - 19.3).abs() < 2e-6, "{}", at.load_v[0]);
}

#[test]
fn a_supply_below_the_cliff_of_the_other_comes_in() {
    // 24 V behind 10 ohm alone carries 14.4 W at most. A second one of 11 V behind 0.1 ohm and a
    // diode helps: at v, (24 - v) / 10 + (11 - v) / 0.1 = 20 / v, the upper root.
    let mut circuit = far_end(24.0, 1e-9, Law::Power(20.0));
    circuit.sources[0].resistance_ohm = 10.0;
    let end = circuit.loads[0].plus;
    source(&mut circuit, end, 1, 11.0, 0.1);
    diode(&mut circuit, 1, 0.0);
    let (a, b): (f64, f64) = (10.1, 112.4);
    let volts = (b + (b * b - 4.0 * a * 20.0).sqrt()) / (2.0 * a);
    let at = solved(&circuit);
    assert!((at.load_v[0] - volts).abs() < 1e-7, "{}", at.load_v[0]);
    // At 14 W the first alone serves, at the higher volts, although both together could as well.
    circuit.loads[0].law = Law::Power(14.0);
    let at = solved(&circuit);
    let alone = 12.0 + (144.0_f64 - 140.0).sqrt();
    assert!((at.load_v[0] - alone).abs() < 1e-7, "{}", at.load_v[0]);
    assert_eq!(at.regime(1), Some(Regime::Blocked));
}

#[test]
fn a_limited_output_of_a_device_draws_what_it_gives() {
    // 12 V limited to 0.5 A into 6 ohm: 3 V, 1.5 W, of the feeding device at 50 % 3 W.
    let mut circuit = far_end(24.0, 1e-6, Law::Off);
    let device = circuit.loads[0].plus;
    let plus = node(&mut circuit);
    source(&mut circuit, plus, 1, 12.0, 0.0);
    feed(&mut circuit, device, 1, 0.5);
    load(&mut circuit, plus, 1, Law::Resistance(6.0));
    limit(&mut circuit, 1, Manner::Hard, 0.5);
    let at = solved(&circuit);
    close(at.load_v[1], 3.0);
    assert!((at.feed_w[0] - 3.0).abs() < 1e-6, "{}", at.feed_w[0]);
}

/// A ring of nodes over a common negative with sources, restraints and loads at random.
fn network(random: &mut Random, powers: bool) -> Circuit {
    let nodes = 4 + random.below(3);
    let mut circuit = Circuit {
        nodes: nodes as usize,
        ..Circuit::default()
    };
    for k in 1..nodes {
        let before = 1 + random.below(k.max(2) - 1);
        if before != k {
            wire(&mut circuit, before, k, 0.2 + 4.0 * random.part());
        }
    }
    wire(&mut circuit, 1, nodes - 1, 0.5 + random.part());
    for k in 0..2 + random.below(3) {
        let minus = node(&mut circuit);
        wire(&mut circuit, minus, 0, 0.1 + random.part());
        let at = 1 + random.below(nodes - 1);
        let volts = 10.0 + 14.0 * random.part();
        source(&mut circuit, at, minus, volts, 0.1 + 2.0 * random.part());
        let manner = [Manner::Hard, Manner::Foldback][random.below(2) as usize];
        let amps_a = 0.2 + 3.0 * random.part();
        let (diode, limited) = (random.below(3) > 0, random.below(3) > 0);
        if diode || limited {
            circuit.restraints.push(Restraint {
                source: k as usize,
                diode_v: diode.then(|| random.part()),
                limiter: limited.then_some(Limiter { manner, amps_a }),
            });
        }
    }
    for k in 1..nodes {
        let law = match random.below(if powers { 5 } else { 2 }) {
            0 | 1 => Law::Resistance(4.0 + 60.0 * random.part()),
            2 => Law::Current(0.4 * random.part()),
            _ => Law::Power(16.0 * random.part()),
        };
        load(&mut circuit, k, 0, law);
    }
    circuit
}

/// Every pattern that contradicts nothing: the volts of all nodes, those over node 0.
///
/// Node equations alone, dense; a root counts where the derivative is positive definite.
fn right_patterns(circuit: &Circuit) -> Vec<Vec<f64>> {
    let regimes = [Regime::Gives, Regime::Blocked, Regime::Limited];
    let count = regimes
        .len()
        .pow(u32::try_from(circuit.restraints.len()).unwrap());
    let mut found = Vec::new();
    'patterns: for number in 0..count {
        let mut rest = number;
        let mut by_source = vec![(Regime::Gives, None); circuit.sources.len()];
        for restraint in &circuit.restraints {
            let regime = regimes[rest % 3];
            rest /= 3;
            let allowed = match regime {
                Regime::Gives => true,
                Regime::Blocked => restraint.diode_v.is_some(),
                Regime::Limited => restraint.limiter.is_some(),
            };
            if !allowed {
                continue 'patterns;
            }
            by_source[restraint.source] = (regime, Some(*restraint));
        }
        let Some(volts) = root(circuit, &by_source) else {
            continue;
        };
        let at = |node: u32| volts[node as usize];
        let fits = circuit
            .sources
            .iter()
            .zip(&by_source)
            .all(|(source, (regime, r))| {
                let Some(r) = r else { return true };
                let open = r.open_v(source.volts_v);
                let v = at(source.plus) - at(source.minus);
                let knee = r.limiter.map(|l| open - source.resistance_ohm * l.amps_a);
                match regime {
                    Regime::Gives => {
                        let amps = (open - v) / source.resistance_ohm;
                        let over = r.limiter.is_some_and(|l| amps > l.amps_a + 1e-9);
                        !(r.diode_v.is_some() && amps < -1e-9 || over && knee > Some(0.0))
                    }
                    Regime::Blocked => v >= open - 1e-9,
                    Regime::Limited => knee > Some(0.0) && v <= knee.unwrap() + 1e-9,
                }
            });
        let served = circuit
            .loads
            .iter()
            .all(|l| at(l.plus) - at(l.minus) > 1e-8);
        if fits && served {
            found.push(volts);
        }
    }
    found
}

fn root(circuit: &Circuit, by_source: &[(Regime, Option<Restraint>)]) -> Option<Vec<f64>> {
    let n = circuit.nodes;
    let mut x = DVector::<f64>::from_element(n, 18.0);
    x[0] = 0.0;
    for source in &circuit.sources {
        x[source.minus as usize] = 0.0;
    }
    for _ in 0..200 {
        let mut f = DVector::<f64>::zeros(n);
        let mut j = DMatrix::<f64>::zeros(n, n);
        let mut pass = |a: u32, b: u32, amps: f64, siemens: f64| {
            let (a, b) = (a as usize, b as usize);
            f[a] += amps;
            f[b] -= amps;
            j[(a, a)] += siemens;
            j[(b, b)] += siemens;
            j[(a, b)] -= siemens;
            j[(b, a)] -= siemens;
        };
        let across = |a: u32, b: u32| x[a as usize] - x[b as usize];
        for w in &circuit.branches {
            pass(
                w.from,
                w.to,
                across(w.from, w.to) / w.resistance_ohm,
                1.0 / w.resistance_ohm,
            );
        }
        for (s, (regime, r)) in circuit.sources.iter().zip(by_source) {
            let v = across(s.plus, s.minus);
            let open = r.map_or(s.volts_v, |r| r.open_v(s.volts_v));
            let (out, slope) = match regime {
                Regime::Gives => ((open - v) / s.resistance_ohm, -1.0 / s.resistance_ohm),
                Regime::Blocked => (0.0, 0.0),
                Regime::Limited => {
                    let limiter = r.and_then(|r| r.limiter)?;
                    let knee = open - s.resistance_ohm * limiter.amps_a;
                    let Held { amps_a, siemens } = limiter.held(knee)?;
                    (amps_a + siemens * v, siemens)
                }
            };
            pass(s.plus, s.minus, -out, -slope);
        }
        for l in &circuit.loads {
            let v = across(l.plus, l.minus);
            match l.law {
                Law::Resistance(ohm) => pass(l.plus, l.minus, v / ohm, 1.0 / ohm),
                Law::Current(amps) => pass(l.plus, l.minus, amps, 0.0),
                Law::Power(watts) => pass(l.plus, l.minus, watts / v, -watts / (v * v)),
                Law::Off => {}
            }
        }
        let (f, j) = (
            f.rows(1, n - 1).into_owned(),
            j.view((1, 1), (n - 1, n - 1)).into_owned(),
        );
        let step: DVector<f64> = j.clone().lu().solve(&f)?;
        // No draw may pass 0 V on the way.
        let mut part = 1.0_f64;
        for l in circuit
            .loads
            .iter()
            .filter(|l| matches!(l.law, Law::Power(_)))
        {
            let (v, dv) = (x[l.plus as usize], step[l.plus as usize - 1]);
            if v - dv < 0.2 * v {
                part = part.min(0.8 * v / dv);
            }
        }
        for k in 1..n {
            x[k] -= part * step[k - 1];
        }
        if step.amax() < 1e-12 * x.amax().max(1.0) {
            return j.cholesky().map(|_| x.as_slice().to_vec());
        }
    }
    None
}

fn volts_of(circuit: &Circuit, volts: &[f64]) -> Vec<f64> {
    let loads = circuit.loads.iter();
    loads
        .map(|l| volts[l.plus as usize] - volts[l.minus as usize])
        .collect()
}

fn off_by(circuit: &Circuit, got: &Solution, want: &[f64]) -> f64 {
    let pairs = got.load_v.iter().zip(volts_of(circuit, want));
    pairs.fold(0.0, |most, (a, b)| most.max((a - b).abs()))
}

#[test]
fn with_ohms_alone_one_pattern_is_right_and_it_is_found() {
    let mut held = [0; 3];
    for seed in 0..250 {
        let circuit = network(&mut Random(seed * 7919 + 13), false);
        let right = right_patterns(&circuit);
        let Outcome::Solved(got) = Solver::new().solve(&circuit) else {
            assert!(right.is_empty(), "seed {seed}: {right:?}");
            continue;
        };
        assert!(got.imbalance_a < 1e-9);
        assert!(!right.is_empty(), "seed {seed}");
        for (_, regime) in &got.regimes {
            held[*regime as usize] += 1;
        }
        let best = right.iter().map(|want| off_by(&circuit, &got, want));
        assert!(best.fold(1.0, f64::min) < 1e-8, "seed {seed}: {right:?}");
    }
    assert!(held.iter().all(|n| *n > 30), "{held:?}");
}

#[test]
fn with_powers_the_right_pattern_of_the_highest_volts_is_found() {
    let mut counts = [0; 3];
    for seed in 0..300 {
        let circuit = network(&mut Random(seed * 104_729 + 5), true);
        let right = right_patterns(&circuit);
        let sum = |volts: &Vec<f64>| volts_of(&circuit, volts).iter().sum::<f64>();
        let best = right.iter().max_by(|a, b| sum(a).total_cmp(&sum(b)));
        match (Solver::new().solve(&circuit), best) {
            (Outcome::Solved(got), Some(want)) => {
                let off = off_by(&circuit, &got, want);
                assert!(
                    off < 1e-7,
                    "seed {seed}: off by {off}, {} right",
                    right.len()
                );
                counts[0] += 1;
            }
            (Outcome::Unserved(_), None) => counts[1] += 1,
            (Outcome::Solved(_), None) => panic!("seed {seed}: solved, and nothing is right"),
            (Outcome::Unserved(got), Some(_)) => {
                panic!(
                    "seed {seed}: served {} where a pattern is right",
                    got.served
                )
            }
        }
        counts[2] += usize::from(right.len() > 1);
    }
    assert!(counts[0] > 100 && counts[1] > 20, "{counts:?}");
}
