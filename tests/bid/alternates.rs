//! Other designs of a site: each one drawn, solved and priced.

use std::process::Command;

use approx::assert_relative_eq;
use farend::alternates::{Alternate, Cables, Watch, alternates};
use farend::site::{Project, Site};
use farend::size;
use farend::solve::Solver;
use farend::study::Study;
use farend::takeoff::TakeOff;
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

/// The yard of the screens, with choices.
const SIZES: &str = crate::screens::SIZES;

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
    let all = alternates(&project, &mut Solver::new(), &Watch::NOBODY);
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
    let all = alternates(&project, &mut Solver::new(), &Watch::NOBODY);
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
    // 70 m with 0.8 V beats the site as drawn and the lock with a pair of its own, and everything
    // that costs more, leaves less and needs nothing else.
    let beaten = |name: &str| !front.iter().any(|f| f.starts_with(name));
    assert!(
        beaten("as drawn") && beaten("own pair") && beaten("hub half-way"),
        "{front:?}"
    );
    // What has something unpriced that the short way does without is not known to cost more.
    assert!(front.contains(&"short way"));
    assert!(front.contains(&"24 V to a converter at hub"));
}

#[test]
fn edits_of_every_alternate_lead_to_the_design_that_was_judged() {
    for demo in farend::demo::ALL {
        let project = Project::open(demo.text).unwrap();
        let mut solver = Solver::new();
        for alternate in alternates(&project, &mut solver, &Watch::NOBODY) {
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

/// The chain with a choice of three cables, which lose 4, 2 and 1 V with 1 A on 100 m, and an
/// alternate that says itself what one run has.
fn chosen() -> String {
    let mut text = CHAIN.replace("cable = \"pair\"", "cable = \"thin\"");
    for (name, ohm, price) in [("thin", 20, "0.4"), ("mid", 10, "0.7"), ("thick", 5, "1.2")] {
        text += &format!(
            "[cable.{name}]\nsize = \"1 mm2\"\nconductors = 2\nresistance = \"{ohm} ohm/km\"\nprice = \"{price} /m\"\n"
        );
    }
    text + "[sizing]\nchoices = [\"thin\", \"mid\", \"thick\"]\n[alternate.\"thick to the lock\"]\nset = { \"W1.length\" = \"50 m\", \"W2.cable\" = \"thick\" }\n"
}

#[test]
fn cables_and_costs_of_the_sized_are_those_of_the_hand() {
    let project = Project::open(&chosen()).unwrap();
    let all = alternates(&project, &mut Solver::new(), &Watch::NOBODY);
    let outcome = |name: &str| named(&all, name).outcome.as_ref().unwrap();
    assert!(!outcome("as drawn").passes());
    // 12 - 1 - 2 x 0.5 x 0.4 = 10.6 V; 120 + 8. The feed in mid leaves the hub 10 V, the lock less.
    let drawn = outcome("cheapest cables");
    let feed = |cable: &str| ("W1".to_owned(), cable.to_owned());
    assert_eq!(drawn.cables, Cables::Cheapest(vec![feed("thick")]));
    assert_relative_eq!(drawn.cost, 128.0, epsilon = 1e-9);
    assert_relative_eq!(volts(named(&all, "cheapest cables")), 0.6, epsilon = 1e-9);
    // On 50 m mid loses 1 V: 35 + 8.
    assert_relative_eq!(outcome("short way").cost, 43.0, epsilon = 1e-9);
    // What the alternate says of the lock's run stands, though thin would do: 35 + 24.
    let own = outcome("thick to the lock");
    assert_eq!(own.cables, Cables::Cheapest(vec![feed("mid")]));
    assert_relative_eq!(own.cost, 59.0, epsilon = 1e-9);
}

#[test]
fn one_cable_throughout_saves_a_spool() {
    let text = chosen()
        .replace("length = \"100 m\"", "length = \"50 m\"")
        .replace(
            "conductors = 2\nresistance",
            "conductors = 2\nspools = [\"100 m\"]\nresistance",
        );
    let project = Project::open(&text).unwrap();
    let all = alternates(&project, &mut Solver::new(), &Watch::NOBODY);
    let cost = |name: &str| named(&all, name).outcome.as_ref().unwrap().cost;
    // By length mid for the feed and thin to the lock; a spool of each is 70 + 40.
    assert_relative_eq!(cost("cheapest cables"), 110.0, epsilon = 1e-9);
    // Both from one spool of mid: 12 - 1 - 2 x 0.5 x 0.2 = 10.8 V.
    assert_relative_eq!(cost("mid throughout"), 70.0, epsilon = 1e-9);
    assert_relative_eq!(volts(named(&all, "mid throughout")), 0.8, epsilon = 1e-9);
}

/// The least money of all designs of a site's two runs from its choices without a grave finding;
/// one run may be held.
fn least_money(site: &Site, held: Option<usize>) -> Option<f64> {
    let mut least: Option<f64> = None;
    for first in &site.choices {
        for second in &site.choices {
            let mut tried = site.clone();
            for (i, cable) in [(0, first), (1, second)] {
                if held != Some(i) {
                    tried.runs[i].cable = Some(*cable);
                    tried.runs[i].jacket = Some(*cable);
                }
            }
            if Study::of(&tried, &mut Solver::new()).is_clean() {
                let money = TakeOff::of(&tried).total.money();
                least = Some(least.map_or(money, |l: f64| l.min(money)));
            }
        }
    }
    least
}

#[test]
fn no_other_choice_of_cables_makes_an_alternate_cheaper() {
    let project = Project::open(&chosen()).unwrap();
    let all = alternates(&project, &mut Solver::new(), &Watch::NOBODY);
    let mut sized = 0;
    for alternate in &all {
        let outcome = alternate.outcome.as_ref().unwrap();
        let mut other = project.clone();
        other.apply_all(&alternate.edits, String::new()).unwrap();
        let held = match alternate.name.as_str() {
            "thick to the lock" => Some(1),
            name if name.starts_with("pairs") => Some(0),
            // Both runs say what they have: nothing is left to choose.
            name if name.ends_with("throughout") => continue,
            _ => None,
        };
        if let Cables::Cheapest(_) = outcome.cables {
            sized += 1;
            let least = least_money(other.site(), held);
            assert_relative_eq!(outcome.cost, least.unwrap(), epsilon = 1e-9);
        }
    }
    assert!(sized >= 6, "{all:?}");
}

#[test]
fn a_search_that_is_ended_keeps_what_was_tried() {
    let project = Project::open(&chosen()).unwrap();
    let watch = Watch {
        goes_on: &|progress| progress.done < 3,
        ..Watch::NOBODY
    };
    let all = alternates(&project, &mut Solver::new(), &watch);
    let names: Vec<&str> = all.iter().map(|a| a.name.as_str()).collect();
    assert_eq!(names, ["short way", "cheapest cables", "as drawn"]);
    // Without time the cables are the best that a first look finds, and say so.
    let none = Watch {
        size: &|site| {
            let watch = size::Watch {
                goes_on: &|| false,
                tell: &|_| {},
            };
            size::size(site, &watch)
        },
        goes_on: &|_| true,
    };
    let all = alternates(&project, &mut Solver::new(), &none);
    let outcome = named(&all, "short way").outcome.as_ref().unwrap();
    assert!(outcome.passes() && matches!(outcome.cables, Cables::BestFound(_)));
}

#[test]
fn an_alternate_on_file_passes_the_check_and_costs_what_its_take_off_says() {
    let own = [chosen(), SIZES.to_owned()];
    let demos = farend::demo::ALL.iter().map(|d| d.text.to_owned());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("other.toml");
    let mut passing = 0;
    for text in own.into_iter().chain(demos) {
        let project = Project::open(&text).unwrap();
        for alternate in alternates(&project, &mut Solver::new(), &Watch::NOBODY) {
            let outcome = alternate.outcome.as_ref().unwrap();
            let mut other = project.clone();
            other.apply_all(&alternate.edits, String::new()).unwrap();
            std::fs::write(&path, other.text()).unwrap();
            let check = Command::new(env!("CARGO_BIN_EXE_farend"))
                .arg("check")
                .arg(&path)
                .output()
                .unwrap();
            let clean = check.status.code() == Some(0);
            assert_eq!(clean, outcome.passes(), "{}", alternate.name);
            passing += usize::from(clean);
            let site = farend::site::read(&other.text()).unwrap();
            let money = TakeOff::of(&site).total.money();
            assert_relative_eq!(outcome.cost, money, epsilon = 1e-9);
        }
    }
    assert!(passing > 10, "only {passing} pass");
}
