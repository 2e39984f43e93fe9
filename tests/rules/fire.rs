//! A fire alarm whose relay is named: whether anything still feeds the lock once it moved.

use farend::site::{Edit, Project};
use rstest::rstest;

use super::{finding, grade};
use crate::battery::fixes;

/// A supply and a fire panel; a lock on a hub's relay. `way` is what the lock's run passes.
fn alarmed(way: &str, more: &str) -> String {
    format!(
        "format = 1
[supply.psu]
voltage = \"24 V\"
current = \"3 A\"
[device.fire]
kind = \"panel\"
on = \"psu\"
relay.alarm = {{ current = \"9 A\", voltage = \"90 V\" }}
[device.hub]
kind = \"hub\"
on = \"psu\"
draw = {{ idle = \"1 W\" }}
relay.k1 = {{ current = \"9 A\", voltage = \"90 V\" }}
[device.lock]
kind = \"electromagnetic lock\"
door = \"walk\"
clamp = \"varistor\"
draw = {{ idle = \"96 ohm\" }}
[door.walk]
way_out = true
hand_release = true
fire_release = \"fire.alarm\"
[run.LK]
from = \"psu\"
to = \"lock\"
resistance = \"0.1 ohm\"
through = {way}
{more}"
    )
}

const SERIES: &str = "[\"hub.k1\", \"fire.alarm.nc\"]";
/// A second pair to the lock.
const AROUND: &str = "[run.L2]
from = \"psu\"
to = \"lock\"
resistance = \"0.1 ohm\"
through = \"hub.k1\"
";

fn message(text: &str) -> String {
    let found = finding(text, "exit-fire", "lock").unwrap();
    assert_eq!(found["severity"], "stop");
    found["message"].as_str().unwrap().to_owned()
}

#[test]
fn a_contact_in_series_lets_go_and_a_way_around_it_does_not() {
    assert_eq!(grade(&alarmed(SERIES, ""), "exit-fire", "lock"), None);
    // An alarm that lets its relay fall: the other contact.
    let falls = SERIES.replace(".nc", ".no");
    assert_eq!(grade(&alarmed(&falls, ""), "exit-fire", "lock"), None);
    let around = message(&alarmed(SERIES, AROUND));
    assert!(
        around.contains("psu still feeds it by hub.k1, L2"),
        "{around}"
    );
    let nowhere = message(&alarmed("\"hub.k1\"", ""));
    assert!(nowhere.contains("by hub.k1, LK"), "{nowhere}");
    // One contact each way: one of the two is closed, however the relay stands.
    let both = AROUND.replace("hub.k1", "fire.alarm.no");
    message(&alarmed(SERIES, &both));
}

#[test]
fn the_contact_goes_into_every_run_that_ends_at_the_lock() {
    let all = fixes(&alarmed("\"hub.k1\"", AROUND), "exit-fire");
    assert_eq!(all, ["fire.alarm.nc in LK and L2"]);
}

/// The alarm cuts what charges a battery; the battery itself lies behind the contact.
#[rstest]
#[case("", None)]
#[case(
    "[supply.backup.battery]\ncapacity = \"7 Ah\"\nfuse = \"5 A\"\n",
    Some("stop")
)]
fn a_battery_behind_the_contact_holds_the_lock(
    #[case] battery: &str,
    #[case] expected: Option<&str>,
) {
    let more = format!(
        "[device.charger]
[run.CH]
from = \"psu\"
to = \"charger\"
resistance = \"0.1 ohm\"
through = \"fire.alarm.nc\"
[supply.backup]
voltage = \"24 V\"
fed_by = \"charger\"
{battery}"
    );
    let text = alarmed("\"hub.k1\"", &more).replace(
        "from = \"psu\"\nto = \"lock\"",
        "from = \"backup\"\nto = \"lock\"",
    );
    assert_eq!(grade(&text, "exit-fire", "lock").as_deref(), expected);
    if expected.is_some() {
        assert!(message(&text).contains("the battery of backup"));
    }
}

/// An input that releases, worked by the alarm: of the supply it lets go, of the hub it only asks.
#[test]
fn an_input_that_releases() {
    let by = |input: &str, to: &str| {
        let more = format!(
            "[{input}.input.fire]
does = \"release\"
[run.FA]
from = \"fire\"
to = \"{to}.fire\"
resistance = \"0 ohm\"
carries = \"contact\"
through = \"fire.alarm.no\"
"
        );
        alarmed("\"hub.k1\"", &more)
    };
    assert_eq!(grade(&by("supply.psu", "psu"), "exit-fire", "lock"), None);
    let asked = message(&by("device.hub", "hub"));
    assert!(asked.contains("the alarm only asks hub"), "{asked}");
    let other = by("supply.psu", "psu").replace("\"release\"", "\"other\"");
    message(&other);
}

#[test]
fn a_relay_of_the_hub_is_no_alarm() {
    let text = alarmed(SERIES, "").replace("\"fire.alarm\"", "\"hub.k1\"");
    assert!(message(&text).contains("hub is access control itself"));
}

/// Asked only where the way of the alarm cannot be followed.
#[rstest]
#[case("\"fire.alarm\"", false)]
#[case("true", true)]
fn whether_the_battery_is_cut_off_too(#[case] release: &str, #[case] asked: bool) {
    let battery = "[supply.psu.battery]\ncapacity = \"7 Ah\"\nfuse = \"5 A\"\n";
    let text = alarmed(SERIES, battery).replace("\"fire.alarm\"\n", &format!("{release}\n"));
    let open = finding(&text, "open-questions", "psu");
    let asks = |f: &serde_json::Value| f["message"].as_str().unwrap().contains("fire-cuts-battery");
    assert_eq!(open.as_ref().is_some_and(asks), asked);
    assert_eq!(grade(&text, "exit-fire", "lock"), None);
}

/// A dead hub is no fire: the alarm's relay stays as it stands.
#[test]
fn an_alarm_that_holds_its_relay_pulled_is_no_dead_hub() {
    let way = "[\"hub.k1.nc\", \"fire.alarm.no\"]";
    let text = alarmed(way, "").replace(
        "hand_release = true",
        "hand_release = false\nbutton = false\nsensor = true",
    );
    assert_eq!(grade(&text, "exit-held", "lock").as_deref(), Some("stop"));
}

/// On the screen the key takes yes, no and the name of a relay, each as the file wants it.
#[rstest]
#[case("true", "fire_release = true")]
#[case("no", "fire_release = false")]
#[case("fire.alarm", "fire_release = \"fire.alarm\"")]
fn the_key_takes_a_flag_or_a_relay(#[case] typed: &str, #[case] line: &str) {
    let mut project = Project::open(&alarmed(SERIES, "")).unwrap();
    let edit = Edit::set("door", "walk", "fire_release", typed);
    project.apply(&edit).unwrap();
    assert!(project.text().contains(line), "{}", project.text());
}
