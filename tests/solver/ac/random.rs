//! Random circuits with angles, solved twice; and without, by the real solver.

use farend::circuit::{Circuit, Law};
use farend::solve::{Outcome, Solver};
use num_complex::Complex64;

use super::super::random::{self, Random};
use super::oracle::{self, Answer};
use super::{angles, vars};

/// Gives conductors reactance and draws a power factor; some draws lose volts in diodes.
fn add_angles(circuit: &mut Circuit, random: &mut Random) {
    let most = [0.05, 0.5, 3.0][random.below(3) as usize];
    let ohms: Vec<f64> = circuit.branches.iter().map(|b| b.resistance_ohm).collect();
    let ac = angles(circuit);
    for (x, ohm) in ac.reactance_ohm.iter_mut().zip(ohms) {
        if ohm.is_finite() {
            *x = ohm * most * random.part();
        }
    }
    for lag in ac.loads.iter_mut().chain(&mut ac.feeds) {
        lag.vars_per_watt = vars(0.3 + 0.7 * random.part());
        lag.lost_v = if random.below(4) == 0 {
            1.1 * random.part()
        } else {
            0.0
        };
    }
}

#[test]
fn second_solver_agrees() {
    let (mut points, mut ends, mut angle) = (0, 0, 0.0_f64);
    for seed in 0..60_u64 {
        let mut random = Random(seed.wrapping_mul(7919) + 3);
        let heavy = 0.5 * 50.0_f64.powf(random.part());
        let feeds = random.below(3);
        let mut circuit = random::circuit(&mut random, feeds, heavy);
        add_angles(&mut circuit, &mut random);
        match (Solver::new().solve(&circuit), oracle::solve(&circuit)) {
            (Outcome::Solved(found), Answer::Point(volts, watts)) => {
                points += 1;
                assert!(
                    found.imbalance_a < 1e-9,
                    "seed {seed}: {}",
                    found.imbalance_a
                );
                let phasors = found.phasors.unwrap();
                for (k, (load, expected)) in circuit.loads.iter().zip(&volts).enumerate() {
                    if load.law == Law::Off {
                        continue;
                    }
                    let [p, m] = [load.plus, load.minus].map(|n| phasors.node_v[n as usize]);
                    let expected = Complex64::new(expected.re, expected.im);
                    let off = ((p - m) - expected).norm();
                    assert!(
                        off < 1e-8,
                        "seed {seed}, load {k}: {} and {expected}",
                        p - m
                    );
                    angle = angle.max(expected.arg().abs());
                }
                for (feed, expected) in found.feed_w.iter().zip(&watts) {
                    let off = (feed - expected).abs();
                    assert!(
                        off < 1e-7 * (1.0 + expected.abs()),
                        "seed {seed}: {feed} and {expected}"
                    );
                }
            }
            (Outcome::Unserved(found), Answer::Ends(expected)) => {
                ends += 1;
                let off = (found.served - expected).abs();
                assert!(off < 2e-6, "seed {seed}: {} and {expected}", found.served);
            }
            (Outcome::Solved(_), Answer::Ends(at)) => panic!("seed {seed}: ends at {at}"),
            (Outcome::Unserved(found), Answer::Point(..)) => {
                panic!("seed {seed}: served {} only", found.served)
            }
        }
    }
    // The comparison means little without cliffs and without angles.
    assert!(
        points > 25 && ends > 8 && angle > 0.1,
        "{points} {ends} {angle}"
    );
}

/// Without reactance and at power factor 1 the phasors are the numbers of the real solver: the
/// witnesses of the right root must then agree as well.
#[test]
fn without_angles_it_is_the_real_solver() {
    let (mut points, mut ends) = (0, 0);
    for seed in 0..300_u64 {
        let mut random = Random(seed.wrapping_mul(104_729) + 11);
        let heavy = 0.5 * 50.0_f64.powf(random.part());
        let feeds = random.below(3);
        let plain = random::circuit(&mut random, feeds, heavy);
        let mut angled = plain.clone();
        angles(&mut angled);
        match (Solver::new().solve(&plain), Solver::new().solve(&angled)) {
            (Outcome::Solved(real), Outcome::Solved(phasors)) => {
                points += 1;
                for (a, b) in real.load_v.iter().zip(&phasors.load_v) {
                    assert!((a.abs() - b).abs() < 1e-9, "seed {seed}: {a} and {b}");
                }
                for (a, b) in real.source_a.iter().zip(&phasors.source_a) {
                    assert!(
                        (a - b).abs() < 1e-8 * (1.0 + a.abs()),
                        "seed {seed}: {a} and {b}"
                    );
                }
            }
            (Outcome::Unserved(real), Outcome::Unserved(phasors)) => {
                ends += 1;
                let off = (real.served - phasors.served).abs();
                assert!(
                    off < 1e-6,
                    "seed {seed}: {} and {}",
                    real.served,
                    phasors.served
                );
            }
            (real, phasors) => panic!("seed {seed}: {real:?}\n{phasors:?}"),
        }
    }
    assert!(points > 100 && ends > 30, "{points} {ends}");
}
