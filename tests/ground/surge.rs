//! Surge parts: their ohms in the solution, their working volts, their earth, and lines without one.
//!
//! 1.2 times the most volts, and a part on each line from outdoors: common practice, no source.

use approx::assert_abs_diff_eq;
use rstest::rstest;
use serde_json::Value;

use crate::judged::{finding, severity, solved};

/// A buried pair from a supply to a hub; `more` follows.
fn pair(run: &str, more: &str) -> Value {
    solved(&format!(
        r#"
[design]
temperature = "20 C"
hot = "20 C"
cold = "20 C"
[supply.psu]
voltage = "12 V"
tolerance = "5 %"
[device.hub]
kind = "hub"
draw = {{ idle = "1 A" }}
[earth.bar]
kind = "bar"
[earth.other]
kind = "bar"
[run.P]
from = "psu"
to = "hub"
route = "buried"
{run}
{more}"#
    ))
}

fn drop_volts(json: &Value) -> f64 {
    let run = &json["cases"][0]["runs"][0];
    assert_eq!(run["id"], "P");
    run["drop_volts"].as_f64().unwrap()
}

/// In each leg, for every part, with a cable's ohms or stated ones: 1 A x 2 x (2 + 0.25 + 0.5) ohm.
#[rstest]
#[case("resistance = \"2 ohm\"")]
#[case(
    "cable = \"c\"\nlength = \"100 m\"\nparallel = 2\n[cable.c]\nsize = \"18 AWG\"\nconductors = 4\nresistance = \"40 ohm/km\"\nresistance_at = \"20 C\""
)]
fn ohms_of_surge_parts_are_solved(#[case] run: &str) {
    let bare = pair(run, "");
    assert_abs_diff_eq!(drop_volts(&bare), 4.0, epsilon = 1e-9);
    let json = pair(
        run,
        "[surge.S1]\nline = \"P\"\nend = \"from\"\nresistance = \"0.25 ohm\"\n[surge.S2]\nline = \"P\"\nend = \"to\"\nresistance = \"0.5 ohm\"\n",
    );
    assert_abs_diff_eq!(drop_volts(&json), 5.5, epsilon = 1e-9);
}

/// In a data common, too: the return divides as 1 / ohms, 1 ohm beside 1 + 2 ohm.
#[test]
fn ohms_of_surge_parts_lie_in_a_common() {
    let data = "[device.panel]\nkind = \"panel\"\non = \"psu\"\n[run.D]\nfrom = \"panel\"\nto = \"hub\"\nresistance = \"1 ohm\"\ncarries = \"wiegand\"\n";
    let amps = |more: &str| {
        let json = pair("resistance = \"1 ohm\"", &format!("{data}{more}"));
        let runs = json["cases"][0]["runs"].as_array().unwrap();
        let run = runs.iter().find(|r| r["id"] == "D").unwrap();
        run["common_amps"].as_f64().unwrap().abs()
    };
    assert_abs_diff_eq!(amps(""), 0.5, epsilon = 1e-9);
    let with = amps("[surge.S]\nline = \"D\"\nresistance = \"2 ohm\"\n");
    assert_abs_diff_eq!(with, 0.25, epsilon = 1e-9);
}

// At `from` 12 V and 5 %: 12.6 V x 1.2 = 15.12 V. At `to` the 1 A draw takes 2 V off: 12.72 V.
#[rstest]
#[case("from", "15.2 V", None)]
#[case("from", "15.1 V", Some("warn"))]
#[case("to", "12.8 V", None)]
#[case("to", "12.7 V", Some("warn"))]
fn working_volts_are_over_the_lines(
    #[case] end: &str,
    #[case] working: &str,
    #[case] expected: Option<&str>,
) {
    let json = pair(
        "resistance = \"1 ohm\"",
        &format!(
            "[surge.S]\nline = \"P\"\nend = \"{end}\"\nworking = \"{working}\"\nearth = \"bar\"\n"
        ),
    );
    assert_eq!(severity(&json, "surge-working", "S").as_deref(), expected);
}

/// A data line has the volts that it states: 5 V x 1.2 = 6 V.
#[rstest]
#[case("6 V", None)]
#[case("5.9 V", Some("warn"))]
fn working_volts_of_a_data_line(#[case] working: &str, #[case] expected: Option<&str>) {
    let json = pair(
        "resistance = \"1 ohm\"",
        &format!(
            "[device.reader]\nkind = \"reader\"\non = \"psu\"\n[run.D]\nfrom = \"hub\"\nto = \"reader\"\nresistance = \"1 ohm\"\ncarries = \"wiegand\"\nwiegand = {{ voltage = \"5 V\" }}\n[surge.S]\nline = \"D\"\nend = \"to\"\nworking = \"{working}\"\nearth = \"bar\"\n"
        ),
    );
    assert_eq!(severity(&json, "surge-working", "S").as_deref(), expected);
}

#[rstest]
#[case("earth = \"bar\"", "earth = \"bar\"", [None, None])]
#[case("", "earth = \"bar\"", [Some("warn"), None])]
#[case("earth = \"bar\"", "earth = \"other\"", [None, Some("warn")])]
fn surge_parts_of_a_box_lead_to_one_earth(
    #[case] first: &str,
    #[case] second: &str,
    #[case] expected: [Option<&str>; 2],
) {
    let json = pair(
        "resistance = \"1 ohm\"",
        &format!(
            "[device.light]\n[run.L]\nfrom = \"hub\"\nto = \"light\"\nresistance = \"1 ohm\"\n[surge.S1]\nline = \"P\"\nend = \"to\"\n{first}\n[surge.S2]\nline = \"L\"\nend = \"from\"\n{second}\n"
        ),
    );
    let found = ["S1", "S2"].map(|name| severity(&json, "surge-earth", name));
    assert_eq!(found.each_ref().map(Option::as_deref), expected);
}

#[test]
fn lines_from_outdoors_without_a_part() {
    let without = pair("resistance = \"1 ohm\"", "");
    for thing in ["psu", "hub"] {
        let found = severity(&without, "surge-missing", thing);
        assert_eq!(found.as_deref(), Some("warn"), "{thing}");
    }
    // One end has one now.
    let part = "[surge.S]\nline = \"P\"\nend = \"to\"\nearth = \"bar\"\n";
    let json = pair("resistance = \"1 ohm\"", part);
    assert_eq!(finding(&json, "surge-missing", "hub"), None);
    assert!(finding(&json, "surge-missing", "psu").is_some());
    // Indoors nothing comes in.
    let json = solved(
        "[supply.psu]\nvoltage = \"12 V\"\n[device.hub]\nkind = \"hub\"\ndraw = { idle = \"1 A\" }\n[run.P]\nfrom = \"psu\"\nto = \"hub\"\nresistance = \"1 ohm\"\nroute = \"indoor\"\n",
    );
    assert_eq!(finding(&json, "surge-missing", "hub"), None);
}
