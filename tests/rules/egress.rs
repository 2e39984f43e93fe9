//! Ways out, and controls of gates.

use rstest::rstest;

use super::relay::lock;
use super::{asks, finding, grade};

const RELAY: &str = "current = \"9 A\", voltage = \"60 V\"";
/// A door with everything that lets people out.
const GOOD: &str = "for = \"people\"
way_out = true
hand_release = false
sensor = true
button = true
button_height = \"44 in\"
button_distance = \"5 ft\"
button_holds = \"30 s\"
fire_release = true
";

fn on_door(keys: &str, door: &str) -> String {
    let keys = format!("door = \"walk\"\nclamp = \"varistor\"\n{keys}");
    lock(RELAY, &keys, &format!("[door.walk]\n{door}"))
}

#[test]
fn a_door_with_all_releases_passes() {
    let text = on_door("", GOOD);
    for code in [
        "exit-locked",
        "exit-release",
        "exit-held",
        "exit-fire",
        "exit-unknown",
    ] {
        assert_eq!(grade(&text, code, "lock"), None, "{code}");
        assert_eq!(grade(&text, code, "walk"), None, "{code}");
    }
    assert_eq!(grade(&text, "exit-button", "walk"), None);
}

#[rstest]
#[case("sensor = true", "sensor = false", "exit-release")]
#[case("button = true", "button = false", "exit-release")]
#[case("button = true", "button = false", "exit-held")]
#[case("fire_release = true", "fire_release = false", "exit-fire")]
fn each_release_that_is_missing_stops(#[case] yes: &str, #[case] no: &str, #[case] code: &str) {
    let text = on_door("", &GOOD.replace(yes, no));
    assert_eq!(grade(&text, code, "lock").as_deref(), Some("stop"));
    // Nobody leaves by it: nothing to release.
    let text = on_door(
        "",
        &GOOD
            .replace(yes, no)
            .replace("way_out = true", "way_out = false"),
    );
    assert_eq!(grade(&text, code, "lock"), None);
    // An unanswered way out counts as one.
    let text = on_door("", &GOOD.replace(yes, no).replace("way_out = true\n", ""));
    assert_eq!(grade(&text, code, "lock").as_deref(), Some("stop"));
    assert!(asks(&text, "exit-unknown", "walk", "way_out"));
}

#[rstest]
#[case("sensor = true\n", "sensor")]
#[case("button = true\n", "button (a button")]
#[case("fire_release = true\n", "fire_release")]
#[case("button_height = \"44 in\"\n", "button_height")]
#[case("button_distance = \"5 ft\"\n", "button_distance")]
#[case("button_holds = \"30 s\"\n", "button_holds")]
fn each_answer_that_is_missing_is_asked_and_never_passes(#[case] line: &str, #[case] words: &str) {
    let text = on_door("", &GOOD.replace(line, ""));
    assert!(asks(&text, "exit-unknown", "walk", words));
}

#[test]
fn a_handle_that_opens_by_hand_needs_no_button() {
    let door = "way_out = true\nhand_release = true\nfire_release = true\n";
    let text = on_door("", door);
    for code in ["exit-release", "exit-held"] {
        assert_eq!(grade(&text, code, "lock"), None);
    }
    assert_eq!(finding(&text, "exit-unknown", "walk"), None);
}

#[rstest]
#[case("44 in", "40 in", None)]
#[case("44 in", "39.9 in", Some("fail"))]
#[case("44 in", "48 in", None)]
#[case("44 in", "48.1 in", Some("fail"))]
#[case("5 ft", "5.1 ft", Some("fail"))]
#[case("30 s", "29 s", Some("fail"))]
fn the_button(#[case] good: &str, #[case] other: &str, #[case] found: Option<&str>) {
    let text = on_door("", &GOOD.replace(good, other));
    assert_eq!(grade(&text, "exit-button", "walk").as_deref(), found);
}

#[rstest]
#[case("locked", "hand_release = false", Some("stop"))]
#[case("locked", "hand_release = true", None)]
#[case("unlocked", "hand_release = false", None)]
fn a_lock_that_stays_locked(#[case] state: &str, #[case] hand: &str, #[case] found: Option<&str>) {
    let door = GOOD.replace("hand_release = false", hand);
    let text = on_door(&format!("without_power = \"{state}\""), &door)
        .replace("electromagnetic lock", "electric strike");
    assert_eq!(grade(&text, "exit-locked", "lock").as_deref(), found);
}

#[test]
fn a_strike_that_says_nothing_is_asked() {
    for keys in ["", "without_power = \"unknown\""] {
        let text = on_door(keys, GOOD).replace("electromagnetic lock", "electric strike");
        assert!(asks(&text, "exit-unknown", "lock", "without_power"));
    }
    let text = on_door(
        "without_power = \"locked\"",
        &GOOD.replace("hand_release = false\n", ""),
    )
    .replace("electromagnetic lock", "electric strike");
    assert!(asks(&text, "exit-unknown", "walk", "hand_release"));
}

/// A dead hub lets its relays fall: only the contact that is open at rest lets go.
#[rstest]
#[case("hub.k1.nc", Some("stop"))]
#[case("hub.k1.no", None)]
#[case("hub.k1", None)]
fn a_hub_that_dies(#[case] contact: &str, #[case] found: Option<&str>) {
    let text =
        on_door("", &GOOD.replace("button = true", "button = false")).replace("hub.k1.nc", contact);
    assert_eq!(grade(&text, "exit-held", "lock").as_deref(), found);
}

#[test]
fn what_a_dead_hub_feeds_is_dead() {
    let door = GOOD.replace("button = true", "button = false");
    let text = on_door("", &door).replace(
        "from = \"hub\"\nto = \"lock\"",
        "from = \"aux\"\nto = \"lock\"",
    ) + "[supply.aux]\nvoltage = \"12 V\"\nfed_by = \"hub\"\n";
    assert_eq!(grade(&text, "exit-held", "lock"), None);
}

#[test]
fn a_lock_without_a_door_is_asked() {
    let text = lock(RELAY, "clamp = \"varistor\"", "");
    assert!(asks(&text, "exit-unknown", "lock", "door"));
    assert!(asks(&text, "exit-unknown", "lock", "when the hub dies"));
}

#[rstest]
#[case("control_distance = \"6 ft\"", None)]
#[case("control_distance = \"5.9 ft\"", Some("warn"))]
#[case("", Some("ask"))]
fn controls_out_of_reach(#[case] key: &str, #[case] found: Option<&str>) {
    let text = on_door(
        "",
        &format!("{GOOD}[door.drive]\nfor = \"vehicles\"\n{key}\n"),
    );
    let graded = grade(&text, "control-near", "drive");
    let asked = finding(&text, "exit-unknown", "drive").is_some();
    match found {
        Some("ask") => assert!(graded.is_none() && asked),
        other => assert_eq!(graded.as_deref(), other),
    }
}

#[test]
fn people_have_a_way_of_their_own() {
    let drive = "[door.drive]\nfor = \"vehicles\"\ncontrol_distance = \"8 ft\"\n";
    let alone = lock(RELAY, "", drive);
    assert_eq!(
        grade(&alone, "people-route", "drive").as_deref(),
        Some("warn")
    );
    let both = on_door("", &format!("{GOOD}{drive}"));
    assert_eq!(grade(&both, "people-route", "drive"), None);
    // Who looked has said so, and a no is a finding of its own.
    for (answer, no) in [("true", None), ("false", Some("warn"))] {
        let said = format!(
            "[device.gate]\nkind = \"operator\"\nanswers = {{ walkway = {answer} }}\n{drive}"
        );
        let said = lock(RELAY, "", &said);
        assert_eq!(grade(&said, "people-route", "drive"), None);
        assert_eq!(grade(&said, "walkway", "gate").as_deref(), no);
    }
}
