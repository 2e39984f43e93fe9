//! How long a lock holds, by formula and by a transient simulation.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use rstest::rstest;

use super::relay::lock;
use super::{finding, grade};
use crate::battery::fixes;
use crate::simulator::{is_there, print};

const COIL: &str = "inductance = \"0.9 H\"\nrelease_current = \"0.06 A\"";
const RELAY: &str = "current = \"9 A\", voltage = \"60 V\"";

fn seconds(clamp: &str) -> f64 {
    let text = lock(RELAY, &format!("{COIL}\n{clamp}"), "");
    let found = finding(&text, "release-delay", "lock").unwrap();
    found["value"].as_f64().unwrap()
}

// Worked by hand: 24 ohm, 0.9 H, 0.5 A, lets go at 0.06 A; tau is 37.5 ms.
#[rstest]
#[case("clamp = \"diode\"", 0.0668)]
#[case("clamp = \"diode and zener\"\nclamp_voltage = \"24.7 V\"", 0.0127)]
fn printed_values(#[case] clamp: &str, #[case] expected: f64) {
    assert_abs_diff_eq!(seconds(clamp), expected, epsilon = 5e-5);
}

// 37.5 ms x ln((0.5 + 0.7/24) / (x + 0.7/24)) = 0.1 s at x = 0.00760 A.
#[rstest]
#[case("0.0077 A", "", "note")]
#[case("0.0075 A", "", "warn")]
#[case("0.0075 A", "way_out = false", "note")]
fn a_tenth_of_a_second(#[case] release: &str, #[case] door: &str, #[case] severity: &str) {
    let keys = format!(
        "inductance = \"0.9 H\"\nrelease_current = \"{release}\"\nclamp = \"diode\"\ndoor = \"walk\""
    );
    let text = lock(RELAY, &keys, &format!("[door.walk]\n{door}\n"));
    assert_eq!(
        grade(&text, "release-delay", "lock").as_deref(),
        Some(severity)
    );
}

#[test]
fn more_clamp_volts_cure_a_slow_lock() {
    let keys = "inductance = \"0.9 H\"\nrelease_current = \"0.005 A\"\nclamp = \"diode\"";
    let text = lock(RELAY, keys, "");
    assert_eq!(
        fixes(&text, "release-delay")[0],
        "lock with a two-way clamp of 18 V at its coil"
    );
}

#[test]
fn a_magnet_with_a_diode_is_told_without_figures() {
    let text = lock(RELAY, "clamp = \"diode\"", "");
    assert_eq!(
        grade(&text, "release-delay", "lock").as_deref(),
        Some("warn")
    );
    let text = lock(RELAY, "clamp = \"varistor\"", "");
    assert_eq!(grade(&text, "release-delay", "lock"), None);
}

/// The switch opens at 1 ms; the clamp is a source of constant volts behind a diode without drop.
#[rstest]
#[case("clamp = \"diode\"", 0.7)]
#[case("clamp = \"two-way\"\nclamp_voltage = \"18 V\"", 18.0)]
#[case("clamp = \"diode and zener\"\nclamp_voltage = \"24.7 V\"", 24.7)]
fn a_transient_simulation_agrees(#[case] clamp: &str, #[case] volts: f64) {
    if !is_there() {
        return;
    }
    let deck = format!(
        "a coil into a clamp
v1 p 0 12
vctl c 0 pulse(1 0 1m 1u 1u 10 20)
s1 p a c 0 sw
.model sw sw(vt=0.5 ron=1u roff=1g)
rc a b 24
lc b 0 0.9
vcl k a {volts}
dcl 0 k ideal
.model ideal d(is=1e-12 n=0.005)
.control
set numdgt=9
tran 10u 0.2 0 10u
meas tran off when i(lc)=0.06 fall=1
let v_off = off - 1m
print v_off
.endc
.end
"
    );
    let simulated = print(&deck)["v_off"];
    assert_relative_eq!(simulated, seconds(clamp), max_relative = 5e-3);
}
