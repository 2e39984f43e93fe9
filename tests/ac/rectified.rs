//! The dc side of devices on ac: the transformer's nameplate, light and full load, and how far the
//! model of one wave shape holds where several rectifiers share a wire.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use rstest::rstest;
use serde_json::Value;

use super::{finding, number, row, severity, solved};
use crate::simulator::{is_there, print};

/// A 24 V transformer of 40 VA and 12 %, 55 m of tinned 16 AWG, and a hub with a bridge.
fn pier(hub: &str) -> Value {
    solved(&format!(
        r#"
[design]
temperature = "30 C"
hot = "30 C"
cold = "30 C"
[cable.pier]
size = "16 AWG"
conductors = 2
material = "tinned copper"
resistance = "14.8 ohm/km"
resistance_at = "30 C"
[supply.shed]
kind = "ac"
rated_voltage = "24 V"
rating = "40 VA"
regulation = "12 %"
tolerance = "10 %"
[device.hub]
{hub}
[run.W1]
from = "shed"
to = "hub"
cable = "pier"
length = "55 m"
"#
    ))
}

const HUB: &str = r#"rectifier = "bridge"
diode_drop = "0.8 V"
reservoir = "2200 uF"
draw = { idle = "9 W" }
"#;

// 24 x 1.12 = 26.88 V behind 24 x 0.12 / (40 / 24) = 1.728 ohm, rated 1.667 A.
#[test]
fn nameplate_gives_volts_ohms_and_amps() {
    let json = pier("draw = { idle = \"1 A\" }");
    for (corner, line) in [
        ("nominal", 1.0),
        ("low", 0.9),
        ("high", 1.1),
        ("heavy", 1.1),
    ] {
        let volts = number(row(&json, corner), ["supplies", "shed", "volts"]);
        assert_abs_diff_eq!(volts, 26.88 * line - 1.728, epsilon = 1e-9);
    }
    let json = pier("draw = { idle = \"1.7 A\" }");
    let over = finding(&json, "over-rating", "shed").unwrap();
    assert_relative_eq!(
        over["limit"].as_f64().unwrap(),
        40.0 / 24.0,
        max_relative = 1e-12
    );
}

#[rstest]
#[case("voltage = \"26 V\"", 26.0 - 1.728)]
#[case("resistance = \"1 ohm\"", 26.88 - 1.0)]
#[case("loaded = [\"24 V\", \"2 A\"]", 26.88 - 1.44)]
#[case("voltage = \"26 V\"\nloaded = [\"24 V\", \"2 A\"]", 26.0 - 1.0)]
fn what_is_stated_wins_over_the_nameplate(#[case] stated: &str, #[case] volts: f64) {
    let json = solved(&format!(
        r#"
[supply.shed]
kind = "ac"
rated_voltage = "24 V"
rating = "40 VA"
regulation = "12 %"
{stated}
[device.load]
on = "shed"
draw = {{ idle = "1 A" }}
"#
    ));
    let found = number(row(&json, "nominal"), ["devices", "load", "volts"]);
    assert_abs_diff_eq!(found, volts, epsilon = 1e-9);
}

// A time-step calculation of this project's brief: dc volts in the valley and at the crest of the
// ripple, and rms amps by dc amps, at three line volts.
#[rstest]
#[case("nominal", (31.5, 32.2), 1.96)]
#[case("low", (27.4, 28.2), 1.88)]
#[case("high", (35.5, 36.2), 2.03)]
fn loaded_dc_volts(#[case] corner: &str, #[case] (least, most): (f64, f64), #[case] factor: f64) {
    let json = pier(HUB);
    let row = row(&json, corner);
    assert_abs_diff_eq!(
        number(row, ["devices", "hub", "dc.least_volts"]),
        least,
        epsilon = 0.06
    );
    assert_abs_diff_eq!(
        number(row, ["devices", "hub", "dc.most_volts"]),
        most,
        epsilon = 0.06
    );
    let (rms, dc) = (
        number(row, ["devices", "hub", "dc.rms_amps"]),
        number(row, ["devices", "hub", "dc.amps"]),
    );
    assert_abs_diff_eq!(rms / dc, factor, epsilon = 0.01);
}

// sqrt 2 x 26.88 - 1.6 = 36.41 V, at 10 % more line 40.22 V; one diode alone loses 0.8 V.
#[test]
fn light_load_over_the_highest_is_a_stop_at_nominal_and_a_fail_at_high_volts() {
    for (rectifier, highest, expected, value) in [
        ("bridge", "30 V", Some("stop"), 40.22),
        ("bridge", "36.5 V", Some("fail"), 40.22),
        ("bridge", "40.3 V", None, 0.0),
        ("half wave", "37 V", Some("stop"), 41.02),
        ("unknown", "40 V", Some("fail"), 40.22),
    ] {
        let json = pier(&format!(
            "rectifier = \"{rectifier}\"\ndiode_drop = \"0.8 V\"\nreservoir = \"2200 uF\"\ndc_highest = \"{highest}\"\ndraw = {{ idle = \"5 W\" }}\n"
        ));
        assert_eq!(
            severity(&json, "dc-over", "hub").as_deref(),
            expected,
            "{highest}"
        );
        if let Some(found) = finding(&json, "dc-over", "hub") {
            assert_abs_diff_eq!(found["value"].as_f64().unwrap(), value, epsilon = 0.005);
        }
    }
    // No rectifier, no dc.
    let json = pier("dc_highest = \"30 V\"\ndraw = { idle = \"5 W\" }\n");
    assert_eq!(severity(&json, "dc-over", "hub"), None);
}

#[test]
fn too_little_dc_is_a_fail() {
    for (lowest, expected) in [("27 V", None), ("27.8 V", Some("fail"))] {
        let json = pier(&format!("{HUB}dc_lowest = \"{lowest}\"\n"));
        assert_eq!(
            severity(&json, "dc-under", "hub").as_deref(),
            expected,
            "{lowest}"
        );
    }
}

/// Two hubs, one 30 m beyond the other, and a heater: the model takes each wave shape alone and all
/// pulses for one shape.
#[test]
fn rectifiers_that_share_a_wire() {
    if !is_there() {
        return;
    }
    let json = solved(
        r#"
[supply.shed]
kind = "ac"
voltage = "26.88 V"
resistance = "1.728 ohm"
[device.near]
rectifier = "bridge"
diode_drop = "0.8 V"
reservoir = "2200 uF"
draw = { idle = "8 W" }
[device.heater]
on = "near"
draw = { idle = "57.6 ohm" }
[device.far]
rectifier = "bridge"
diode_drop = "0.8 V"
reservoir = "1000 uF"
draw = { idle = "4 W" }
[run.W1]
from = "shed"
to = "near"
resistance = "0.5 ohm"
[run.W2]
from = "near"
to = "far"
resistance = "0.4 ohm"
"#,
    );
    let bridge = |name: &str, at: &str, back: &str, farad: &str, watts: &str| {
        let diode = |k: u32, a: &str, b: &str| {
            format!(
                "B{name}{k} {a} {b} I = V({a},{b}) > 0 ? V({a},{b}) * 1e3 : V({a},{b}) * 1e-9\n"
            )
        };
        let (p, q, m) = (format!("p{name}"), format!("q{name}"), format!("m{name}"));
        diode(1, at, &p)
            + &diode(2, back, &p)
            + &diode(3, &m, at)
            + &diode(4, &m, back)
            + &format!("VD{name} {p} {q} 1.6\nC{name} {q} {m} {farad} IC=30\nRG{name} {m} 0 1e8\n")
            + &format!("BL{name} {q} {m} I = {watts} / max(V({q},{m}), 1)\n")
    };
    let deck = format!(
        "* two\nVS s 0 SIN(0 38.0141 60)\nR1 s a0 2.228\nR2 0 b 0.5\nVA a0 a 0\nRH a b 57.6\n\
         R3 a c0 0.4\nR4 b d 0.4\nVC c0 c 0\n{}{}.options reltol=1e-4 method=gear\n.control\nset numdgt=10\n\
         tran 2e-5 0.55 0.5 2e-5 uic\n\
         let near = v(qn) - v(mn)\nlet far = v(qf) - v(mf)\nlet all = i(VA) * i(VA)\nlet some = i(VC) * i(VC)\n\
         meas tran a AVG near\nmeas tran b AVG far\nmeas tran c AVG all\nmeas tran d AVG some\n\
         let v_near = a\nlet v_far = b\nlet v_all = c\nlet v_some = d\n\
         print v_near\nprint v_far\nprint v_all\nprint v_some\nquit\n.endc\n.end\n",
        bridge("n", "a", "b", "2200u", "8"),
        bridge("f", "c", "d", "1000u", "4"),
    );
    let there = print(&deck);
    let row = row(&json, "nominal");
    // Stated: 1 % of dc volts and 8 % of rms amps.
    for (device, key) in [("near", "v_near"), ("far", "v_far")] {
        let here = number(row, ["devices", device, "dc.volts"]);
        println!("{device}: {here} here, {} there", there[key]);
        assert_relative_eq!(here, there[key], max_relative = 0.01);
    }
    let far = number(row, ["devices", "far", "dc.rms_amps"]);
    println!("{far} here, {} there", there["v_some"].sqrt());
    assert_relative_eq!(far, there["v_some"].sqrt(), max_relative = 0.08);
}
