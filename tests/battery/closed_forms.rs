//! Discharges with a closed form, and one integrated step by step in time.
//!
//! F and E are the volts at rest, full and empty, D = F - E, C the capacity, H its rate.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use rstest::rstest;

use super::{Bench, Solved};

const F: f64 = 12.8;
const D: f64 = 1.6;
const C: f64 = 10.0;
const H: f64 = 20.0;
/// Ten times better than what is asked for.
const CLOSE: f64 = 1e-5;

/// By hand: below C/H = 0.5 A the hours are C / I; above, H (C / (I H))^k.
#[rstest]
#[case("0.25 A", 1.2, 40.0)]
#[case("0.5 A", 1.2, 20.0)]
#[case("1 A", 1.0, 10.0)]
#[case("1 A", 1.2, 20.0 * 0.5_f64.powf(1.2))]
#[case("5 A", 1.15, 20.0 * 0.1_f64.powf(1.15))]
fn constant_current(#[case] draw: &str, #[case] k: f64, #[case] hours: f64) {
    let solved = Bench::drawing(draw)
        .with("peukert", &format!("{k:?}"))
        .solved();
    assert_eq!(solved.ends_by(), "charge");
    assert_relative_eq!(solved.number("hours"), hours, max_relative = 1e-9);
    let amps = solved.number("first_amps");
    assert_relative_eq!(
        solved.number("amp_hours"),
        amps * hours,
        max_relative = 1e-9
    );
    assert_abs_diff_eq!(solved.number("charge_left"), 0.0, epsilon = 1e-12);
    assert_abs_diff_eq!(solved.number("end_volts"), F - D, epsilon = 1e-12);
}

/// C is capacity x cold x aged, and only the usable part of it is drawn.
#[test]
fn capacity_is_derated_and_used_in_part() {
    let solved = Bench::drawing("0.1 A")
        .with("cold_capacity", "\"60 %\"")
        .with("aged", "\"80 %\"")
        .with("usable", "\"50 %\"")
        .solved();
    assert_relative_eq!(solved.number("capacity_ah"), 4.8, max_relative = 1e-12);
    assert_relative_eq!(solved.number("hours"), 24.0, max_relative = 1e-9);
    assert_relative_eq!(solved.number("charge_left"), 0.5, max_relative = 1e-12);
    assert_abs_diff_eq!(solved.number("end_volts"), F - D / 2.0, epsilon = 1e-12);
}

/// At a constant current I behind r the terminals reach V at q = (F - I r - V) / D.
#[test]
fn the_disconnect_ends_it() {
    let solved = Bench::drawing("1 A")
        .with("resistance", "\"0.2 ohm\"")
        .with("disconnect", "\"11.6 V\"")
        .solved();
    let q = (F - 0.2 - 11.6) / D;
    assert_eq!(solved.ends_by(), "disconnect");
    assert_relative_eq!(
        solved.number("hours"),
        q * H * 0.5_f64.powf(1.2),
        max_relative = 1e-9
    );
    assert_abs_diff_eq!(solved.number("charge_left"), 1.0 - q, epsilon = 1e-9);
    assert_abs_diff_eq!(solved.number("end_volts"), 11.6, epsilon = 1e-9);
}

/// A resistance: I = (F - D q) / R falls with the volts, so q runs as an exponential:
/// hours = (R C / D) ln(F / (F - D q)) below C/H, all ohms in series.
#[test]
fn a_resistance_draws_an_exponential() {
    let mut bench = Bench::drawing("50 ohm").with("resistance", "\"0.5 ohm\"");
    bench.leg = "2 ohm";
    let solved = bench.solved();
    let r = 50.0 + 0.5 + 2.0 * 2.0;
    let hours = r * C / D * (F / (F - D)).ln();
    assert_relative_eq!(solved.number("hours"), hours, max_relative = CLOSE);
    assert_relative_eq!(solved.number("amp_hours"), C, max_relative = CLOSE);
    assert_relative_eq!(solved.number("last_amps"), (F - D) / r, max_relative = 1e-9);
}

/// The same above C/H: hours = H (C R / H)^k ((F - D q)^(1 - k) - F^(1 - k)) / (D (k - 1)).
#[test]
fn a_resistance_above_the_stated_rate() {
    let solved = Bench::drawing("10 ohm").with("peukert", "1.3").solved();
    let (r, k) = (10.0_f64, 1.3);
    let fall = (F - D).powf(1.0 - k) - F.powf(1.0 - k);
    let hours = H * (C * r / H).powf(k) * fall / (D * (k - 1.0));
    assert_relative_eq!(solved.number("hours"), hours, max_relative = CLOSE);
}

/// Amps of P watts behind R ohms at V volts: the root at the higher volts; none past the fold.
fn amps_of(watts: f64, ohms: f64, volts: f64) -> Option<f64> {
    let inside = volts * volts - 4.0 * watts * ohms;
    (inside >= 0.0).then(|| (volts - inside.sqrt()) / (2.0 * ohms))
}

/// dq/dt, by hand.
fn speed(amps: f64, k: f64) -> f64 {
    let by_rate = amps * H / C;
    if by_rate > 1.0 {
        by_rate.powf(k) / H
    } else {
        amps / C
    }
}

/// Hours and ampere-hours until a part of the capacity is drawn: fourth-order Runge-Kutta in time,
/// which knows nothing of steps of charge; the last step is shortened to land on it.
fn by_time(watts: f64, ohms: f64, k: f64, until: f64, dt: f64) -> (f64, f64) {
    let f = |q: f64| {
        let amps = amps_of(watts, ohms, F - D * q.min(until)).unwrap();
        (speed(amps, k), amps)
    };
    let (mut t, mut ah, mut q) = (0.0, 0.0, 0.0);
    loop {
        let step = |dt: f64| {
            let (k1, a1) = f(q);
            let (k2, a2) = f(q + 0.5 * dt * k1);
            let (k3, a3) = f(q + 0.5 * dt * k2);
            let (k4, a4) = f(q + dt * k3);
            let sixth = |a: f64, b: f64, c: f64, d: f64| dt * (a + 2.0 * b + 2.0 * c + d) / 6.0;
            (sixth(k1, k2, k3, k4), sixth(a1, a2, a3, a4))
        };
        let (dq, da) = step(dt);
        if q + dq < until {
            (t, ah, q) = (t + dt, ah + da, q + dq);
            continue;
        }
        let rest = dt * (until - q) / dq;
        let (_, da) = step(rest);
        return (t + rest, ah + da);
    }
}

/// Watts rise in amps as the volts fall: against the integration in time.
#[rstest]
#[case("20 W", 20.0, "0.25 ohm", 0.7, 1.2)]
#[case("5 W", 5.0, "1 ohm", 2.2, 1.15)]
#[case("6 W", 6.0, "0.25 ohm", 0.7, 1.2)] // from under C/H to over it on the way
fn watts_against_an_integration_in_time(
    #[case] draw: &str,
    #[case] watts: f64,
    #[case] leg: &'static str,
    #[case] ohms: f64,
    #[case] k: f64,
) {
    let mut bench = Bench::drawing(draw)
        .with("resistance", "\"0.2 ohm\"")
        .with("peukert", &format!("{k:?}"));
    bench.leg = leg;
    let solved = bench.solved();
    assert_eq!(solved.ends_by(), "charge");
    let (hours, ah) = by_time(watts, ohms, k, 1.0, 1e-3);
    assert_relative_eq!(solved.number("hours"), hours, max_relative = CLOSE);
    assert_relative_eq!(solved.number("amp_hours"), ah, max_relative = CLOSE);
    let last = amps_of(watts, ohms, F - D).unwrap();
    assert_relative_eq!(solved.number("last_amps"), last, max_relative = 1e-7);
}

/// P watts behind R ohms are lost where V^2 = 4 P R: at 12 V here, halfway down. There the amps turn
/// straight up, which is the hardest stretch to integrate.
#[test]
fn watts_collapse_where_the_closed_form_says() {
    let ohms = 12.0_f64.powi(2) / (4.0 * 30.0);
    let mut bench = Bench::drawing("30 W").with("resistance", "\"0.2 ohm\"");
    bench.leg = "0.5 ohm";
    assert_abs_diff_eq!(ohms, 1.2, epsilon = 1e-12);
    let solved = bench.solved();
    assert_eq!(solved.ends_by(), "collapse");
    assert_relative_eq!(solved.number("charge_left"), 0.5, max_relative = 1e-6);
    // q = 1/2 - s^2 straightens the fold; the midpoint rule is then exact enough.
    let n = 200_000;
    let h = 0.5_f64.sqrt() / f64::from(n);
    let hours: f64 = (0..n)
        .map(|i| {
            let s = h * (f64::from(i) + 0.5);
            let amps = amps_of(30.0, ohms, F - D * (0.5 - s * s)).unwrap();
            2.0 * s * h / speed(amps, 1.2)
        })
        .sum();
    assert_relative_eq!(solved.number("hours"), hours, max_relative = CLOSE);
}

/// The end is found by itself, wherever it lies between two steps: where the disconnect comes, or
/// the usable part ends, moves the hours as smoothly as the closed form.
#[test]
fn results_do_not_depend_on_the_step() {
    for i in 0..23 {
        let q = 0.301 + 0.0137 * f64::from(i);
        let hours = q * H * 0.5_f64.powf(1.2);
        let volts = F - D * q;
        let by_volts = Bench::drawing("1 A")
            .with("disconnect", &format!("\"{volts} V\""))
            .solved();
        let usable = format!("\"{} %\"", q * 100.0);
        let by_charge = Bench::drawing("1 A").with("usable", &usable).solved();
        assert_eq!(
            (by_volts.ends_by(), by_charge.ends_by()),
            ("disconnect", "charge")
        );
        for solved in [by_volts, by_charge] {
            assert_relative_eq!(solved.number("hours"), hours, max_relative = 1e-8);
        }
    }
}

/// Draws are those on average, else idle; the supply's own volts, tolerance and resistance, the
/// draw tolerance, cases and temperatures of cases play no part.
#[test]
fn what_counts_on_battery() {
    let plain = Bench::drawing("0.4 A").solved();
    let mut other = Bench::drawing("0.4 A");
    other.device = "draw = { idle = \"2 A\", average = \"0.4 A\", active = \"3 A\" }".to_owned();
    other.supply = "tolerance = \"10 %\"\nresistance = \"0.1 ohm\"".to_owned();
    other.more =
        "[design]\ndraw_tolerance = \"20 %\"\n[case.busy]\nstates = { hub = \"active\" }\nbroken = [\"W1.plus\"]\n"
            .to_owned();
    let other = other.solved();
    for key in ["hours", "amp_hours", "first_amps", "last_amps", "end_volts"] {
        assert_relative_eq!(other.number(key), plain.number(key), max_relative = 1e-12);
    }
}

/// Conductors have their temperature of the corner nominal: 100 m of 1 mm2 with 17.241 ohm/km at
/// 20 C, K 234.5, at 60 C.
#[test]
fn conductors_at_their_temperature() {
    let by_cable = "to = \"hub\"\ncable = \"c\"\nlength = \"100 m\"\n";
    let text = Bench::drawing("10 ohm")
        .text()
        .replace("to = \"hub\"\nresistance = \"0 ohm\"\n", by_cable)
        + "[design]\ntemperature = \"60 C\"\n[cable.c]\nsize = \"1 mm2\"\nconductors = 2\nresistance = \"17.241 ohm/km\"\n";
    let leg = 1.7241 * (234.5 + 60.0) / (234.5 + 20.0);
    let solved = Solved::of(&text);
    assert_relative_eq!(
        solved.number("first_amps"),
        F / (10.0 + 2.0 * leg),
        max_relative = 1e-9
    );
}

/// A device at the end: the least of all cases in the corner low, the terminals held at disconnect.
/// By hand: 11 V, hot legs of 1 ohm each, 2 A with 10 % on top, is 11 - 2.2 x 2 = 6.6 V.
#[test]
fn devices_at_the_end_have_their_worst_case() {
    let mut bench = Bench::drawing("0.1 A")
        .with("resistance", "\"0.3 ohm\"")
        .with("disconnect", "\"11 V\"");
    bench.leg = "1 ohm";
    bench.device = "draw = { idle = \"0.1 A\", active = \"2 A\" }".to_owned();
    bench.more = "[design]\ndraw_tolerance = \"10 %\"\n".to_owned();
    let solved = bench.solved();
    // The battery itself never comes so low at 0.1 A: it ends by charge, and still it is held there.
    assert_eq!(solved.ends_by(), "charge");
    assert_abs_diff_eq!(solved.hub().unwrap(), 11.0 - 2.2 * 2.0, epsilon = 1e-9);
    // Without disconnect the last loaded volts are held: 11.2 - 0.1 x 0.3.
    bench.battery.retain(|(key, _)| *key != "disconnect");
    let open = bench.solved();
    assert_abs_diff_eq!(open.number("end_volts"), 11.17, epsilon = 1e-9);
    assert_abs_diff_eq!(open.hub().unwrap(), 11.17 - 2.2 * 2.0, epsilon = 1e-9);
}

/// Nothing drawn never ends; what cannot be served from the start ends at once.
#[test]
fn the_ends_of_the_range() {
    let never = Bench::drawing("off").solved();
    assert_eq!(never.ends_by(), "never");
    for key in [
        "hours",
        "amp_hours",
        "last_amps",
        "end_volts",
        "ends_by",
        "charge_left",
    ] {
        assert!(never.0["batteries"][0][key].is_null(), "{key}");
    }
    assert_abs_diff_eq!(never.number("first_amps"), 0.0, epsilon = 1e-12);
    let mut bench = Bench::drawing("100 W");
    bench.leg = "1 ohm";
    let at_once = bench.solved();
    assert_eq!(at_once.ends_by(), "collapse");
    assert_abs_diff_eq!(at_once.number("hours"), 0.0, epsilon = 0.0);
    assert_abs_diff_eq!(at_once.number("charge_left"), 1.0, epsilon = 0.0);
    assert!(at_once.0["batteries"][0]["first_amps"].is_null());
    let low = Bench::drawing("1 A")
        .with("disconnect", "\"13 V\"")
        .solved();
    assert_eq!(low.ends_by(), "disconnect");
    assert_abs_diff_eq!(low.number("hours"), 0.0, epsilon = 0.0);
}

/// A second supply in parallel keeps the battery from ever running out.
#[test]
fn another_supply_that_carries_the_load_is_solved_as_well() {
    let mut bench = Bench::drawing("0.1 A");
    bench.more = "[supply.mains]\nvoltage = \"13.8 V\"\nresistance = \"0.1 ohm\"\n[run.W2]\nfrom = \"mains\"\nto = \"hub\"\nresistance = \"0.1 ohm\"\n".to_owned();
    bench.leg = "0.1 ohm";
    let solved = bench.solved();
    assert!(solved.number("first_amps") < 0.0, "it is charged instead");
    assert_eq!(solved.ends_by(), "never");
}

/// A battery behind another device's output is a source of its own: nothing is added to that device.
#[test]
fn a_fed_supply_on_battery_leaves_its_device_alone() {
    let mut bench = Bench::drawing("0.4 A");
    bench.supply = "fed_by = \"box\"\nefficiency = \"80 %\"".to_owned();
    bench.more = "[supply.mains]\nvoltage = \"24 V\"\n[device.box]\ndraw = { idle = \"1 W\" }\n[run.W2]\nfrom = \"mains\"\nto = \"box\"\nresistance = \"1 ohm\"\n".to_owned();
    let solved = bench.solved();
    assert_relative_eq!(solved.number("first_amps"), 0.4, max_relative = 1e-9);
    assert_relative_eq!(solved.number("hours"), 25.0, max_relative = 1e-9);
    // The box hangs on the mains, not on this battery.
    assert!(solved.0["batteries"][0]["devices"][1]["end_volts"].is_null());
}

#[test]
fn a_site_without_battery_has_an_empty_list() {
    let solved = Solved::of("format = 1\n[supply.psu]\nvoltage = \"12 V\"\n");
    assert_eq!(solved.0["batteries"], serde_json::json!([]));
}
