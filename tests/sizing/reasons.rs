//! What is said where nothing passes, and what the other fields hold.

use farend::site::read;
use farend::size::{self, CostUnit, Sizing, Watch, ladder};

const SITE: &str = r#"format = 1
[cable.thin]
size = "20 AWG"
conductors = 2
price = "0.10 /ft"
[cable.thick]
size = "14 AWG"
conductors = 2
price = "0.50 /ft"
[supply.psu]
voltage = "24 V"
current = "2 A"
[device.lock]
lowest = "22 V"
highest = "26 V"
draw = { idle = "0.8 A" }
[device.reader]
lowest = "10 V"
highest = "26 V"
draw = { idle = "0.1 A" }
[run.W1]
from = "psu"
to = "lock"
cable = "thin"
length = "150 ft"
[run.W2]
from = "psu"
to = "reader"
cable = "22/6"
length = "90 ft"
carries = ["power", "wiegand"]
[sizing]
choices = ["thin", "thick"]
"#;

fn sized(text: &str) -> Sizing {
    size::size(
        &read(text).unwrap_or_else(|e| panic!("{e:?}")),
        &Watch::NOBODY,
    )
}

fn reasons(text: &str) -> Vec<String> {
    let sizing = sized(text);
    assert!(!sizing.optimal && sizing.cost.is_none() && sizing.runs.is_empty());
    let each = sizing.unsized_runs.into_iter();
    each.map(|u| format!("{}: {}", u.id, u.reason)).collect()
}

/// A fixed run without a price counts nothing and is named; the run with data keeps its cable.
#[test]
fn a_fixed_run_without_a_price_counts_nothing_and_is_named() {
    let sizing = sized(SITE);
    assert_eq!(sizing.unit, CostUnit::Price);
    assert!((sizing.cost.unwrap() - 75.0).abs() < 1e-9);
    assert_eq!(sizing.unpriced, [1]);
    assert_eq!(sizing.runs.len(), 1);
    assert_eq!(
        (sizing.runs[0].cable.as_str(), sizing.runs[0].was.as_str()),
        ("thick", "thin")
    );
}

/// Without one of the prices the metal counts: 2 conductors of 14 AWG (2.081 mm2, ASTM B258) over
/// 150 ft and 6 of 22 AWG (0.3256 mm2) over 90 ft.
#[test]
fn without_a_price_the_metal_counts() {
    let sizing = sized(&SITE.replace("price = \"0.50 /ft\"\n", ""));
    assert_eq!(sizing.unit, CostUnit::Metal);
    let metres = |ft: f64| ft * 0.3048;
    let closed = 2.0 * 2.0809e-6 * metres(150.0) + 6.0 * 0.3255e-6 * metres(90.0);
    assert!(
        (sizing.cost.unwrap() - closed).abs() < 2e-4 * closed,
        "{sizing:?}"
    );
    assert!(sizing.unpriced.is_empty());
}

#[test]
fn a_run_that_is_too_long_is_named_with_the_volts_that_miss() {
    let found = reasons(&SITE.replace("150 ft", "900 ft"));
    assert_eq!(found.len(), 1);
    assert!(
        found[0].starts_with("W1: even with the least ohms in every run lock gets"),
        "{found:?}"
    );
}

#[test]
fn no_copper_cures_the_budget_of_a_supply() {
    let found = reasons(&SITE.replace("current = \"2 A\"", "current = \"800 mA\""));
    assert_eq!(found.len(), 1);
    assert!(
        found[0].contains("no copper cures the budget of a supply"),
        "{found:?}"
    );
}

#[test]
fn a_run_whose_choices_have_too_few_conductors_is_named() {
    let found = reasons(&SITE.replace("to = \"lock\"", "to = \"lock\"\nparallel = 2"));
    assert!(
        found[0].contains("it needs 4 conductors, thin has 2"),
        "{found:?}"
    );
}

#[test]
fn a_conductor_must_bear_its_amps() {
    let thin = SITE.replace("length = \"150 ft\"", "length = \"10 ft\"");
    assert_eq!(sized(&thin).runs[0].cable, "thin");
    let weak = thin.replace(
        "price = \"0.10 /ft\"",
        "price = \"0.10 /ft\"\ncurrent = \"0.5 A\"",
    );
    assert_eq!(sized(&weak).runs[0].cable, "thick");
}

#[test]
fn a_search_that_is_ended_says_what_is_proven() {
    let site = read(SITE).unwrap();
    let watch = Watch {
        goes_on: &|| false,
        tell: &|_| {},
    };
    let sizing = size::size(&site, &watch);
    assert!(!sizing.optimal && sizing.interrupted);
    // The thickest passes; the thinnest of 0.10 /ft over 150 ft is all that is proven.
    assert_eq!(sizing.runs[0].cable, "thick");
    assert!((sizing.bound.unwrap() - 15.0).abs() < 1e-9);
    let weak = read(&SITE.replace("150 ft", "900 ft")).unwrap();
    let sizing = size::size(&weak, &watch);
    assert!(sizing.cost.is_none() && sizing.interrupted);
    let reason = &sizing.unsized_runs[0].reason;
    assert!(reason.contains("before the search was ended"), "{reason}");
}

#[test]
fn the_ladder_says_what_binds() {
    let (site, _) = sized(SITE).design.unwrap();
    let ladder = ladder(&site, 0).unwrap();
    let rungs: Vec<(&str, bool, bool)> = ladder
        .rungs
        .iter()
        .map(|r| (r.cable.as_str(), r.chosen, r.fails.is_none()))
        .collect();
    assert_eq!(rungs, [("thin", false, false), ("thick", true, true)]);
    let binds = ladder.binds.unwrap();
    assert!(binds.starts_with("in thin: lock gets"), "{binds}");
    assert_eq!(size::ladder(&site, 1), None);
}
