//! Fuses where current leaves a supply, and what a short takes with it.

use rstest::rstest;

use crate::battery::fixes;
use crate::judged::{message, severity, solved};

/// A supply with two runs, the second a lock's outdoors; parts are put in by name.
fn site(supply: &str, w1: &str, w2: &str, more: &str) -> serde_json::Value {
    solved(&format!(
        r#"
[supply.psu]
voltage = "24 V"
current = "5 A"
{supply}
[device.hub]
kind = "hub"
draw = {{ idle = "0.2 A" }}
[device.lock]
draw = {{ idle = "0.5 A" }}
[junction.jb]
[run.W1]
from = "psu"
to = "jb"
resistance = "0.2 ohm"
{w1}
[run.W2]
from = "jb"
to = "lock"
resistance = "0.2 ohm"
route = "outdoor"
{w2}
[run.W3]
from = "jb"
to = "hub"
resistance = "0.2 ohm"
{more}
"#
    ))
}

const FUSES: &str = "[fuse.F1]\ncurrent = \"3 A\"\n[fuse.F2]\ncurrent = \"1 A\"\n";

#[rstest]
// A sketch that says neither where things are nor where fuses are is not asked.
#[case("", "", "", None)]
#[case("place = \"hut\"", "", "", Some("ask"))]
#[case("place = \"hut\"\nclass = \"class 2\"", "", "", None)]
#[case(
    "place = \"hut\"\nlimit = \"hard\"\nlimit_current = \"6 A\"",
    "",
    "",
    None
)]
#[case("place = \"hut\"\nlimit = \"none\"", "", "", Some("ask"))]
#[case("", "", FUSES, Some("warn"))]
#[case("class = \"class 2\"", "", FUSES, None)]
#[case("", "through = \"F1\"", FUSES, None)]
#[case(
    "[supply.psu.battery]\ncapacity = \"7 Ah\"\nfuse = \"10 A\"",
    "",
    FUSES,
    None
)]
#[case(
    "[supply.psu.battery]\ncapacity = \"7 Ah\"\nfuse = \"none\"",
    "",
    FUSES,
    Some("warn")
)]
fn a_run_leaves_its_supply_limited(
    #[case] supply: &str,
    #[case] w1: &str,
    #[case] more: &str,
    #[case] expected: Option<&str>,
) {
    let json = site(supply, w1, "", more);
    assert_eq!(severity(&json, "unfused-run", "psu").as_deref(), expected);
}

#[rstest]
#[case("hut", "hut", None)]
#[case("hut", "gate", Some("F1 of W1 is at gate, and psu at hut"))]
fn a_fuse_at_another_place_is_not_at_the_source(
    #[case] of: &str,
    #[case] at: &str,
    #[case] words: Option<&str>,
) {
    let fuse = format!("[fuse.F1]\ncurrent = \"3 A\"\nplace = \"{at}\"\n");
    let json = site(&format!("place = \"{of}\""), "through = \"F1\"", "", &fuse);
    let told = words.map(|_| message(&json, "unfused-run", "psu"));
    assert_eq!(
        told.is_some(),
        severity(&json, "unfused-run", "psu").is_some()
    );
    if let (Some(told), Some(words)) = (told, words) {
        assert!(told.contains(words), "{told}");
    }
    // What the numbers tell is not asked of a person as well.
    let asked = severity(&json, "open-questions", "F1").is_some()
        && message(&json, "open-questions", "F1").contains("fuse-at-source");
    assert_eq!(asked, words.is_none());
}

/// A part sits at the end that `from` names.
#[test]
fn a_run_that_is_written_towards_its_supply_has_its_fuse_at_the_far_end() {
    let json = solved(
        r#"
[supply.psu]
voltage = "24 V"
current = "5 A"
[device.hub]
draw = { idle = "0.2 A" }
[fuse.F1]
current = "3 A"
[run.W1]
from = "hub"
to = "psu"
resistance = "0.2 ohm"
through = "F1"
"#,
    );
    let told = message(&json, "unfused-run", "psu");
    assert!(told.contains("F1 sits at the far end of W1"), "{told}");
}

#[rstest]
#[case("", "", "", Some("warn"))]
// A fuse of the whole lies before both.
#[case("", "through = \"F1\"", "", Some("warn"))]
#[case("", "", "through = \"F2\"", None)]
fn a_short_outdoors_takes_the_hub_down_unless_it_has_a_fuse_of_its_own(
    #[case] supply: &str,
    #[case] w1: &str,
    #[case] w2: &str,
    #[case] expected: Option<&str>,
) {
    let json = site(supply, w1, w2, FUSES);
    assert_eq!(
        severity(&json, "shared-limiter", "hub").as_deref(),
        expected
    );
}

#[rstest]
#[case("outdoor", "psu", Some("warn"))]
#[case("buried", "psu", Some("warn"))]
#[case("indoor", "psu", None)]
#[case("outdoor", "psu.out2", None)]
fn outputs_of_their_own_and_runs_indoors_keep_their_shorts(
    #[case] route: &str,
    #[case] from: &str,
    #[case] expected: Option<&str>,
) {
    let json = solved(&format!(
        r#"
[supply.psu]
voltage = "24 V"
current = "5 A"
class = "class 2"
output.out1 = {{ current = "1 A" }}
output.out2 = {{ current = "1 A" }}
[device.hub]
kind = "hub"
draw = {{ idle = "0.2 A" }}
[device.lock]
draw = {{ idle = "0.5 A" }}
[run.W1]
from = "psu"
to = "hub"
resistance = "0.2 ohm"
[run.W2]
from = "{from}"
to = "lock"
resistance = "0.2 ohm"
route = "{route}"
"#
    ));
    assert_eq!(
        severity(&json, "shared-limiter", "hub").as_deref(),
        expected
    );
}

// 18 AWG of 7 A behind a fuse of 10 A. 6 A carry 4.5 A for good.
#[rstest]
#[case("1 A", &["F1 of 6 A (was 10 A), which still carries its 1.00 A", "W1 in 14/2 (was thin)"])]
#[case("4.49 A", &["F1 of 6 A (was 10 A), which still carries its 4.49 A", "W1 in 14/2 (was thin)"])]
#[case("4.51 A", &["W1 in 14/2 (was thin)"])]
fn a_smaller_fuse_is_offered_where_it_carries_the_load(
    #[case] amps: &str,
    #[case] expected: &[&str],
) {
    let text = format!(
        r#"format = 1
[supply.psu]
voltage = "24 V"
current = "12 A"
[cable.thin]
size = "18 AWG"
conductors = 2
current = "7 A"
[device.hub]
draw = {{ idle = "{amps}" }}
[fuse.F1]
current = "10 A"
[run.W1]
from = "psu"
to = "hub"
cable = "thin"
length = "2 m"
through = "F1"
"#
    );
    assert_eq!(fixes(&text, "fuse-conductor"), expected);
}

/// 12 V / (0.35 + 2 x 1.9) ohm = 2.9 A do not blow 3 A for certain; 1 A they do, and as an electronic
/// limit 2.5 A.
#[rstest]
#[case("3 A", "0.5 A", &["F1 of 1 A (was 3 A), which still carries its 0.50 A"])]
#[case("2.5 A", "0.9 A", &["F1 as an electronic limiter of 2.5 A, where one exists"])]
fn a_fuse_that_a_far_short_leaves_whole_is_made_smaller_or_electronic(
    #[case] rated: &str,
    #[case] amps: &str,
    #[case] expected: &[&str],
) {
    let text = format!(
        r#"format = 1
[supply.psu]
voltage = "12 V"
current = "12 A"
resistance = "0.35 ohm"
[device.hub]
draw = {{ idle = "{amps}" }}
[fuse.F1]
current = "{rated}"
[run.W1]
from = "psu"
to = "hub"
resistance = "1.9 ohm"
through = "F1"
"#
    );
    assert_eq!(fixes(&text, "fuse-short"), expected);
}

/// 0.5 A leave through W2 and 0.7 A through W1: fuses of 1 A carry both for good.
#[test]
fn fuses_are_offered_where_the_runs_start() {
    let text = |more: &str, outdoor: &str| {
        format!(
            r#"format = 1
[supply.psu]
voltage = "24 V"
current = "5 A"
{more}
[device.hub]
kind = "hub"
draw = {{ idle = "0.2 A" }}
[device.lock]
draw = {{ idle = "0.5 A" }}
[junction.jb]
[run.W1]
from = "psu"
to = "jb"
resistance = "0.2 ohm"
[run.W2]
from = "jb"
to = "lock"
resistance = "0.2 ohm"
route = "{outdoor}"
[run.W3]
from = "jb"
to = "hub"
resistance = "0.2 ohm"
"#
        )
    };
    assert_eq!(
        fixes(&text("class = \"class 2\"", "outdoor"), "shared-limiter"),
        ["a fuse F1 of 1 A where W2 starts"]
    );
    assert_eq!(
        fixes(&text("place = \"hut\"", "indoor"), "unfused-run"),
        ["a fuse F1 of 1 A where W1 starts"]
    );
}
