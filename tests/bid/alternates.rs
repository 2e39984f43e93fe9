//! Other designs of a site: each one drawn, solved and priced.

use approx::assert_relative_eq;
use farend::alternates::{Alternate, alternates};
use farend::site::Project;
use farend::solve::Solver;
use farend::study::Study;
use farend::units::Measure;

/// 10 ohm/km and 0.5 A make each 100 m conductor cost 0.5 V, so every figure below is mental
/// arithmetic.
const CHAIN: &str = r#"format = 1
[site]
units = "si"
[design]
slack = "0 m"
waste = "0 %"
hot = "20 C"
[cable.pair]
size = "1 mm2"
conductors = 2
resistance = "10 ohm/km"
price = "1 /m"
[supply.psu]
voltage = "12 V"
tolerance = "0 %"
resistance = "0 ohm"
current = "3 A"
peak = "3 A"
class = "class 2"
[device.hub]
kind = "hub"
lowest = "10 V"
highest = "30 V"
draw = { idle = "0.5 A" }
[device.lock]
kind = "electromagnetic lock"
lowest = "10 V"
highest = "13 V"
draw = { idle = "0.5 A" }
[run.W1]
from = "psu"
to = "hub"
cable = "pair"
length = "100 m"
[run.W2]
from = "hub"
to = "lock"
cable = "pair"
length = "20 m"
[alternate."short way"]
set = { "W1.length" = "50 m" }
"#;

fn named<'a>(all: &'a [Alternate], start: &str) -> &'a Alternate {
    let found = all.iter().find(|a| a.name.starts_with(start));
    found.unwrap_or_else(|| panic!("no '{start}' in {all:?}"))
}

/// Margin of the lock in volts over its 10 V.
fn volts(alternate: &Alternate) -> f64 {
    10.0 * alternate.outcome.as_ref().unwrap().margin.unwrap().base()
}

#[test]
fn margins_and_costs_are_those_of_the_hand() {
    let project = Project::open(CHAIN).unwrap();
    let all = alternates(&project, &mut Solver::new());
    let cost = |start: &str| named(&all, start).outcome.as_ref().unwrap().cost;
    // 12 - 2 x 1 A x 1 ohm - 2 x 0.5 A x 0.2 ohm = 9.8 V; 120 m.
    assert_relative_eq!(volts(named(&all, "as drawn")), -0.2, epsilon = 1e-9);
    assert_relative_eq!(cost("as drawn"), 120.0, epsilon = 1e-9);
    // The lock alone on 120 m: 12 - 2 x 0.5 x 1.2 = 10.8 V; 100 + 120 m.
    assert_relative_eq!(volts(named(&all, "own pair")), 0.8, epsilon = 1e-9);
    assert_relative_eq!(cost("own pair"), 220.0, epsilon = 1e-9);
    // Half the draw: 12 - 2 x 0.75 x 1 - 2 x 0.25 x 0.2 = 10.4 V.
    assert_relative_eq!(volts(named(&all, "lock with half")), 0.4, epsilon = 1e-9);
    // The hub half-way, lock run 70 m: 12 - 2 x 1 x 0.5 - 2 x 0.5 x 0.7 = 10.3 V.
    assert_relative_eq!(volts(named(&all, "hub half-way")), 0.3, epsilon = 1e-9);
    // The file's own: 12 - 2 x 1 x 0.5 - 0.2 = 10.8 V; 70 m.
    assert_relative_eq!(volts(named(&all, "short way")), 0.8, epsilon = 1e-9);
    assert_relative_eq!(cost("short way"), 70.0, epsilon = 1e-9);
    // A supply at the hub, 5 % low: 11.4 - 2 x 0.5 x 0.2 = 11.2 V; behind a converter 11.8 V.
    assert_relative_eq!(volts(named(&all, "supply at hub")), 1.2, epsilon = 1e-9);
    assert_relative_eq!(
        volts(named(&all, "24 V to a converter")),
        1.8,
        epsilon = 1e-9
    );
}

#[test]
fn what_passes_comes_first_and_the_front_has_nothing_that_another_beats() {
    let project = Project::open(CHAIN).unwrap();
    let all = alternates(&project, &mut Solver::new());
    let passes: Vec<bool> = all
        .iter()
        .map(|a| a.outcome.as_ref().is_ok_and(|o| o.passes()))
        .collect();
    assert!(passes.is_sorted_by_key(|p| !p));
    let front: Vec<&str> = all
        .iter()
        .filter(|a| a.outcome.as_ref().is_ok_and(|o| o.on_front))
        .map(|a| a.name.as_str())
        .collect();
    // 70 m with 0.8 V beats everything but the converter, whose 120 m leave 1.8 V.
    assert_eq!(front, ["short way", "24 V to a converter at hub"]);
}

#[test]
fn edits_of_every_alternate_lead_to_the_design_that_was_judged() {
    for demo in farend::demo::ALL {
        let project = Project::open(demo.text).unwrap();
        let mut solver = Solver::new();
        for alternate in alternates(&project, &mut solver) {
            let mut other = project.clone();
            let Ok(outcome) = &alternate.outcome else {
                panic!(
                    "{}: {} cannot be drawn: {:?}",
                    demo.name, alternate.name, alternate.outcome
                )
            };
            if !alternate.edits.is_empty() {
                other.apply_all(&alternate.edits, String::new()).unwrap();
            }
            let read = farend::site::read(&other.text()).unwrap();
            let study = Study::of(&read, &mut solver);
            assert_eq!(
                study.verdict, outcome.verdict,
                "{}: {}",
                demo.name, alternate.name
            );
        }
    }
}
