//! Printed examples of ac distribution: textbook figures, each with its source.
//!
//! The books draw constant currents at an angle to one common volts. At 1e9 V every
//! drop's angle is nothing, and a constant apparent power is such a current.

use approx::assert_abs_diff_eq;
use num_complex::Complex64;

use super::super::{node, solved, supplied};
use super::{apparent, chain, line};

const HIGH_V: f64 = 1e9;

fn ohms(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

/// A draw of so many amps at a power factor and at the high volts.
fn amps(amps: f64, power_factor: f64) -> (f64, f64) {
    (amps * HIGH_V, power_factor)
}

/// The drop of a chain of two, in the frame of the volts.
fn drop(parts: &[(Complex64, (f64, f64))]) -> Complex64 {
    let phasors = solved(&chain(HIGH_V, parts)).phasors.unwrap();
    phasors.node_v[0] - phasors.node_v[3]
}

// V.K. Mehta and R. Mehta, Principles of Power System, ch. 14, Example 14.1, p. 359.
#[test]
fn two_loads_on_a_line() {
    let parts = [
        (ohms(0.04, 0.02), amps(100.0, 0.707)),
        (ohms(0.02, 0.01), amps(200.0, 0.8)),
    ];
    assert_abs_diff_eq!(drop(&parts).norm(), 17.85, epsilon = 0.005);
}

// The same, Example 14.2, p. 359: 230 V at the far end.
#[test]
fn volts_to_send_for_230_at_the_far_end() {
    let parts = [
        (ohms(0.05, 0.1), amps(80.0, 0.9)),
        (ohms(0.05, 0.1), amps(120.0, 0.8)),
    ];
    let sent = drop(&parts) + 230.0;
    assert_abs_diff_eq!(sent.norm(), 261.67, epsilon = 0.005);
    assert_abs_diff_eq!(sent.arg().to_degrees(), 3.83, epsilon = 0.005);
}

/// Amps through each conductor of a network of the given conductors and draws, node 0 fed.
fn branch_amps(
    nodes: u32,
    lines: &[(u32, u32, Complex64)],
    draws: &[(u32, (f64, f64))],
) -> (Vec<Complex64>, Vec<Complex64>) {
    let mut circuit = supplied(HIGH_V);
    let at: Vec<u32> = (0..nodes)
        .map(|n| if n == 0 { 0 } else { node(&mut circuit) })
        .collect();
    for (from, to, ohms) in lines {
        line(&mut circuit, at[*from as usize], at[*to as usize], *ohms);
    }
    for (to, draw) in draws {
        apparent(&mut circuit, at[*to as usize], 1, *draw);
    }
    let phasors = solved(&circuit).phasors.unwrap();
    let volts = at.iter().map(|n| phasors.node_v[*n as usize]).collect();
    (phasors.branch_a, volts)
}

// The same, Example 14.4, p. 362: a ring A-B-C. The print rounds some parts to one digit.
#[test]
fn ring_of_three() {
    let lines = [
        (0, 1, ohms(1.0, 1.0)),
        (1, 2, ohms(1.0, 2.0)),
        (0, 2, ohms(1.0, 3.0)),
    ];
    let draws = [(1, amps(20.0, 0.8)), (2, amps(15.0, 0.6))];
    let (amps, _) = branch_amps(3, &lines, &draws);
    let printed = [(18.6, -13.53), (2.6, -1.53), (6.4, -10.47)];
    for (found, (re, im)) in amps.iter().zip(printed) {
        assert_abs_diff_eq!(found.re, re, epsilon = 0.05);
        assert_abs_diff_eq!(found.im, im, epsilon = 0.005);
    }
}

// A. Chakrabarti, M.L. Soni, P.V. Gupta, U.S. Bhatnagar, A Textbook on Power System Engineering,
// Example 2.18.9, p. 444: an 11 kV ring A-B-D-C, as phase to neutral.
#[test]
fn ring_of_four() {
    let lines = [
        (0, 1, ohms(1.0, 0.8)),
        (0, 2, ohms(3.0, 2.0)),
        (1, 3, ohms(3.0, 4.0)),
        (2, 3, ohms(1.0, 0.7)),
    ];
    let draws = [
        (1, amps(60.0, 0.8)),
        (2, amps(30.0, 0.9)),
        (3, amps(50.0, 0.707)),
    ];
    let (amps, volts) = branch_amps(4, &lines, &draws);
    for (found, re, im, digit) in [
        (amps[3], 19.67, -16.46, 0.005),
        (amps[0], 63.68, -54.9, 0.006),
    ] {
        assert_abs_diff_eq!(found.re, re, epsilon = digit);
        assert_abs_diff_eq!(found.im, im, epsilon = 0.006);
    }
    let phase = 11_000.0 / 3.0_f64.sqrt();
    let at_c = (volts[2] - volts[0] + phase).norm();
    assert_abs_diff_eq!(at_c * 3.0_f64.sqrt() / 1000.0, 10.66, epsilon = 0.005);
}

// B.L. Theraja and A.K. Theraja, A Textbook of Electrical Technology vol. III, ch. 41,
// Example 41.43, p. 1652: each power factor is that against the draw's own volts, and the supply
// is looked for that leaves 240 V at the far end.
#[test]
fn power_factors_against_own_volts() {
    let half = ohms(0.2, 0.3);
    // 240 V and 100 A at 0.8 through one half: the mid-point's volts by hand.
    let middle = (Complex64::from(240.0) + half * Complex64::new(80.0, -60.0)).norm();
    let far = |sent: f64| {
        let parts = [(half, (middle * 100.0, 0.6)), (half, (24_000.0, 0.8))];
        solved(&chain(sent, &parts))
    };
    let (mut low, mut high) = (300.0, 400.0);
    for _ in 0..60 {
        let sent = f64::midpoint(low, high);
        if far(sent).load_v[1] < 240.0 {
            low = sent;
        } else {
            high = sent;
        }
    }
    assert_abs_diff_eq!(low, 345.0, epsilon = 0.5);
    let phasors = far(low).phasors.unwrap();
    let angle = (phasors.node_v[0] / (phasors.node_v[3] - phasors.node_v[1])).arg();
    assert_abs_diff_eq!(angle.to_degrees(), 4.59, epsilon = 0.01);
}
