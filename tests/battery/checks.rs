//! What is judged about batteries and panels: both sides of every limit, by hand.

use approx::assert_abs_diff_eq;
use rstest::rstest;

use super::{Bench, Solved, fixes};

/// The severity of a finding, if it is there.
fn severity(solved: &Solved, code: &str) -> Option<String> {
    solved
        .finding(code)
        .map(|f| f["severity"].as_str().unwrap().to_owned())
}

fn value(solved: &Solved, code: &str) -> (f64, f64) {
    let finding = solved.finding(code).unwrap();
    (
        finding["value"].as_f64().unwrap(),
        finding["limit"].as_f64().unwrap(),
    )
}

// 0.5 A of 10 Ah last 20 h.
#[rstest]
#[case("19.99 h", None)]
#[case("20.01 h", Some("fail"))]
fn hours(#[case] wanted: &str, #[case] found: Option<&str>) {
    let solved = Bench::drawing("0.5 A")
        .with("hours", &format!("\"{wanted}\""))
        .solved();
    assert_eq!(severity(&solved, "battery-hours").as_deref(), found);
    if found.is_some() {
        assert_eq!(solved.finding("battery-hours").unwrap()["subject"], "psu");
        let (value, limit) = value(&solved, "battery-hours");
        assert_abs_diff_eq!(value, 20.0, epsilon = 1e-6);
        assert_abs_diff_eq!(limit, 20.01, epsilon = 1e-9);
    }
}

#[test]
fn a_larger_battery_cures_the_hours() {
    let bench = Bench::drawing("0.5 A").with("hours", "\"24 h\"");
    assert_eq!(
        fixes(&bench.text(), "battery-hours"),
        ["a battery of 12 Ah at psu (was 10 Ah): it then lasts 24.0 h"]
    );
}

/// A device that gives up at its cutoff counts as well where nobody says its lowest.
#[rstest]
#[case("cutoff = \"9.99 V\"", None)]
#[case("cutoff = \"10.01 V\"", Some("fail"))]
#[case("cutoff = \"10.01 V\"\nlowest = \"9.9 V\"", None)]
fn a_cutoff_over_the_volts_at_the_end(#[case] keys: &str, #[case] found: Option<&str>) {
    let mut bench = Bench::drawing("0.5 A").with("disconnect", "\"11 V\"");
    bench.leg = "1 ohm";
    bench.device += &format!("\n{keys}");
    let solved = bench.solved();
    assert_eq!(severity(&solved, "battery-end-volts").as_deref(), found);
}

// Held at 11 V, a leg of 1 ohm each way and 0.5 A leave 10 V.
#[rstest]
#[case("9.99 V", None)]
#[case("10.01 V", Some("fail"))]
fn volts_at_the_end(#[case] lowest: &str, #[case] found: Option<&str>) {
    let mut bench = Bench::drawing("0.5 A").with("disconnect", "\"11 V\"");
    bench.leg = "1 ohm";
    bench.device += &format!("\nlowest = \"{lowest}\"");
    let solved = bench.solved();
    assert_eq!(severity(&solved, "battery-end-volts").as_deref(), found);
    if let Some(finding) = solved.finding("battery-end-volts") {
        assert_eq!(finding["subject"], "hub");
        assert!(
            finding["message"]
                .as_str()
                .unwrap()
                .contains("the battery of psu")
        );
        assert_abs_diff_eq!(value(&solved, "battery-end-volts").0, 10.0, epsilon = 1e-9);
        let fixes = fixes(&bench.text(), "battery-end-volts");
        assert_eq!(
            fixes[0],
            "psu switched off at 11.1 V (was 11 V): hub then gets 10.10 V at the end of the battery"
        );
    }
}

/// At 11 V behind 2 ohm at most 11^2 / (4 x 2) = 15.1 W can be served.
#[rstest]
#[case("15 W", None)]
#[case("15.3 W", Some("fail"))]
fn an_operating_point_at_the_end(#[case] active: &str, #[case] found: Option<&str>) {
    let mut bench = Bench::drawing("0.1 W").with("disconnect", "\"11 V\"");
    bench.leg = "1 ohm";
    bench.device = format!("draw = {{ idle = \"0.1 W\", active = \"{active}\" }}");
    let solved = bench.solved();
    assert_eq!(severity(&solved, "battery-end-point").as_deref(), found);
}

#[rstest]
#[case("\"10 A\"", None)]
#[case("\"F1\"", None)]
#[case("\"none\"", Some("stop"))]
#[case("", Some("stop"))]
fn fuse_at_the_post(#[case] fuse: &str, #[case] found: Option<&str>) {
    let mut bench = Bench::drawing("0.1 A");
    bench.battery.retain(|(key, _)| *key != "fuse");
    bench.more = "[fuse.F1]\ncurrent = \"10 A\"\n".to_owned();
    if !fuse.is_empty() {
        bench = bench.with("fuse", fuse);
    }
    assert_eq!(severity(&bench.solved(), "battery-fuse").as_deref(), found);
}

// 1.75 V of six cells are 10.5 V; other chemistries have no such limit here.
#[rstest]
#[case("10.5 V", "lead-acid", None)]
#[case("10.4 V", "lead-acid", Some("warn"))]
#[case("10.4 V", "lithium iron phosphate", None)]
fn not_too_deep(#[case] disconnect: &str, #[case] chemistry: &str, #[case] found: Option<&str>) {
    let bench = Bench::drawing("0.1 A")
        .with("disconnect", &format!("\"{disconnect}\""))
        .with("chemistry", &format!("\"{chemistry}\""));
    assert_eq!(severity(&bench.solved(), "battery-deep").as_deref(), found);
    if found.is_some() {
        assert_eq!(
            fixes(&bench.text(), "battery-deep"),
            ["psu switched off at 10.5 V (was 10.4 V)"]
        );
    }
}

// Off at 11.6 V with 1 A through 0.2 ohm of its own, it comes back to 11.8 V at rest.
#[rstest]
#[case("11.79 V", Some("warn"))]
#[case("11.81 V", None)]
fn on_again_only_when_charged(#[case] reconnect: &str, #[case] found: Option<&str>) {
    let solved = Bench::drawing("1 A")
        .with("resistance", "\"0.2 ohm\"")
        .with("disconnect", "\"11.6 V\"")
        .with("reconnect", &format!("\"{reconnect}\""))
        .solved();
    assert_eq!(severity(&solved, "battery-chatter").as_deref(), found);
}

// 14.4 V + 18 mV x (25 + 15) = 15.12 V; 0.1 A through 2 ohm takes 0.2 V of it.
#[rstest]
#[case("\"18 mV/C\"", "14.93 V", None)]
#[case("\"18 mV/C\"", "14.91 V", Some("warn"))]
#[case("\"3 mV/K/cell\"", "14.91 V", Some("warn"))]
#[case("\"0 mV/C\"", "14.3 V", None)]
fn charge_volts_in_the_cold(
    #[case] slope: &str,
    #[case] highest: &str,
    #[case] found: Option<&str>,
) {
    let mut bench = Bench::drawing("0.1 A")
        .with("charge", "\"14.4 V\"")
        .with("charge_slope", slope)
        .with("coldest", "\"-15 C\"");
    bench.leg = "1 ohm";
    bench.device += &format!("\nhighest = \"{highest}\"");
    let solved = bench.solved();
    assert_eq!(severity(&solved, "charge-volts").as_deref(), found);
    if found.is_some() {
        let (value, _) = value(&solved, "charge-volts");
        assert_abs_diff_eq!(value, 15.12, epsilon = 1e-9);
    }
}

// 80 % of 10 Ah x 1.15 / 24 h = 0.3833 A, and 0.5 A for the device.
#[rstest]
#[case("0.88 A", Some("note"))]
#[case("0.89 A", None)]
fn full_again_within_a_day(#[case] current: &str, #[case] found: Option<&str>) {
    let mut bench = Bench::drawing("0.5 A");
    bench.supply = format!("current = \"{current}\"");
    assert_eq!(
        severity(&bench.solved(), "battery-recharge").as_deref(),
        found
    );
}

/// 1 W all day is 24 Wh; a battery of 10 Ah between 12.8 and 11.2 V holds 120 Wh.
fn under_a_panel(keys: &str) -> Bench {
    let mut bench = Bench::drawing("1 W");
    bench.more = format!("[supply.psu.solar]\n{keys}\n");
    bench
}

// 1.25 x 24 Wh = 30 Wh = panel x 2 h x 65 %: 23.08 W.
#[rstest]
#[case("23.1 W", None)]
#[case("23.0 W", Some("fail"))]
fn energy_of_a_day(#[case] panel: &str, #[case] found: Option<&str>) {
    let bench = under_a_panel(&format!(
        "panel = \"{panel}\"\nsun = \"2 h/day\"\nefficiency = \"65 %\"\ncontroller_draw = \"off\"\ndark_days = 4"
    ));
    let solved = bench.solved();
    assert_eq!(severity(&solved, "solar-energy").as_deref(), found);
    if found.is_some() {
        let (value, limit) = value(&solved, "solar-energy");
        assert_abs_diff_eq!(value, 29.9, epsilon = 1e-9);
        assert_abs_diff_eq!(limit, 30.0, epsilon = 1e-9);
        assert_eq!(
            fixes(&bench.text(), "solar-energy"),
            ["a panel of 30 W at psu (was 23 W)"]
        );
    }
}

/// The controller's own amps count at the volts halfway: 10 mA x 12 V x 24 h = 2.88 Wh.
#[rstest]
#[case("off", 120.0 / 24.0)]
#[case("10 mA", 120.0 / 26.88)]
#[case("0.5 W", 120.0 / 36.0)]
fn the_controller_draws_as_well(#[case] draw: &str, #[case] days: f64) {
    let solved = under_a_panel(&format!("controller_draw = \"{draw}\"\ndark_days = 9")).solved();
    let (value, limit) = value(&solved, "dark-days");
    assert_abs_diff_eq!(value, days, epsilon = 1e-9);
    assert_abs_diff_eq!(limit, 9.0, epsilon = 1e-9);
}

#[rstest]
#[case("4.99", None)]
#[case("5.01", Some("fail"))]
fn days_in_the_dark(#[case] wanted: &str, #[case] found: Option<&str>) {
    let solved =
        under_a_panel(&format!("controller_draw = \"off\"\ndark_days = {wanted}")).solved();
    assert_eq!(severity(&solved, "dark-days").as_deref(), found);
}

// 120 Wh / (brought - 24 Wh) <= 10 days from 36 Wh a day on: 36 / (2 h x 65 %) = 27.69 W.
#[rstest]
#[case("27.6 W", Some("note"))]
#[case("27.8 W", None)]
fn full_again_after_the_dark(#[case] panel: &str, #[case] found: Option<&str>) {
    let keys = format!(
        "panel = \"{panel}\"\nsun = \"2 h/day\"\nefficiency = \"65 %\"\ncontroller_draw = \"off\""
    );
    assert_eq!(
        severity(&under_a_panel(&keys).solved(), "solar-recharge").as_deref(),
        found
    );
}

// At 14 V, 10 Ah take 1 to 2.5 A: 14 to 35 W.
#[rstest]
#[case("13.9 W", Some("note"))]
#[case("14.1 W", None)]
#[case("34.9 W", None)]
#[case("35.1 W", Some("note"))]
fn amps_of_the_panel(#[case] panel: &str, #[case] found: Option<&str>) {
    let bench = under_a_panel(&format!("panel = \"{panel}\"\nsun = \"5 h/day\""))
        .with("charge", "\"14 V\"");
    assert_eq!(severity(&bench.solved(), "charge-amps").as_deref(), found);
}

/// Watts behind a fed supply count through its efficiency: 1 W and 2 W / 80 % make 3.5 W.
#[test]
fn energy_through_a_fed_supply() {
    let mut bench = under_a_panel("controller_draw = \"off\"\ndark_days = 9");
    bench.more += "[supply.five]\nvoltage = \"5 V\"\nfed_by = \"hub\"\nefficiency = \"80 %\"\n[device.radio]\non = \"five\"\ndraw = { idle = \"2 W\" }\n";
    let (value, _) = value(&bench.solved(), "dark-days");
    assert_abs_diff_eq!(value, 120.0 / (3.5 * 24.0), epsilon = 1e-9);
}

/// What nobody stated is asked for, and only that.
#[rstest]
#[case(&[], "no hours, no disconnect, no charge")]
#[case(&[("hours", "\"1 h\""), ("disconnect", "\"11 V\"")], "no charge:")]
fn what_is_missing_is_asked_for(#[case] stated: &[(&'static str, &str)], #[case] words: &str) {
    let mut bench = Bench::drawing("0.1 A");
    for (key, value) in stated {
        bench = bench.with(key, value);
    }
    let solved = bench.solved();
    assert_eq!(severity(&solved, "battery-unknown").as_deref(), Some("ask"));
    let message = solved.finding("battery-unknown").unwrap()["message"]
        .as_str()
        .unwrap()
        .to_owned();
    assert!(message.contains(words), "{message}");
}

#[rstest]
#[case("panel = \"40 W\"", Some("ask"))]
#[case("sun = \"2 h/day\"", Some("ask"))]
#[case("panel = \"40 W\"\nsun = \"2 h/day\"", None)]
fn panel_and_sun_are_asked_for(#[case] keys: &str, #[case] found: Option<&str>) {
    assert_eq!(
        severity(&under_a_panel(keys).solved(), "solar-unknown").as_deref(),
        found
    );
}

#[test]
fn a_panel_without_a_battery_is_asked_about() {
    let text =
        "format = 1\n[supply.psu]\nvoltage = \"12 V\"\n[supply.psu.solar]\npanel = \"40 W\"\n";
    assert_eq!(
        severity(&Solved::of(text), "solar-unknown").as_deref(),
        Some("ask")
    );
}

/// An accepted shortfall holds while it is no worse.
#[rstest]
#[case("19 h", true)]
#[case("20 h", true)]
#[case("21 h", false)]
fn an_accepted_shortfall(#[case] value: &str, #[case] holds: bool) {
    let mut bench = Bench::drawing("0.5 A").with("hours", "\"24 h\"");
    bench.more = format!(
        "[[accepted]]\nfinding = \"battery-hours\"\nsubject = \"psu\"\nvalue = \"{value}\"\n"
    );
    let solved = bench.solved();
    assert_eq!(
        !solved.finding("battery-hours").unwrap()["accepted"].is_null(),
        holds
    );
}
