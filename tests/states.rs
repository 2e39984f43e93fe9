//! The worst over all states where closed forms know it, and what is said about it.
//!
//! Formulas: Ohm's law and Kirchhoff's laws; the most power behind R ohms is V^2 / (4 R) (maximum
//! power transfer).

use std::fmt::Write as _;

use approx::assert_relative_eq;
use farend::circuit::Corner;
use farend::diagnostic::Severity;
use farend::report;
use farend::site::{self, Site};
use farend::solve::Solver;
use farend::states::{AllStates, Reach};
use farend::study::Study;
use farend::units::Measure as _;
use rstest::rstest;
use serde_json::Value;

fn read(text: &str) -> Site {
    site::read(text).unwrap_or_else(|mistakes| panic!("{mistakes:#?}\n{text}"))
}

fn search(text: &str) -> (Site, AllStates) {
    let site = read(text);
    let all = AllStates::of(&site, Reach::Proof, &mut Solver::new());
    (site, all)
}

/// A supply of 12 V behind 1 ohm and a device behind 1 ohm in each leg.
fn single(draw: &str) -> String {
    format!(
        "format = 1\n[supply.psu]\nvoltage = \"12 V\"\nresistance = \"1 ohm\"\n[device.hub]\ndraw = {{ {draw} }}\n[run.W1]\nfrom = \"psu\"\nto = \"hub\"\nresistance = \"1 ohm\"\n"
    )
}

#[test]
fn one_device_has_its_heaviest_and_its_lightest_draw() {
    let (site, all) = search(&single(
        "idle = \"0.2 A\", active = \"1 A\", average = \"3 A\"",
    ));
    assert!(all.proven);
    // Idle, active and off; average is no state.
    assert_eq!(all.combinations, Some(3.0));
    let least = all.devices[0].least.as_ref().unwrap();
    assert_relative_eq!(least.value.base(), 12.0 - 3.0, max_relative = 1e-12);
    assert_eq!(least.state.words(&site), "hub active");
    let most = all.devices[0].most.as_ref().unwrap();
    assert_relative_eq!(most.value.base(), 12.0 - 0.6, max_relative = 1e-12);
    assert_eq!(most.state.words(&site), "all idle");
    for worst in [&all.supplies[0], &all.runs[0]] {
        assert_relative_eq!(
            worst.as_ref().unwrap().value.base(),
            1.0,
            max_relative = 1e-12
        );
    }
}

#[test]
fn a_draw_past_the_cliff_is_served_in_part() {
    // 12 V behind 3 ohm gives 12 W at most.
    let (_, all) = search(&single("idle = \"5 W\", active = \"16 W\""));
    let unserved = all.unserved.unwrap();
    assert_relative_eq!(unserved.served, 12.0 / 16.0, max_relative = 1e-6);
    assert_eq!((unserved.device, unserved.corner), (Some(0), Corner::Low));
    assert_eq!(unserved.state.draws, [(0, Some(1))]);
    // That combination is left out: the least volts are those of 5 W.
    let least = all.devices[0].least.as_ref().unwrap().value.base();
    assert_relative_eq!(least, 6.0 + (36.0_f64 - 15.0).sqrt(), max_relative = 1e-9);
    assert!(all.proven);
}

#[test]
fn a_site_that_is_never_served_has_no_worst() {
    let text = single("idle = \"5 W\"").replace("\"12 V\"", "\"0 V\"");
    let (_, all) = search(&text);
    // Off is a combination too, and without volts nothing is wrong with it.
    assert!(all.proven && all.devices[0].least.is_none());
    assert_relative_eq!(all.supplies[0].as_ref().unwrap().value.base(), 0.0);
    assert_relative_eq!(all.unserved.unwrap().served, 0.0);
}

/// Home runs from one ideal supply: nothing that one device does is felt by another.
fn home_runs(devices: usize) -> String {
    let mut text = String::from("format = 1\n[supply.psu]\nvoltage = \"24 V\"\n");
    for i in 0..devices {
        write!(
            text,
            "[device.D{i}]\ndraw = {{ idle = \"{} mA\", active = \"{} mA\" }}\n[run.W{i}]\nfrom = \"psu\"\nto = \"D{i}\"\nresistance = \"1 ohm\"\n",
            10 + i,
            100 + i
        )
        .unwrap();
    }
    text
}

#[test]
fn parts_that_do_not_feel_one_another_add_up() {
    let (_, all) = search(&home_runs(200));
    assert!(all.proven);
    assert_relative_eq!(
        all.combinations.unwrap(),
        3_f64.powi(200),
        max_relative = 1e-12
    );
    let sum: f64 = (0..200).map(|i| f64::from(100 + i) * 1e-3).sum();
    assert_relative_eq!(
        all.supplies[0].as_ref().unwrap().value.base(),
        sum,
        max_relative = 1e-9
    );
    for (i, window) in all.devices.iter().enumerate() {
        let (idle, active) = ((10 + i) as f64 * 1e-3, (100 + i) as f64 * 1e-3);
        assert_relative_eq!(
            window.least.as_ref().unwrap().value.base(),
            24.0 - 2.0 * active
        );
        assert_relative_eq!(
            window.most.as_ref().unwrap().value.base(),
            24.0 - 2.0 * idle
        );
    }
}

/// A lock on the rest contact and a strike on the other, behind the same 1 ohm in each leg.
const CHANGEOVER: &str = "format = 1
[supply.psu]
voltage = \"24 V\"
resistance = \"1 ohm\"
current = \"1.1 A\"
[device.hub]
relay.k1 = { contact = \"changeover\", current = \"2 A\" }
[device.lock]
lowest = \"20 V\"
highest = \"30 V\"
draw = { idle = \"1 A\" }
[device.strike]
lowest = \"20 V\"
highest = \"30 V\"
draw = { pull = \"0.5 A\" }
[run.W0]
from = \"psu\"
to = \"hub\"
resistance = \"0.5 ohm\"
[run.W1]
from = \"hub\"
to = \"lock\"
resistance = \"0.5 ohm\"
through = \"hub.k1.nc\"
[run.W2]
from = \"hub\"
to = \"strike\"
resistance = \"0.5 ohm\"
through = \"hub.k1.no\"
";

#[test]
fn a_relay_that_switches_over_never_closes_both() {
    let (site, all) = search(CHANGEOVER);
    assert!(all.proven);
    // The lock idle or off, the strike pulling or off, the relay, and a hub that draws nothing.
    assert_eq!(all.combinations, Some(8.0));
    // A contact of 0 ohm is solved as a tenth of a microohm.
    let lock = all.devices[1].least.as_ref().unwrap();
    assert_relative_eq!(lock.value.base(), 24.0 - 3.0, max_relative = 1e-7);
    assert_eq!(lock.state.words(&site), "all idle");
    let strike = all.devices[2].least.as_ref().unwrap();
    assert_relative_eq!(strike.value.base(), 24.0 - 1.5, max_relative = 1e-7);
    assert!(
        strike
            .state
            .words(&site)
            .ends_with("strike pull, hub.k1 pulled")
    );
    assert_relative_eq!(
        all.supplies[0].as_ref().unwrap().value.base(),
        1.0,
        max_relative = 1e-9
    );
    let contacts: Vec<(String, f64)> = (all.contacts.iter())
        .map(|(part, w)| (site.part_text(*part), w.as_ref().unwrap().value.base()))
        .collect();
    assert_eq!(contacts[0].0, "hub.k1.no");
    assert_eq!(contacts[1].0, "hub.k1.nc");
    assert_relative_eq!(contacts[0].1, 0.5, max_relative = 1e-9);
    assert_relative_eq!(contacts[1].1, 1.0, max_relative = 1e-9);
}

#[test]
fn islands_with_a_relay_each_are_still_proven() {
    let mut text = String::from("format = 1\n");
    for i in 0..40 {
        let own = CHANGEOVER.trim_start_matches("format = 1\n");
        let mut own = own
            .replace(".psu]", &format!(".psu{i}]"))
            .replace("\"psu\"", &format!("\"psu{i}\""));
        for name in ["hub", "lock", "strike"] {
            own = own.replace(&format!(".{name}]"), &format!(".{name}{i}]"));
            own = own.replace(&format!("\"{name}\""), &format!("\"{name}{i}\""));
        }
        own = own.replace("\"hub.k1.", &format!("\"hub{i}.k1."));
        for run in ["W0", "W1", "W2"] {
            own = own.replace(&format!("[run.{run}]"), &format!("[run.{run}x{i}]"));
        }
        text += &own;
    }
    let (_, all) = search(&text);
    assert!(all.proven);
    assert_relative_eq!(
        all.combinations.unwrap(),
        8_f64.powi(40),
        max_relative = 1e-12
    );
    let least = |d: usize| all.devices[d].least.as_ref().unwrap().value.base();
    assert_relative_eq!(least(1), 21.0, max_relative = 1e-7);
    assert_relative_eq!(least(119), 22.5, max_relative = 1e-7);
}

/// Many devices on one supply, their negatives joined in a ring: no tree, and too many to search.
#[test]
fn what_is_too_large_is_not_called_proven() {
    let mut text = home_runs(60).replace(
        "voltage = \"24 V\"",
        "voltage = \"24 V\"\nresistance = \"0.1 ohm\"",
    );
    for i in 1..60 {
        write!(text, "[run.R{i}]\nfrom = \"D{}\"\nto = \"D{i}\"\nresistance = \"1 ohm\"\ncarries = \"data\"\ncommon = true\n", i - 1).unwrap();
    }
    let (site, all) = search(&text);
    assert!(!all.proven && all.solved > 0);
    let sum: f64 = (0..60).map(|i| f64::from(100 + i) * 1e-3).sum();
    // What was tried is still right: all active is among it.
    assert_relative_eq!(
        all.supplies[0].as_ref().unwrap().value.base(),
        sum,
        max_relative = 1e-9
    );
    let mut study = Study::of(&site, &mut Solver::new());
    study.take_states(
        &site,
        AllStates::of(&site, Reach::Proof, &mut Solver::new()),
    );
    let words: String = report::text("ring.toml", &site, &study, &[])
        .into_iter()
        .map(|(_, t)| t)
        .collect();
    assert!(
        words.contains("not proven: the worst of what was tried"),
        "{words}"
    );
}

/// One supply with more devices than the worst combination of each could name.
#[test]
fn of_a_very_large_part_the_supply_is_known() {
    let text = home_runs(500).replace(
        "voltage = \"24 V\"",
        "voltage = \"24 V\"\nresistance = \"0.01 ohm\"",
    );
    let (_, all) = search(&text);
    assert!(!all.proven);
    let sum: f64 = (0..500).map(|i| f64::from(100 + i) * 1e-3).sum();
    let supply = all.supplies[0].as_ref().unwrap();
    assert_relative_eq!(supply.value.base(), sum, max_relative = 1e-9);
    // Of a device, the volts while all is idle.
    let idle: f64 = (0..500).map(|i| f64::from(10 + i) * 1e-3).sum();
    let volts = 24.0 - 0.01 * idle - 2.0 * 10e-3;
    assert_relative_eq!(
        all.devices[0].least.as_ref().unwrap().value.base(),
        volts,
        max_relative = 1e-9
    );
}

/// Codes, subjects and severities of what is found with all states searched.
fn found(text: &str) -> Vec<(String, String, Severity)> {
    let site = read(text);
    let solver = &mut Solver::new();
    let mut study = Study::of(&site, solver);
    study.take_states(&site, AllStates::of(&site, Reach::Proof, solver));
    let findings = study.findings.iter().map(|j| &j.finding);
    findings
        .map(|f| (f.code.to_owned(), f.subject.clone(), f.severity))
        .collect()
}

fn has(found: &[(String, String, Severity)], code: &str, subject: &str) -> bool {
    found.iter().any(|(c, s, _)| c == code && s == subject)
}

/// Both devices on one line of 1 ohm a leg from an ideal supply: each alone is fine.
fn pair(lowest: &str, cases: &str) -> String {
    format!(
        "format = 1\n[supply.psu]\nvoltage = \"24 V\"\ncurrent = \"5 A\"\n[device.lock]\nlowest = \"{lowest}\"\nhighest = \"30 V\"\ndraw = {{ hold = \"1 A\" }}\n[device.strike]\non = \"lock\"\nlowest = \"10 V\"\nhighest = \"30 V\"\ndraw = {{ pull = \"1 A\" }}\n[run.W1]\nfrom = \"psu\"\nto = \"lock\"\nresistance = \"1 ohm\"\n{cases}"
    )
}

const APART: &str =
    "[case.holds]\nstates = { lock = \"hold\" }\n[case.pulls]\nstates = { strike = \"pull\" }\n";

#[rstest]
#[case("20.1 V", true)]
#[case("20 V", false)]
#[case("19.9 V", false)]
fn a_combination_beyond_the_cases_warns(#[case] lowest: &str, #[case] warns: bool) {
    // Both at once: 24 V less 2 A through 2 ohm.
    let found = found(&pair(lowest, APART));
    assert_eq!(has(&found, "beyond-cases", "lock"), warns, "{found:?}");
    assert!(!has(&found, "low-volts", "lock"));
    let severity = found.iter().find(|f| f.0 == "beyond-cases").map(|f| f.2);
    assert!(severity.is_none_or(|s| s == Severity::Warn));
}

#[test]
fn a_combination_that_is_a_case_fails_and_one_that_is_ruled_out_is_quiet() {
    let together = "[case.both]\nstates = { lock = \"hold\", strike = \"pull\" }\n";
    let failing = found(&pair("20.1 V", &format!("{APART}{together}")));
    assert!(has(&failing, "low-volts", "lock") && !has(&failing, "beyond-cases", "lock"));
    let ruled = "[[exclusive]]\nstates = [\"lock.hold\", \"strike.pull\"]\n";
    let quiet = found(&pair("20.1 V", &format!("{APART}{ruled}")));
    assert!(!has(&quiet, "low-volts", "lock") && !has(&quiet, "beyond-cases", "lock"));
}

#[rstest]
#[case("1.9 A", true)]
#[case("2 A", false)]
fn a_rating_beyond_the_cases_warns(#[case] current: &str, #[case] warns: bool) {
    let text =
        pair("10 V", APART).replace("current = \"5 A\"", &format!("current = \"{current}\""));
    assert_eq!(has(&found(&text), "beyond-cases", "psu"), warns);
}

#[test]
fn an_inrush_is_held_against_the_peak_and_the_rest_against_the_rating() {
    let text = |draw: &str| {
        pair("10 V", APART)
            .replace("current = \"5 A\"", "current = \"1.5 A\"\npeak = \"4 A\"")
            .replace("pull = \"1 A\"", draw)
    };
    // 1 A and an inrush of 2 A: under the peak, and steady under the rating.
    assert!(!has(
        &found(&text("pull = \"0.4 A\", inrush = \"2 A\"")),
        "beyond-cases",
        "psu"
    ));
    // Steady over the rating, which the inrush must not hide.
    assert!(has(
        &found(&text("pull = \"0.6 A\", inrush = \"2 A\"")),
        "beyond-cases",
        "psu"
    ));
    // Over the peak.
    assert!(has(
        &found(&text("pull = \"0.4 A\", inrush = \"3.5 A\"")),
        "beyond-cases",
        "psu"
    ));
}

#[test]
fn no_operating_point_beyond_the_cases_warns() {
    let text =
        single("idle = \"5 W\", active = \"16 W\"") + "[case.quiet]\nstates = { hub = \"idle\" }\n";
    let found = found(&text);
    assert!(
        has(&found, "beyond-cases", "hub") && !has(&found, "no-operating-point", "hub"),
        "{found:?}"
    );
}

#[test]
fn the_json_names_everything_as_described() {
    let site = read(CHANGEOVER);
    let solver = &mut Solver::new();
    let mut study = Study::of(&site, solver);
    let without: Value =
        serde_json::from_str(&report::json("a", &site, &study, &[]).unwrap()).unwrap();
    assert!(without["all_states"].is_null());
    study.take_states(&site, AllStates::of(&site, Reach::Proof, solver));
    let json: Value =
        serde_json::from_str(&report::json("a", &site, &study, &[]).unwrap()).unwrap();
    let all = &json["all_states"];
    assert_eq!(all["combinations"], 8);
    assert!(all["unserved"].is_null());
    // A hub that draws nothing has no volts of its own to count.
    assert!(
        all["devices"][0]["least_volts"].is_null() && all["devices"][0]["least_state"].is_null()
    );
    assert_eq!(
        all["devices"][2]["least_state"],
        serde_json::json!({"strike": "pull", "hub.k1": "pulled"})
    );
    assert_eq!(all["relays"][0]["id"], "hub.k1.no");
    assert_eq!(all["relays"][0]["corner"], "low");
    assert_eq!(all["fuses"], serde_json::json!([]));
    assert_eq!(all["runs"][1]["id"], "W1");
}
