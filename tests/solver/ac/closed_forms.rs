//! One draw at the end of R + jX, for which the volts have a closed form.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use farend::circuit::{Circuit, Law};
use farend::solve::{Outcome, Solver};
use num_complex::Complex64;
use rstest::rstest;

use super::super::{far_end, load, solved, supplied, unserved};
use super::{angles, chain, line, vars};

/// |v|² is the greater root of |v|⁴ + (2 (R P + X Q) - E²) |v|² + |Z|² |S|² = 0: the square of
/// E = |v + Z conj(S / v)|, as any textbook on power distribution has it.
fn far_volts(volts: f64, ohms: Complex64, power: Complex64) -> Option<f64> {
    let half = (volts * volts) / 2.0 - (ohms * power.conj()).re;
    let rest = half * half - ohms.norm_sqr() * power.norm_sqr();
    (half > 0.0 && rest >= 0.0).then(|| (half + rest.sqrt()).sqrt())
}

/// The largest factor on S: half = |Z| |S|, both proportional to it.
fn most(volts: f64, ohms: Complex64, power: Complex64) -> f64 {
    volts * volts / 2.0 / ((ohms * power.conj()).re + ohms.norm() * power.norm())
}

#[rstest]
#[case(24.0, (3.0, 0.0), 10.0, 0.8)]
#[case(24.0, (1.6, 1.2), 20.0, 0.9)]
#[case(16.0, (0.2, 2.5), 15.0, 1.0)]
#[case(16.0, (0.01, 3.0), 30.0, 0.95)]
#[case(24.0, (2.0, 0.3), 1.0, 0.2)]
fn constant_power(
    #[case] volts: f64,
    #[case] (r, x): (f64, f64),
    #[case] va: f64,
    #[case] power_factor: f64,
) {
    let ohms = Complex64::new(r, x);
    let power = Complex64::from_polar(va, power_factor.acos());
    let circuit = chain(volts, &[(ohms, (va, power_factor))]);
    let solution = solved(&circuit);
    let expected = far_volts(volts, ohms, power).unwrap();
    assert_abs_diff_eq!(solution.load_v[0], expected, epsilon = 1e-9);
    assert!(solution.imbalance_a < 1e-9);
    let limit = most(volts, ohms, power);
    for (part, serves) in [(0.999, true), (1.001, false)] {
        let circuit = chain(volts, &[(ohms, (va * limit * part, power_factor))]);
        match Solver::new().solve(&circuit) {
            Outcome::Solved(_) => assert!(serves),
            Outcome::Unserved(short) => {
                assert!(!serves);
                assert_relative_eq!(short.served, 1.0 / part, max_relative = 1e-6);
            }
        }
    }
    let headroom = Solver::new().headroom(&circuit, &solution, 0, 1e6);
    assert_relative_eq!(headroom, limit, max_relative = 2e-4);
}

/// The draw is in phase with its own volts v: E² = (v + R I)² + (X I)².
#[rstest]
#[case(24.0, (3.0, 1.0), 1.5)]
#[case(24.0, (0.1, 8.0), 2.0)]
fn constant_current(#[case] volts: f64, #[case] (r, x): (f64, f64), #[case] amps: f64) {
    let mut circuit = supplied(volts);
    let end = super::node(&mut circuit);
    line(&mut circuit, 0, end, Complex64::new(r, x));
    load(&mut circuit, end, 1, Law::Current(amps));
    angles(&mut circuit);
    let expected = (volts * volts - (x * amps).powi(2)).sqrt() - r * amps;
    assert_abs_diff_eq!(solved(&circuit).load_v[0], expected, epsilon = 1e-9);
    // It ends where the volts do: E = |Z| I.
    circuit.loads[0].law = Law::Current(1.01 * volts / r.hypot(x));
    assert_relative_eq!(unserved(&circuit).served, 1.0 / 1.01, max_relative = 1e-6);
}

/// Watts behind d rms volts of diodes: I = W / (v - d), so that u = v - d is the upper root of
/// u² - (E - d) u + R W = 0.
#[test]
fn watts_behind_diodes() {
    let (volts, ohm, watts, lost) = (24.0, 3.0, 9.0, 1.1);
    let mut circuit = far_end(volts, ohm, Law::Power(watts));
    angles(&mut circuit).loads[0].lost_v = lost;
    let solution = solved(&circuit);
    let open = volts - lost;
    let useful = (open + (open * open - 4.0 * ohm * watts).sqrt()) / 2.0;
    assert_abs_diff_eq!(solution.load_v[0], useful + lost, epsilon = 1e-10);
    assert_abs_diff_eq!(solution.load_a[0], watts / useful, epsilon = 1e-10);
}

/// A real power that passes a supply costs its device the power over the efficiency, with the
/// device's own vars beside it.
#[test]
fn a_device_that_feeds_draws_real_power_with_its_own_vars() {
    let ohms = Complex64::new(2.0, 0.5);
    let (efficiency, watts, share) = (0.8, 6.0, 0.9);
    let mut circuit: Circuit = chain(24.0, &[(ohms, (0.0, 1.0))]);
    let (plus, minus) = (super::node(&mut circuit), super::node(&mut circuit));
    super::super::source(&mut circuit, plus, minus, 12.0, 0.0);
    super::super::feed(&mut circuit, 2, 1, efficiency);
    load(&mut circuit, plus, minus, Law::Power(watts));
    angles(&mut circuit).feeds[0].vars_per_watt = vars(share);
    let solution = solved(&circuit);
    let power = Complex64::from_polar(watts / efficiency / share, share.acos());
    let expected = far_volts(24.0, ohms, power).unwrap();
    let phasors = solution.phasors.unwrap();
    let far = (phasors.node_v[2] - phasors.node_v[1]).norm();
    assert_abs_diff_eq!(far, expected, epsilon = 1e-9);
    assert_abs_diff_eq!(solution.feed_w[0], watts / efficiency, epsilon = 1e-9);
    assert_abs_diff_eq!(solution.feed_a[0], power.norm() / expected, epsilon = 1e-9);
}
