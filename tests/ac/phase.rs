//! Volts, amps, watts and volt-amperes of ac sites, against closed forms.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use num_complex::Complex64;
use rstest::rstest;
use serde_json::Value;

use super::{number, row, solved};

/// One draw at the end of 100 m in two conductors a leg of a cable of 10 + j4 ohm/km at 60 Hz.
fn one(draw: &str, hertz: f64) -> Value {
    solved(&format!(
        r#"
[cable.wire]
size = "1 mm2"
conductors = 4
resistance = "10 ohm/km"
resistance_at = "25 C"
reactance = "4 ohm/km"
[supply.shed]
kind = "ac"
voltage = "24 V"
frequency = "{hertz} Hz"
resistance = "0.5 ohm"
current = "5 A"
[device.load]
power_factor = 0.8
draw = {{ idle = "{draw}" }}
[run.W1]
from = "shed"
to = "load"
cable = "wire"
length = "100 m"
parallel = 2
"#
    ))
}

/// Ohms of the loop: 2 legs of 100 m, 2 conductors each; reactance follows the frequency.
fn ohms(hertz: f64) -> Complex64 {
    Complex64::new(0.5 + 1.0, 0.4 * hertz / 60.0)
}

#[rstest]
#[case(60.0)]
#[case(50.0)]
#[case(400.0)]
fn volt_amperes_and_watts_have_their_vars(#[case] hertz: f64) {
    for (draw, va) in [("20 VA", 20.0), ("16 W", 20.0)] {
        let json = one(draw, hertz);
        let row = row(&json, "nominal");
        // Upper root of |v|^4 + (2 Re(Z conj S) - E^2) |v|^2 + |Z S|^2 = 0.
        let power = Complex64::from_polar(va, 0.8_f64.acos());
        let z = ohms(hertz);
        let half = 288.0 - (z * power.conj()).re;
        let volts = (half + (half * half - (z * power).norm_sqr()).sqrt()).sqrt();
        assert_abs_diff_eq!(
            number(row, ["devices", "load", "volts"]),
            volts,
            epsilon = 1e-8
        );
        assert_abs_diff_eq!(
            number(row, ["devices", "load", "watts"]),
            16.0,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(number(row, ["devices", "load", "va"]), 20.0, epsilon = 1e-9);
        let amps = va / volts;
        assert_abs_diff_eq!(number(row, ["runs", "W1", "amps"]), amps, epsilon = 1e-9);
        assert_abs_diff_eq!(
            number(row, ["runs", "W1", "return_amps"]),
            amps,
            epsilon = 1e-9
        );
        let leg = Complex64::new(0.5, 0.2 * hertz / 60.0).norm() * amps;
        for drop in ["plus_drop", "minus_drop"] {
            assert_abs_diff_eq!(number(row, ["runs", "W1", drop]), leg, epsilon = 1e-9);
        }
        let sent = number(row, ["supplies", "shed", "volts"]);
        let lost = number(row, ["runs", "W1", "drop_volts"]);
        assert_abs_diff_eq!(lost, sent - volts, epsilon = 1e-9);
        assert!(
            lost < 2.0 * leg - 1e-3,
            "the drops of the legs are no sum here"
        );
        let heat = number(row, ["runs", "W1", "loss_watts"]);
        assert_abs_diff_eq!(heat, amps * amps * 1.0, epsilon = 1e-9);
        let given = number(row, ["supplies", "shed", "watts"]);
        assert_abs_diff_eq!(given, 16.0 + heat, epsilon = 1e-9);
        assert_abs_diff_eq!(
            number(row, ["supplies", "shed", "va"]),
            sent * amps,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(
            number(row, ["devices", "load", "negative_volts"]),
            leg,
            epsilon = 1e-9
        );
        assert!(row["residual_amps"].as_f64().unwrap() < 1e-9);
    }
}

#[test]
fn amps_ohms_and_labels_are_in_phase_with_their_own_volts() {
    let z = ohms(60.0);
    let json = one("2 A", 60.0);
    let volts = number(row(&json, "nominal"), ["devices", "load", "volts"]);
    let expected = (576.0 - (2.0 * z.im).powi(2)).sqrt() - 2.0 * z.re;
    assert_abs_diff_eq!(volts, expected, epsilon = 1e-8);
    for draw in ["12 ohm", "2 A at 24 V", "48 W at 24 V"] {
        let json = one(draw, 60.0);
        let row = row(&json, "nominal");
        let expected = 24.0 * 12.0 / (z + 12.0).norm();
        assert_abs_diff_eq!(
            number(row, ["devices", "load", "volts"]),
            expected,
            epsilon = 1e-8
        );
        let (watts, va) = (["devices", "load", "watts"], ["devices", "load", "va"]);
        assert_relative_eq!(number(row, watts), number(row, va), max_relative = 1e-9);
    }
}

/// Largest factor on the draw: E^2 / 2 = k (Re(Z conj S) + |Z| |S|).
#[test]
fn served_scales_volt_amperes() {
    let json = one("120 VA", 60.0);
    let row = row(&json, "nominal");
    let (z, power) = (ohms(60.0), Complex64::from_polar(120.0, 0.8_f64.acos()));
    let expected = 288.0 / ((z * power.conj()).re + z.norm() * power.norm());
    assert_eq!(row["operating_point"], false);
    let served = row["unserved"]["served"].as_f64().unwrap();
    assert_relative_eq!(served, expected, max_relative = 1e-6);
    assert_eq!(row["unserved"]["id"], "load");
}

/// In phase, ac has the very numbers of dc, without their signs.
#[test]
fn in_phase_the_numbers_are_those_of_dc() {
    for demo in &farend::demo::ALL {
        // No battery stands at an ac supply.
        if demo.text.contains("kind = \"ac\"") || demo.text.contains(".battery]") {
            continue;
        }
        let all = |text: &str| {
            let site = farend::site::read(text).unwrap();
            let study = farend::study::Study::of(&site, &mut farend::solve::Solver::new());
            let json = farend::report::json("x", &site, &study, &[]).unwrap();
            serde_json::from_str::<Value>(&json).unwrap()
        };
        let mut ac = String::new();
        for line in demo.text.lines() {
            ac += line;
            let below = [".output", ".poe"];
            let whole = line.starts_with("[supply.") && !below.iter().any(|b| line.contains(b));
            ac += if whole { "\nkind = \"ac\"\n" } else { "\n" };
        }
        let (dc, ac) = (all(demo.text), all(&ac));
        let mut compared = 0;
        for (dc, ac) in std::iter::zip(
            dc["cases"].as_array().unwrap(),
            ac["cases"].as_array().unwrap(),
        ) {
            for list in ["supplies", "devices", "junctions", "runs"] {
                for (dc, ac) in
                    std::iter::zip(dc[list].as_array().unwrap(), ac[list].as_array().unwrap())
                {
                    for key in [
                        "volts",
                        "amps",
                        "return_amps",
                        "common_amps",
                        "plus_drop",
                        "loss_watts",
                    ] {
                        let (dc, ac) = (dc[key].as_f64(), ac[key].as_f64());
                        assert_eq!(dc.map(f64::abs), ac, "{}: {key}", demo.name);
                        compared += 1;
                    }
                }
            }
        }
        assert!(compared > 100);
    }
}

/// A dc supply that an ac device feeds stands apart: its part of the site is that of dc.
#[test]
fn dc_that_an_ac_device_feeds() {
    let json = solved(
        r#"
[cable.wire]
size = "1 mm2"
conductors = 2
resistance = "10 ohm/km"
resistance_at = "25 C"
reactance = "8 ohm/km"
[supply.shed]
kind = "ac"
voltage = "24 V"
[device.hub]
rectifier = "bridge"
power_factor = 0.7
draw = { idle = "2 W" }
[supply.reader]
voltage = "12 V"
fed_by = "hub"
efficiency = "80 %"
[device.keypad]
power_factor = 0.5
draw = { idle = "3 W" }
[run.W1]
from = "shed"
to = "hub"
cable = "wire"
length = "50 m"
[run.W2]
from = "reader"
to = "keypad"
cable = "wire"
length = "50 m"
"#,
    );
    let row = row(&json, "nominal");
    // On dc neither reactance nor power factor counts: 1 ohm of loop, 3 W.
    let keypad = (12.0 + (144.0_f64 - 12.0).sqrt()) / 2.0;
    assert_abs_diff_eq!(
        number(row, ["devices", "keypad", "volts"]),
        keypad,
        epsilon = 1e-9
    );
    assert!(row["devices"][1]["va"].is_null() && row["supplies"][1]["va"].is_null());
    let given = 12.0 * 3.0 / keypad;
    let watts = 2.0 + given / 0.8;
    let power = Complex64::from_polar(watts / 0.7, 0.7_f64.acos());
    let z = Complex64::new(1.0, 0.8);
    let half = 288.0 - (z * power.conj()).re;
    let volts = (half + (half * half - (z * power).norm_sqr()).sqrt()).sqrt();
    assert_abs_diff_eq!(
        number(row, ["devices", "hub", "volts"]),
        volts,
        epsilon = 1e-8
    );
    assert_abs_diff_eq!(
        number(row, ["devices", "hub", "watts"]),
        watts,
        epsilon = 1e-8
    );
    assert_abs_diff_eq!(
        number(row, ["devices", "hub", "va"]),
        watts / 0.7,
        epsilon = 1e-8
    );
}

/// Two transformers side by side, one higher than the other: the low one takes current in.
#[test]
fn a_supply_that_takes_current_in_is_said() {
    let json = solved(
        r#"
[supply.high]
kind = "ac"
voltage = "28 V"
resistance = "1 ohm"
[supply.low]
kind = "ac"
voltage = "24 V"
resistance = "1 ohm"
on = "high"
"#,
    );
    let row = row(&json, "nominal");
    assert_abs_diff_eq!(
        number(row, ["supplies", "low", "amps"]),
        2.0,
        epsilon = 1e-9
    );
    assert_abs_diff_eq!(
        number(row, ["supplies", "low", "watts"]),
        -52.0,
        epsilon = 1e-9
    );
    assert_eq!(
        super::severity(&json, "back-feed", "low").as_deref(),
        Some("fail")
    );
    assert_eq!(super::severity(&json, "back-feed", "high"), None);
}
