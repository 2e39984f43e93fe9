//! Laws that hold for every solution, on random circuits.

use farend::circuit::{Circuit, Law};
use farend::solve::{Bench, Outcome, Solution, Solver};
use proptest::prelude::*;

use super::random::{self, Random};

fn solution(circuit: &Circuit) -> Option<Solution> {
    match Solver::new().solve(circuit) {
        Outcome::Solved(solution) => Some(solution),
        Outcome::Unserved(_) => None,
    }
}

fn close(a: &[f64], b: &[f64], factor: f64) -> Result<(), TestCaseError> {
    for (a, b) in a.iter().zip(b) {
        prop_assert!(
            (a * factor - b).abs() < 1e-8 * (1.0 + b.abs()),
            "{a} times {factor}: {b}"
        );
    }
    Ok(())
}

/// Multiplies all volts, ohms and drawn currents; powers follow as volts times currents.
fn scaled(circuit: &Circuit, volts: f64, ohm: f64) -> Circuit {
    let mut circuit = circuit.clone();
    let amps = volts / ohm;
    for branch in &mut circuit.branches {
        branch.resistance_ohm *= ohm;
    }
    for source in &mut circuit.sources {
        source.volts_v *= volts;
        source.resistance_ohm *= ohm;
    }
    for load in &mut circuit.loads {
        load.law = match load.law {
            Law::Off => Law::Off,
            Law::Current(drawn) => Law::Current(drawn * amps),
            Law::Power(drawn) => Law::Power(drawn * amps * volts),
            Law::Resistance(own) => Law::Resistance(own * ohm),
        };
    }
    circuit
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn power_in_is_power_out(seed: u64, feeds in 0_u32..4) {
        let circuit = random::circuit(&mut Random(seed), feeds, 1.5);
        let Some(at) = solution(&circuit) else { return Ok(()) };
        let v = |node: u32| at.node_v[node as usize];
        let given: f64 = circuit.sources.iter().zip(&at.source_a)
            .map(|(source, amps)| (v(source.plus) - v(source.minus)) * amps).sum();
        let wires: f64 = circuit.branches.iter().zip(&at.branch_a)
            .map(|(branch, amps)| (v(branch.from) - v(branch.to)) * amps).sum();
        let loads: f64 = at.load_v.iter().zip(&at.load_a).map(|(volts, amps)| volts * amps).sum();
        let feeds: f64 = at.feed_w.iter().sum();
        prop_assert!((given - wires - loads - feeds).abs() < 1e-9 * (1.0 + given.abs()));
        prop_assert!(at.imbalance_a < 1e-9);
        for (load, amps) in circuit.loads.iter().zip(at.load_v.iter().zip(&at.load_a)) {
            if let Law::Power(drawn) = load.law {
                prop_assert!((amps.0 * amps.1 - drawn).abs() < 1e-9 * (1.0 + drawn));
            }
        }
    }

    #[test]
    fn feeds_draw_what_they_give(seed: u64) {
        let circuit = random::circuit(&mut Random(seed), 3, 0.3);
        let Some(at) = solution(&circuit) else { return Ok(()) };
        for (k, feed) in circuit.feeds.iter().enumerate() {
            let source = &circuit.sources[feed.source];
            let volts = at.node_v[source.plus as usize] - at.node_v[source.minus as usize];
            let given = volts * at.source_a[feed.source];
            prop_assert!((at.feed_w[k] * feed.efficiency - given).abs() < 1e-9 * (1.0 + given.abs()));
        }
    }

    #[test]
    fn twice_the_ohms_at_half_the_current_keeps_the_volts(seed: u64, feeds in 0_u32..3) {
        let circuit = random::circuit(&mut Random(seed), feeds, 1.5);
        let Some(at) = solution(&circuit) else { return Ok(()) };
        let other = solution(&scaled(&circuit, 1.0, 2.0)).unwrap();
        close(&at.node_v, &other.node_v, 1.0)?;
        close(&at.branch_a, &other.branch_a, 0.5)?;
    }

    #[test]
    fn volts_and_currents_grow_together(seed: u64, feeds in 0_u32..3, k in 0.5_f64..4.0) {
        let circuit = random::circuit(&mut Random(seed), feeds, 1.5);
        let Some(at) = solution(&circuit) else { return Ok(()) };
        let other = solution(&scaled(&circuit, k, 1.0)).unwrap();
        close(&at.node_v, &other.node_v, k)?;
        close(&at.source_a, &other.source_a, k)?;
    }

    #[test]
    fn order_of_branches_does_not_matter(seed: u64) {
        let mut circuit = random::circuit(&mut Random(seed), 1, 0.5);
        let Some(at) = solution(&circuit) else { return Ok(()) };
        circuit.branches.reverse();
        close(&at.load_v, &solution(&circuit).unwrap().load_v, 1.0)?;
    }

    #[test]
    fn a_solver_that_has_seen_others_answers_the_same(seed: u64) {
        let mut circuit = random::circuit(&mut Random(seed), 1, 0.5);
        let mut solver = Solver::new();
        let first = solver.solve(&circuit);
        let before = circuit.branches[0].resistance_ohm;
        circuit.branches[0].resistance_ohm = f64::INFINITY;
        solver.solve(&circuit);
        circuit.branches[0].resistance_ohm = before;
        prop_assert_eq!(first, solver.solve(&circuit));
    }

    #[test]
    fn a_bench_settles_where_a_new_solver_does(seed: u64, feeds in 0_u32..3, heavy in 0.5..8.0) {
        let mut random = Random(seed);
        let mut bench = Bench::new(random::circuit(&mut random, feeds, heavy));
        for _ in 0..12 {
            random::edit(&mut random, &mut bench.circuit);
            let settled = bench.settle();
            match Solver::new().solve(&bench.circuit) {
                Outcome::Solved(cold) => {
                    prop_assert!(settled);
                    for (k, volts) in cold.load_v.iter().enumerate() {
                        let warm = bench.load_v(k).unwrap();
                        prop_assert!((warm - volts).abs() < 1e-9 * (1.0 + volts.abs()), "{warm} for {volts}");
                        let amps = bench.load_a(k).unwrap();
                        prop_assert!((amps - cold.load_a[k]).abs() < 1e-9 * (1.0 + amps.abs()));
                    }
                    let mut given = Vec::new();
                    prop_assert!(bench.source_a(&mut given));
                    for (warm, cold) in given.iter().zip(&cold.source_a) {
                        prop_assert!((warm - cold).abs() < 1e-8 * (1.0 + cold.abs()), "{warm} for {cold}");
                    }
                }
                Outcome::Unserved(_) => prop_assert!(!settled && bench.load_v(0).is_none()),
            }
        }
    }

    #[test]
    fn served_part_is_served_and_a_little_more_is_not(seed: u64, feeds in 0_u32..3) {
        let circuit = random::circuit(&mut Random(seed), feeds, 10.0);
        let mut solver = Solver::new();
        let Outcome::Unserved(at) = solver.solve(&circuit) else { return Ok(()) };
        let all = |factor: f64| vec![factor; circuit.loads.len()];
        if at.served > 0.0 {
            prop_assert!(solver.serves(&circuit, &all(at.served * (1.0 - 1e-6)), None));
            prop_assert!(!solver.serves(&circuit, &all(at.served * (1.0 + 1e-6)), None));
        }
    }

    #[test]
    fn headroom_is_the_last_factor_served(seed: u64) {
        let circuit = random::circuit(&mut Random(seed), 1, 0.5);
        let mut solver = Solver::new();
        let Outcome::Solved(at) = solver.solve(&circuit) else { return Ok(()) };
        for k in 0..circuit.loads.len() {
            let room = solver.headroom(&circuit, &at, k, 50.0);
            let mut scale = vec![1.0; circuit.loads.len()];
            scale[k] = room * 0.9999;
            prop_assert!(solver.serves(&circuit, &scale, Some(&at)));
            if room < 50.0 {
                scale[k] = room * 1.0003;
                prop_assert!(!solver.serves(&circuit, &scale, Some(&at)));
            }
        }
    }
}
