//! Rectified draws: against figures worked out by another time-step calculation, and against a
//! transient run of a circuit simulator where one is installed.

use approx::assert_abs_diff_eq;
use farend::solve::Pulse;
use rstest::rstest;

use crate::simulator::{is_there, print};

/// The far end of 55 m of tinned 16 AWG behind 40 VA of 24 V and 12 %: 1.728 + 2 x 0.814 ohm.
fn pier(line: f64, watts: f64) -> Pulse {
    Pulse {
        open_v: 26.88 * line,
        hertz: 60.0,
        ohm: 1.728 + 2.0 * 0.814,
        henry: 0.0,
        lost_v: 1.6,
        both_halves: true,
        farad: 2200e-6,
        watts,
    }
}

// A time-step calculation of this project's brief, with ideal diodes: 9 W at three line volts.
#[rstest]
#[case(0.9, (27.4, 28.2), 1.88)]
#[case(1.0, (31.5, 32.2), 1.96)]
#[case(1.1, (35.5, 36.2), 2.03)]
fn figures_of_a_time_step_calculation(
    #[case] line: f64,
    #[case] (least, most): (f64, f64),
    #[case] factor: f64,
) {
    let found = pier(line, 9.0).steady().unwrap();
    assert_abs_diff_eq!(found.least_v, least, epsilon = 0.05);
    assert_abs_diff_eq!(found.most_v, most, epsilon = 0.05);
    assert_abs_diff_eq!(found.rms_a / found.dc_a, factor, epsilon = 0.006);
}

/// Diodes of a milliohm on and a gigaohm off, and a source of so many volts for what they lose: the
/// same circuit as the model's, element by element.
fn deck(pulse: &Pulse) -> String {
    let peak = pulse.open_v * 2.0_f64.sqrt();
    let period = pulse.hertz.recip();
    let diode = |name: &str, from: &str, to: &str| {
        format!(
            "B{name} {from} {to} I = V({from},{to}) > 0 ? V({from},{to}) * 1e3 : V({from},{to}) * 1e-9\n"
        )
    };
    let rectifier = if pulse.both_halves {
        diode("1", "a", "p") + &diode("2", "0", "p") + &diode("3", "m", "a") + &diode("4", "m", "0")
    } else {
        diode("1", "a", "p") + "RM m 0 1u\n"
    };
    let inductor = if pulse.henry > 0.0 {
        // A little capacitance and conductance, for amps that the diodes cut off.
        format!("L1 t u {}\nRP t u 1e2\nCP a 0 100n", pulse.henry)
    } else {
        "VL t u 0".to_owned()
    };
    let (start, end, step) = (30.0 * period, 32.0 * period, period / 1000.0);
    format!(
        "* rectifier\n\
         VS s 0 SIN(0 {peak} {})\n\
         R1 s t {}\n\
         {inductor}\n\
         VM u a 0\n\
         {rectifier}\
         RG m 0 1e8\n\
         VD p q {}\n\
         C1 q m {} IC={}\n\
         BL q m I = {} / max(V(q,m), 1)\n\
         .options reltol=1e-4 method=gear\n\
         .control\n\
         set numdgt=10\n\
         tran {step:e} {end:e} {start:e} {step:e} uic\n\
         let dc = v(q) - v(m)\n\
         let squares = i(VM) * i(VM)\n\
         let draws = {} / dc\n\
         meas tran least MIN dc\nmeas tran most MAX dc\nmeas tran mean AVG dc\n\
         meas tran square AVG squares\nmeas tran drawn AVG draws\n\
         let v_least = least\nlet v_most = most\nlet v_mean = mean\n\
         let v_square = square\nlet v_drawn = drawn\n\
         print v_least\nprint v_most\nprint v_mean\nprint v_square\nprint v_drawn\n\
         quit\n.endc\n.end\n",
        pulse.hertz,
        pulse.ohm,
        pulse.lost_v,
        pulse.farad,
        pulse.light_v(),
        pulse.watts,
        pulse.watts,
    )
}

// The stated error of the model is that of its steps: 0.2 % of the dc volts, 1 % of the rms amps.
#[rstest]
#[case(pier(1.0, 9.0))]
#[case(pier(0.9, 20.0))]
#[case(Pulse { both_halves: false, lost_v: 0.8, ..pier(1.0, 3.0) })]
#[case(Pulse { henry: 0.3e-3, ohm: 1.0, ..pier(1.0, 9.0) })]
#[case(Pulse { farad: 470e-6, hertz: 50.0, ohm: 0.2, ..pier(0.7, 5.0) })]
fn transient_simulation_agrees(#[case] pulse: Pulse) {
    if !is_there() {
        return;
    }
    let found = pulse.steady().unwrap();
    let simulated = print(&deck(&pulse));
    let expected = [
        ("v_least", found.least_v, 0.002),
        ("v_most", found.most_v, 0.002),
        ("v_mean", found.mean_v, 0.002),
        ("v_square", found.rms_a.powi(2), 0.02),
        ("v_drawn", found.dc_a, 0.002),
    ];
    for (name, here, part) in expected {
        let there = simulated[name];
        assert!(
            (there / here - 1.0).abs() < part,
            "{name}: {there}, here {here}"
        );
    }
}
