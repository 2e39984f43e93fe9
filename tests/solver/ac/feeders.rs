//! Radial feeders against a general power-flow library: feeders.toml is its record, feeders.py
//! the script that made it.

use approx::assert_abs_diff_eq;
use num_complex::Complex64;
use serde::Deserialize;

use super::super::{node, solved, supplied};
use super::{apparent, line};

#[derive(Deserialize)]
struct Record {
    pandapower: String,
    feeder: Vec<Feeder>,
}

#[derive(Deserialize)]
struct Feeder {
    volts: f64,
    bus: Vec<Bus>,
}

#[derive(Deserialize)]
struct Bus {
    parent: usize,
    ohm: f64,
    reactance_ohm: f64,
    va: f64,
    power_factor: f64,
    volts: f64,
    degrees: f64,
}

#[test]
fn power_flow_library_agrees() {
    let record: Record = toml::from_str(include_str!("feeders.toml")).unwrap();
    assert!(!record.pandapower.is_empty() && record.feeder.len() >= 5);
    for feeder in &record.feeder {
        let mut circuit = supplied(feeder.volts);
        let mut at = vec![0];
        for bus in &feeder.bus {
            let next = node(&mut circuit);
            let ohms = Complex64::new(bus.ohm, bus.reactance_ohm);
            line(&mut circuit, at[bus.parent], next, ohms);
            apparent(&mut circuit, next, 1, (bus.va, bus.power_factor));
            at.push(next);
        }
        let phasors = solved(&circuit).phasors.unwrap();
        for (bus, node) in feeder.bus.iter().zip(&at[1..]) {
            let volts = phasors.node_v[*node as usize] - phasors.node_v[1];
            assert_abs_diff_eq!(volts.norm(), bus.volts, epsilon = 1e-6);
            assert_abs_diff_eq!(volts.arg().to_degrees(), bus.degrees, epsilon = 1e-5);
        }
    }
}
