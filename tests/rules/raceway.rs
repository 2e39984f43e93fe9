//! Raceways, what lies in them, and boxes.

use approx::assert_relative_eq;
use rstest::rstest;

use super::{asks, finding, grade};
use crate::battery::fixes;

/// Runs of one cable in one raceway.
fn pipe(raceway: &str, cable: &str, runs: usize) -> String {
    let mut text = format!(
        "format = 1
[cable.yard]
size = \"18 AWG\"
conductors = 2
{cable}
[supply.psu]
voltage = \"12 V\"
[device.hub]
draw = {{ idle = \"1 W\" }}
[raceway.T1]
{raceway}
"
    );
    for i in 1..=runs {
        text += &format!(
            "[run.W{i}]\nfrom = \"psu\"\nto = \"hub\"\ncable = \"yard\"\nlength = \"10 ft\"\nraceway = \"T1\"\n"
        );
    }
    text
}

// Inside 1 in: one cable of d in fills d^2 of it. NEC Chapter 9 Table 1: 53, 31, 40 %; 60 % in a
// raceway of 24 in.
#[rstest]
#[case(1, "0.7280 in", "", None)]
#[case(1, "0.7281 in", "", Some(100.0 * 0.7281 * 0.7281))]
#[case(2, "0.3937 in", "", None)]
#[case(2, "0.3938 in", "", Some(200.0 * 0.3938 * 0.3938))]
#[case(3, "0.3651 in", "", None)]
#[case(3, "0.3652 in", "", Some(300.0 * 0.3652 * 0.3652))]
#[case(2, "0.5477 in", "length = \"24 in\"", None)]
#[case(2, "0.5478 in", "length = \"24 in\"", Some(200.0 * 0.5478 * 0.5478))]
#[case(2, "0.5477 in", "length = \"25 in\"", Some(200.0 * 0.5477 * 0.5477))]
fn a_full_raceway(
    #[case] cables: usize,
    #[case] diameter: &str,
    #[case] more: &str,
    #[case] percent: Option<f64>,
) {
    let text = pipe(
        &format!("inside = \"1 in\"\n{more}"),
        &format!("diameter = \"{diameter}\""),
        cables,
    );
    let found = finding(&text, "raceway-fill", "T1");
    assert_eq!(found.is_some(), percent.is_some());
    if let (Some(found), Some(percent)) = (found, percent) {
        assert_eq!(found["severity"], "fail");
        assert_relative_eq!(found["value"].as_f64().unwrap(), percent, epsilon = 1e-9);
    }
}

/// Table 4: EMT of 1/2 in has 0.304 in2, of 3/4 in 0.533 in2. Two cables of 0.3 in have 0.1414 in2.
#[test]
fn the_next_trade_size_cures_a_full_raceway() {
    let text = pipe(
        "kind = \"emt\"\nsize = \"1/2 in\"",
        "diameter = \"0.3 in\"",
        2,
    );
    assert_eq!(grade(&text, "raceway-fill", "T1").as_deref(), Some("fail"));
    assert_eq!(
        fixes(&text, "raceway-fill"),
        ["T1 in trade size 3/4 (was 1/2)"]
    );
}

#[test]
fn what_lies_in_one_jacket_counts_once() {
    let text = pipe("inside = \"1 in\"", "diameter = \"0.6 in\"", 1)
        .replace("conductors = 2", "conductors = 4")
        + "[run.W2]\nfrom = \"psu\"\nto = \"hub\"\nshares = \"W1\"\n";
    assert_eq!(grade(&text, "raceway-fill", "T1"), None);
}

#[test]
fn sizes_that_are_missing_are_asked() {
    let text = pipe("kind = \"emt\"", "", 1);
    assert!(asks(&text, "raceway-unknown", "T1", "kind and size"));
    assert!(asks(&text, "raceway-unknown", "yard", "diameter"));
    let bare = text.replace("[raceway.T1]\nkind = \"emt\"\n", "");
    assert!(asks(&bare, "raceway-unknown", "T1", "anything of itself"));
}

#[rstest]
#[case("0.3126 in", None)]
#[case("0.3124 in", None)]
#[case("0.3572 in", None)]
#[case("0.333 in", Some("note"))]
fn three_cables_wedge(#[case] diameter: &str, #[case] found: Option<&str>) {
    // 1 / 0.3126 = 3.199 wedges; with 0.3124 it is 3.201.
    let found = if diameter == "0.3126 in" {
        Some("note")
    } else {
        found
    };
    let text = pipe(
        "inside = \"1 in\"",
        &format!("diameter = \"{diameter}\""),
        3,
    );
    assert_eq!(grade(&text, "raceway-jam", "T1").as_deref(), found);
}

#[rstest]
#[case(360, None)]
#[case(361, Some("warn"))]
fn bends_on_the_way(#[case] degrees: u32, #[case] found: Option<&str>) {
    let text = pipe(&format!("bends = {degrees}"), "", 1);
    assert_eq!(grade(&text, "raceway-bends", "T1").as_deref(), found);
}

#[rstest]
#[case("mains_inside = true\nbarrier = false", Some("stop"))]
#[case("mains_inside = true\nbarrier = true", None)]
#[case("mains_inside = false", None)]
#[case("mains_inside = true", Some("ask"))]
#[case("", Some("ask"))]
fn mains_inside(#[case] keys: &str, #[case] found: Option<&str>) {
    let text = pipe(keys, "", 1);
    let graded = grade(&text, "raceway-mains", "T1");
    let asked = finding(&text, "raceway-unknown", "T1").is_some_and(|f| {
        let message = f["message"].as_str().unwrap().to_owned();
        message.contains("mains_inside") || message.contains("barrier")
    });
    match found {
        Some("ask") => assert!(graded.is_none() && asked),
        other => assert!(graded.as_deref() == other && !asked),
    }
}

// NEC Table 300.5: rigid metal 6 in, nonmetallic 18 in, any under a drive 24 in, a home's 18 in.
#[rstest]
#[case("rigid", "ground", "6 in", None)]
#[case("rigid", "ground", "5.9 in", Some("warn"))]
#[case("pvc 40", "ground", "18 in", None)]
#[case("pvc 40", "ground", "17.9 in", Some("warn"))]
#[case("rigid", "drive", "24 in", None)]
#[case("rigid", "drive", "23.9 in", Some("warn"))]
#[case("pvc 80", "home drive", "18 in", None)]
#[case("pvc 80", "home drive", "17.9 in", Some("warn"))]
#[case("pvc 40", "concrete in trench", "12 in", None)]
#[case("pvc 40", "slab", "3.9 in", Some("warn"))]
#[case("pvc 40", "building", "0 in", None)]
fn ground_over_it(
    #[case] kind: &str,
    #[case] under: &str,
    #[case] cover: &str,
    #[case] found: Option<&str>,
) {
    let text = pipe(
        &format!("kind = \"{kind}\"\nunder = \"{under}\"\ncover = \"{cover}\""),
        "",
        1,
    );
    assert_eq!(grade(&text, "raceway-cover", "T1").as_deref(), found);
}

#[test]
fn a_buried_raceway_is_asked_for_its_cover() {
    let text = pipe("kind = \"pvc 40\"", "", 1) + "route = \"buried\"\n";
    assert!(asks(&text, "raceway-unknown", "T1", "cover"));
    assert!(asks(&text, "raceway-unknown", "T1", "under"));
    assert!(asks(&text, "raceway-unknown", "T1", "sealed"));
    assert!(!asks(
        &pipe("kind = \"pvc 40\"", "", 1),
        "raceway-unknown",
        "T1",
        "cover"
    ));
}

#[rstest]
#[case("sealed = true\ndrained = true", None)]
#[case("sealed = false\ndrained = true", Some("warn"))]
#[case("sealed = true\ndrained = false", Some("warn"))]
fn water_inside(#[case] keys: &str, #[case] found: Option<&str>) {
    let text = pipe(keys, "", 1) + "route = \"buried\"\n";
    assert_eq!(grade(&text, "raceway-water", "T1").as_deref(), found);
}

#[rstest]
#[case("kind = \"emt\"\nbonded = false", Some("warn"))]
#[case("kind = \"emt\"\nbonded = true", None)]
#[case("kind = \"pvc 40\"\nbonded = false", None)]
fn metal_is_bonded(#[case] keys: &str, #[case] found: Option<&str>) {
    let text = pipe(keys, "", 1);
    assert_eq!(grade(&text, "raceway-bonded", "T1").as_deref(), found);
    let silent = pipe("kind = \"emt\"", "", 1);
    assert!(asks(&silent, "raceway-unknown", "T1", "bonded"));
}

#[test]
fn joints_are_in_boxes() {
    let text = pipe("", "", 1);
    assert_eq!(grade(&text, "raceway-splices", "T1"), None);
    let text = text + "splices = 1\n";
    assert_eq!(
        grade(&text, "raceway-splices", "T1").as_deref(),
        Some("warn")
    );
}

#[rstest]
#[case("raceway = \"T1\"", "wet = true", "rated = [\"wet\"]", None)]
#[case("raceway = \"T1\"", "wet = true", "rated = [\"burial\"]", None)]
#[case("raceway = \"T1\"", "wet = true", "rated = []", Some("fail"))]
#[case("raceway = \"T1\"", "wet = true", "", Some("ask"))]
#[case("raceway = \"T1\"", "wet = false", "rated = []", None)]
#[case("raceway = \"T1\"\nroute = \"buried\"", "", "rated = []", Some("fail"))]
#[case("route = \"buried\"", "", "rated = [\"wet\"]", Some("fail"))]
#[case("route = \"buried\"", "", "rated = [\"wet\", \"burial\"]", None)]
#[case("route = \"outdoor\"", "", "rated = []", Some("fail"))]
#[case("route = \"indoor\"", "", "rated = []", None)]
fn cable_in_the_wet(
    #[case] run: &str,
    #[case] raceway: &str,
    #[case] cable: &str,
    #[case] found: Option<&str>,
) {
    let text = pipe(raceway, cable, 1).replace("raceway = \"T1\"\n", &format!("{run}\n"));
    let graded = grade(&text, "wet-rating", "yard");
    let asked = finding(&text, "raceway-unknown", "yard")
        .is_some_and(|f| f["message"].as_str().unwrap().contains("rated"));
    match found {
        Some("ask") => assert!(graded.is_none() && asked),
        other => assert!(graded.as_deref() == other && !asked, "{graded:?}"),
    }
}

#[rstest]
#[case("copper", "corrosive = true", Some("warn"))]
#[case("tinned copper", "corrosive = true", None)]
#[case("tinned copper", "corrosive = true\nbox = \"metal\"", Some("warn"))]
#[case("copper", "corrosive = false", None)]
fn corrosive_air(#[case] metal: &str, #[case] place: &str, #[case] found: Option<&str>) {
    let text = pipe("", &format!("material = \"{metal}\""), 1)
        .replace("[device.hub]\n", "[device.hub]\nplace = \"pier\"\n")
        + &format!("[place.pier]\n{place}\n");
    assert_eq!(grade(&text, "corrosion", "pier").as_deref(), found);
}

/// A cube of 0.5 m has 1.5 m2: 5.5 x 1.5 x 20 = 165 W warm it by 20 K; in the sun 41.25 W do.
#[rstest]
#[case("165 W", "false", "note", 20.0)]
#[case("166 W", "false", "warn", 166.0 / 8.25)]
#[case("41.25 W", "true", "note", 20.0)]
#[case("42 W", "true", "warn", 42.0 / 8.25 + 15.0)]
fn a_warm_box(#[case] draw: &str, #[case] sun: &str, #[case] severity: &str, #[case] kelvin: f64) {
    let text = pipe("", "", 1)
        .replace("voltage = \"12 V\"", "voltage = \"120 V\"")
        .replace("length = \"10 ft\"", "length = \"0.001 ft\"")
        .replace("\"1 W\" }", &format!("\"{draw}\" }}\nplace = \"pier\""))
        + &format!(
            "[place.pier]\nbox = \"plastic\"\nsun = {sun}\nbox_size = [\"0.5 m\", \"0.5 m\", \"0.5 m\"]\n"
        );
    let found = finding(&text, "box-heat", "pier").unwrap();
    assert_eq!(found["severity"], severity);
    assert_relative_eq!(
        found["value"].as_f64().unwrap(),
        kelvin,
        max_relative = 1e-9
    );
}

#[test]
fn what_leaves_the_box_does_not_warm_it() {
    // The hub takes 100 W / 0.8 for a supply that gives 100 W to a light outside: 25 W stay.
    let text = pipe("", "", 1)
        .replace("voltage = \"12 V\"", "voltage = \"120 V\"")
        .replace("length = \"10 ft\"", "length = \"0.001 ft\"")
        .replace("draw = { idle = \"1 W\" }", "place = \"pier\"")
        + "[place.pier]
sun = false
box_size = [\"0.5 m\", \"0.5 m\", \"0.5 m\"]
[supply.aux]
voltage = \"100 V\"
fed_by = \"hub\"
efficiency = \"80 %\"
[device.light]
draw = { idle = \"100 ohm\" }
on = \"aux\"
";
    let found = finding(&text, "box-heat", "pier").unwrap();
    assert_relative_eq!(
        found["value"].as_f64().unwrap(),
        25.0 / 8.25,
        max_relative = 1e-6
    );
}

/// A reader's data in one pipe with a lock's leads.
fn beside(coil: &str, kind: &str, cable: &str, raceway: &str) -> String {
    format!(
        "format = 1
[supply.psu]
voltage = \"12 V\"
[device.reader]
kind = \"reader\"
on = \"psu\"
[device.panel]
kind = \"panel\"
on = \"psu\"
[device.lock]
kind = \"{kind}\"
draw = {{ idle = \"24 ohm\" }}
{coil}
[raceway.T1]
kind = \"pvc 40\"
mains_inside = false
[run.D]
from = \"reader\"
to = \"panel\"
cable = \"{cable}\"
length = \"10 m\"
carries = \"wiegand\"
raceway = \"{raceway}\"
[run.L]
from = \"psu\"
to = \"lock\"
cable = \"18/2\"
length = \"10 m\"
raceway = \"T1\"
"
    )
}

#[rstest]
#[case("clamp = \"none\"", "electromagnetic lock", "22/6", "T1", Some("warn"))]
#[case(
    "clamp = \"diode\"\nclamp_at = \"contact\"",
    "electric strike",
    "22/6",
    "T1",
    Some("warn")
)]
#[case("clamp = \"diode\"", "electromagnetic lock", "22/6", "T1", None)]
#[case(
    "clamp = \"none\"",
    "electromagnetic lock",
    "22/6 shielded",
    "T1",
    None
)]
#[case("clamp = \"none\"", "electromagnetic lock", "22/6", "T2", None)]
#[case("", "operator", "22/6", "T1", Some("warn"))]
fn data_beside_what_switches(
    #[case] coil: &str,
    #[case] kind: &str,
    #[case] cable: &str,
    #[case] raceway: &str,
    #[case] expected: Option<&str>,
) {
    let text = beside(coil, kind, cable, raceway);
    assert_eq!(grade(&text, "data-beside-motor", "T1").as_deref(), expected);
}

/// Whether data keeps clear of a motor is not asked where the file says what lies in its pipe.
#[rstest]
#[case("T2", false)]
#[case("T1", true)]
#[case("T3", true)]
fn clear_of_a_motor_by_the_drawing(#[case] raceway: &str, #[case] asked: bool) {
    let more =
        "[raceway.T2]\nkind = \"pvc 40\"\nmains_inside = false\n[raceway.T3]\nkind = \"pvc 40\"\n";
    let text = beside("", "operator", "22/6", raceway) + more;
    let open = finding(&text, "open-questions", "D").unwrap();
    let words = open["message"].as_str().unwrap();
    assert_eq!(words.contains("clear-of-motor"), asked, "{words}");
}
