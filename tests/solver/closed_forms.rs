//! One load at the end of a line, and other cases with an answer on paper.

use approx::assert_abs_diff_eq;
use farend::circuit::{Circuit, Law};
use farend::solve::Solver;
use rstest::rstest;

use super::{far_end, feed, load, node, solved, source, supplied, unserved, wire};

/// IEEE 802.3 clause 33: least volts and most loop resistance at the supply end, power at the far
/// end, and the volts and current that follow there.
#[rstest]
#[case::type_1(44.0, 20.0, 12.95, 37.0, 0.350)]
#[case::type_2(50.0, 12.5, 25.5, 42.5, 0.600)]
fn ieee_802_3_identities(
    #[case] volts: f64,
    #[case] ohm: f64,
    #[case] watts: f64,
    #[case] far_v: f64,
    #[case] amps: f64,
) {
    let solution = solved(&far_end(volts, ohm, Law::Power(watts)));
    assert_abs_diff_eq!(solution.load_v[0], far_v, epsilon = 1e-12);
    assert_abs_diff_eq!(solution.load_a[0], amps, epsilon = 1e-14);
}

/// V = (V0 + √(V0² - 4 P R)) / 2, the high root of V (V0 - V) / R = P.
#[rstest]
#[case(12.0, 4.0, 0.001)]
#[case(12.0, 4.0, 4.5)]
#[case(12.0, 4.0, 8.99)]
#[case(12.0, 4.0, 8.999_999)]
#[case(24.0, 1e-6, 100.0)]
#[case(24.0, 1e6, 1.2e-4)]
#[case(12.0, 4.0, -3.0)]
fn constant_power_has_the_high_root(#[case] v0: f64, #[case] r: f64, #[case] p: f64) {
    let solution = solved(&far_end(v0, r, Law::Power(p)));
    let root = (v0 * v0 - 4.0 * p * r).sqrt();
    // The discriminant's own rounding is magnified at the cliff.
    let epsilon = 1e-14 * v0 * v0 / root;
    assert_abs_diff_eq!(
        solution.load_v[0],
        f64::midpoint(v0, root),
        epsilon = epsilon
    );
}

#[test]
fn just_below_the_cliff_is_at_6_2_volts() {
    let solution = solved(&far_end(12.0, 4.0, Law::Power(8.99)));
    assert_abs_diff_eq!(solution.load_v[0], 6.20, epsilon = 1e-9);
}

#[rstest]
#[case(12.0, 4.0, 9.000_01)]
#[case(12.0, 4.0, 9.01)]
#[case(12.0, 4.0, 20.0)]
#[case(44.0, 20.0, 1000.0)]
#[case(24.0, 0.1, 1e7)]
fn beyond_the_cliff_the_served_part_is_that_of_the_cliff(
    #[case] v0: f64,
    #[case] r: f64,
    #[case] p: f64,
) {
    let circuit = far_end(v0, r, Law::Power(p));
    let unserved = unserved(&circuit);
    let cliff = v0 * v0 / (4.0 * r * p);
    assert_abs_diff_eq!(unserved.served / cliff, 1.0, epsilon = 1e-6);
    assert_abs_diff_eq!(unserved.load_v[0], v0 / 2.0, epsilon = 1e-3 * v0);
    let mut solver = Solver::new();
    assert!(solver.serves(&circuit, &[cliff * 0.999_999], None));
    assert!(!solver.serves(&circuit, &[cliff * 1.000_001], None));
}

/// A run of joints of a micro-ohm between lengths of wire: the ohms just add up.
#[test]
fn joints_of_a_micro_ohm_keep_their_digits() {
    let mut circuit = supplied(24.0);
    let mut end = 0;
    for k in 0..200 {
        let next = node(&mut circuit);
        wire(&mut circuit, end, next, if k % 2 == 0 { 1e-6 } else { 0.1 });
        end = next;
    }
    load(&mut circuit, end, 1, Law::Power(12.0));
    let solution = solved(&circuit);
    let root = (24.0_f64.powi(2) - 4.0 * 12.0 * 10.0001).sqrt();
    assert_abs_diff_eq!(
        solution.load_v[0],
        f64::midpoint(24.0, root),
        epsilon = 1e-11
    );
    // 1e-12 of the largest conductance times the volts.
    assert!(
        solution.imbalance_a < 1e-12 * 1e6 * 24.0,
        "{:e}",
        solution.imbalance_a
    );
}

#[test]
fn constant_current_ends_at_no_volts() {
    let unserved = unserved(&far_end(12.0, 4.0, Law::Current(4.0)));
    assert_abs_diff_eq!(unserved.served, 0.75, epsilon = 1e-7);
}

#[rstest]
#[case(Law::Power(3.0), 3.0)]
#[case(Law::Current(1.0), 3.0)]
#[case(Law::Power(0.1), 10.0)]
#[case(Law::Resistance(10.0), 10.0)]
#[case(Law::Off, 10.0)]
fn headroom_reaches_the_cliff_or_the_cap(#[case] law: Law, #[case] expected: f64) {
    let circuit = far_end(12.0, 4.0, law);
    let at = solved(&circuit);
    let headroom = Solver::new().headroom(&circuit, &at, 0, 10.0);
    assert_abs_diff_eq!(headroom, expected, epsilon = 2e-4 * expected);
}

#[test]
fn loads_that_draw_nothing_need_no_volts() {
    let mut circuit = supplied(12.0);
    let alone = node(&mut circuit);
    for law in [
        Law::Off,
        Law::Current(0.0),
        Law::Power(0.0),
        Law::Resistance(f64::INFINITY),
    ] {
        load(&mut circuit, alone, alone, law);
    }
    let solution = solved(&circuit);
    assert_eq!(solution.load_a, [0.0; 4]);
    assert_abs_diff_eq!(solution.node_v[2], 0.0, epsilon = 0.0);
}

#[rstest]
#[case::current(Law::Current(0.1))]
#[case::power(Law::Power(0.1))]
#[case::resistance(Law::Resistance(100.0))]
fn no_return_is_unserved(#[case] law: Law) {
    let mut circuit = supplied(12.0);
    let (plus, minus) = (node(&mut circuit), node(&mut circuit));
    wire(&mut circuit, 0, plus, 0.5);
    wire(&mut circuit, 1, minus, f64::INFINITY);
    load(&mut circuit, plus, minus, law);
    assert_abs_diff_eq!(unserved(&circuit).served, 0.0, epsilon = 0.0);
}

#[test]
fn reversed_load_is_unserved() {
    let mut circuit = supplied(12.0);
    load(&mut circuit, 1, 0, Law::Resistance(10.0));
    assert_abs_diff_eq!(unserved(&circuit).served, 0.0, epsilon = 0.0);
}

#[test]
fn dead_source_gives_nothing() {
    let mut circuit = far_end(12.0, 1.0, Law::Off);
    circuit.sources[0].live = false;
    let solution = solved(&circuit);
    assert_eq!((solution.source_a[0], solution.load_v[0]), (0.0, 0.0));
    circuit.loads[0].law = Law::Current(1.0);
    assert_abs_diff_eq!(unserved(&circuit).served, 0.0, epsilon = 0.0);
}

/// Two ideal sources in series and a third on their middle, all in one merged group.
#[test]
fn stacked_ideal_sources_carry_what_kirchhoff_says() {
    let mut circuit = supplied(12.0);
    let top = node(&mut circuit);
    source(&mut circuit, top, 0, 5.0, 0.0);
    let below = node(&mut circuit);
    source(&mut circuit, 1, below, 3.0, 0.0);
    load(&mut circuit, top, below, Law::Current(1.0));
    load(&mut circuit, top, 1, Law::Resistance(17.0));
    load(&mut circuit, 0, below, Law::Power(30.0));
    let solution = solved(&circuit);
    for (got, want) in solution.source_a.iter().zip([4.0, 2.0, 3.0]) {
        assert_abs_diff_eq!(*got, want, epsilon = 1e-12);
    }
    assert_abs_diff_eq!(solution.load_v[0], 20.0, epsilon = 1e-12);
}

#[test]
fn equal_ideal_sources_in_parallel_share_a_load() {
    let mut circuit = supplied(12.0);
    source(&mut circuit, 0, 1, 12.0, 0.0);
    load(&mut circuit, 0, 1, Law::Resistance(6.0));
    let solution = solved(&circuit);
    assert_abs_diff_eq!(solution.source_a.iter().sum::<f64>(), 2.0, epsilon = 1e-9);
}

/// A chain of two converters; each asks of the one before what it gives over its efficiency.
fn chain(second_w: f64) -> Circuit {
    let mut circuit = far_end(48.0, 8.0, Law::Off);
    let (mid, mid_minus, low, low_minus) = (
        node(&mut circuit),
        node(&mut circuit),
        node(&mut circuit),
        node(&mut circuit),
    );
    source(&mut circuit, mid, mid_minus, 24.0, 0.0);
    feed(&mut circuit, 2, 1, 0.8);
    source(&mut circuit, low, low_minus, 12.0, 0.0);
    feed(&mut circuit, mid, mid_minus, 0.9);
    load(&mut circuit, low, low_minus, Law::Power(second_w));
    load(&mut circuit, mid, mid_minus, Law::Resistance(96.0));
    circuit
}

#[test]
fn chain_of_feeds_adds_up() {
    let solution = solved(&chain(18.0));
    assert_abs_diff_eq!(solution.feed_w[1], 20.0, epsilon = 1e-12);
    assert_abs_diff_eq!(solution.feed_w[0], 26.0 / 0.8, epsilon = 1e-12);
    let far_v = f64::midpoint(48.0, (48.0_f64.powi(2) - 4.0 * 8.0 * 32.5).sqrt());
    assert_abs_diff_eq!(solution.load_v[0], far_v, epsilon = 1e-11);
    assert_abs_diff_eq!(solution.feed_a[0], 32.5 / far_v, epsilon = 1e-12);
}

/// The cliff of the chain: (λ P / 0.9 + 6) / 0.8 = 48² / (4 · 8) = 72, so λ P = 46.44.
#[test]
fn chain_of_feeds_has_the_cliff_of_its_first_line() {
    assert!(matches!(
        Solver::new().solve(&chain(46.43)),
        farend::solve::Outcome::Solved(_)
    ));
    let served = unserved(&chain(92.88)).served;
    assert_abs_diff_eq!(served, 0.5, epsilon = 1e-6);
}

/// Resistive loads do not scale, so a feed that cannot carry them serves nothing.
#[test]
fn feed_beyond_its_cliff_without_scalable_loads_serves_nothing() {
    let mut circuit = far_end(12.0, 4.0, Law::Off);
    let out = node(&mut circuit);
    source(&mut circuit, out, 1, 12.0, 0.0);
    feed(&mut circuit, 2, 1, 1.0);
    load(&mut circuit, out, 1, Law::Resistance(144.0 / 8.9));
    assert_abs_diff_eq!(solved(&circuit).feed_w[0], 8.9, epsilon = 1e-12);
    circuit.loads[1].law = Law::Resistance(144.0 / 9.1);
    assert_abs_diff_eq!(unserved(&circuit).served, 0.0, epsilon = 0.0);
}

/// An output of the same volts as its own device's input, wired back to it: it carries itself.
#[test]
fn device_that_feeds_its_own_line_takes_the_losses_from_the_supply() {
    let mut circuit = far_end(24.0, 1.0, Law::Current(1.0));
    let out = node(&mut circuit);
    source(&mut circuit, out, 1, 24.0, 0.0);
    feed(&mut circuit, 2, 1, 0.5);
    wire(&mut circuit, out, 2, 10.0);
    let solution = solved(&circuit);
    let (v, out_a) = (solution.load_v[0], solution.source_a[1]);
    assert_abs_diff_eq!(out_a, (24.0 - v) / 10.0, epsilon = 1e-12);
    assert_abs_diff_eq!(solution.feed_w[0], 48.0 * out_a, epsilon = 1e-12);
    let into = solution.source_a[0] + out_a;
    assert_abs_diff_eq!(into, 1.0 + 48.0 * out_a / v, epsilon = 1e-12);
}

/// Shared negatives, joints of a micro-ohm, ideal outputs: one idle, one loaded.
#[test]
fn idle_and_loaded_outputs_behind_stout_joints() {
    let mut circuit = far_end(24.0, 1.0, Law::Off);
    for watts in [0.0, 20.0] {
        let (out, end) = (node(&mut circuit), node(&mut circuit));
        source(&mut circuit, out, 1, 12.0, 0.0);
        feed(&mut circuit, 2, 1, 0.8);
        wire(&mut circuit, out, end, 1e-6);
        load(&mut circuit, end, 1, Law::Power(watts));
    }
    let solution = solved(&circuit);
    // 24² - 4 · 25 = 476; the joint itself takes (20 / 12)² µW.
    let far_v = f64::midpoint(24.0, 476.0_f64.sqrt());
    assert_abs_diff_eq!(solution.load_v[0], far_v, epsilon = 1e-6);
    assert_abs_diff_eq!(solution.feed_w[0], 0.0, epsilon = 1e-6);
    assert_abs_diff_eq!(solution.feed_w[1], 25.0, epsilon = 1e-5);
}
