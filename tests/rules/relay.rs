//! Contacts, coils, inputs.

use approx::assert_abs_diff_eq;
use rstest::rstest;

use super::{asks, finding, grade};
use crate::battery::fixes;

/// 12 V, a hub with one relay, and a lock of 24 ohm behind its contact at rest. Nothing has ohms.
pub(super) fn lock(relay: &str, lock: &str, more: &str) -> String {
    format!(
        "format = 1
[supply.psu]
voltage = \"12 V\"
current = \"3 A\"
[device.hub]
kind = \"hub\"
draw = {{ idle = \"1 W\" }}
relay.k1 = {{ {relay} }}
[device.lock]
kind = \"electromagnetic lock\"
draw = {{ idle = \"24 ohm\" }}
{lock}
[run.W1]
from = \"psu\"
to = \"hub\"
resistance = \"0 ohm\"
[run.W2]
from = \"hub\"
to = \"lock\"
resistance = \"0 ohm\"
through = \"hub.k1.nc\"
{more}"
    )
}

// 0.5 A of coil: a clamp leaves half of the rating, none three tenths.
#[rstest]
#[case("1.01 A", "clamp = \"varistor\"", None)]
#[case("0.99 A", "clamp = \"varistor\"", Some(1.0))]
#[case("1.67 A", "clamp = \"none\"", None)]
#[case("1.66 A", "clamp = \"none\"", Some(0.5 / 0.3))]
#[case("0.99 A", "", Some(1.0))]
#[case("1.66 A", "", None)]
fn a_contact_for_its_kind_of_load(
    #[case] rated: &str,
    #[case] clamp: &str,
    #[case] needed: Option<f64>,
) {
    let text = lock(
        &format!("current = \"{rated}\", voltage = \"60 V\""),
        clamp,
        "",
    );
    let found = finding(&text, "contact-load", "hub.k1.nc");
    assert_eq!(found.is_some(), needed.is_some());
    if let (Some(found), Some(needed)) = (found, needed) {
        assert_eq!(found["severity"], "fail");
        assert_abs_diff_eq!(found["value"].as_f64().unwrap(), needed, epsilon = 1e-5);
    }
}

#[test]
fn a_greater_rating_cures_a_contact() {
    let text = lock(
        "current = \"0.9 A\", voltage = \"60 V\"",
        "clamp = \"varistor\"\nclamp_voltage = \"30 V\"",
        "",
    );
    assert_eq!(
        fixes(&text, "contact-load"),
        ["hub.k1.nc rated 1 A, where one exists"]
    );
}

// A light takes ten times its amps when it is cold; electronics may, and are asked.
#[rstest]
#[case("kind = \"light\"\ndraw = { idle = \"0.1 A\" }", "1.01 A", None)]
#[case("kind = \"light\"\ndraw = { idle = \"0.1 A\" }", "0.9 A", Some("fail"))]
#[case("kind = \"heater\"\ndraw = { idle = \"120 ohm\" }", "0.101 A", None)]
#[case(
    "kind = \"heater\"\ndraw = { idle = \"120 ohm\" }",
    "0.09 A",
    Some("fail")
)]
#[case("kind = \"camera\"\ndraw = { idle = \"0.1 A\" }", "0.9 A", Some("ask"))]
#[case("kind = \"camera\"\ndraw = { idle = \"0.1 A\" }", "1.01 A", None)]
fn other_loads(#[case] load: &str, #[case] rated: &str, #[case] found: Option<&str>) {
    let text = format!(
        "format = 1
[supply.psu]
voltage = \"12 V\"
[device.hub]
relay.k1 = {{ current = \"{rated}\", voltage = \"30 V\" }}
[device.load]
{load}
[run.W1]
from = \"psu\"
to = \"hub\"
resistance = \"0 ohm\"
[run.W2]
from = \"hub\"
to = \"load\"
resistance = \"0 ohm\"
through = \"hub.k1.no\"
"
    );
    let failed = grade(&text, "contact-load", "hub.k1.no");
    let asked = asks(&text, "relay-unknown", "load", "inrush");
    match found {
        Some("ask") => assert!(failed.is_none() && asked),
        other => assert!(failed.as_deref() == other && !asked, "{failed:?} {asked}"),
    }
}

#[rstest]
#[case("voltage = \"12 V\"", "", None)]
#[case("voltage = \"11.9 V\"", "", Some("fail"))]
#[case("ac_voltage = \"24 V\"", "", Some("ask"))]
#[case("voltage = \"30 V\"", "kind = \"ac\"", Some("ask"))]
#[case("ac_voltage = \"12 V\"", "kind = \"ac\"", None)]
#[case("ac_voltage = \"11 V\"", "kind = \"ac\"", Some("fail"))]
fn volts_of_their_kind(#[case] relay: &str, #[case] supply: &str, #[case] found: Option<&str>) {
    let text = lock(
        &format!("current = \"3 A\", {relay}"),
        "clamp = \"varistor\"",
        "",
    )
    .replace("current = \"3 A\"\n", &format!("{supply}\n"));
    let failed = grade(&text, "contact-volts", "hub.k1.nc");
    let asked = asks(&text, "relay-unknown", "hub.k1.nc", "voltage (the volts");
    match found {
        Some("ask") => assert!(failed.is_none() && asked),
        other => assert!(failed.as_deref() == other && !asked, "{failed:?} {asked}"),
    }
}

#[rstest]
#[case("clamp = \"none\"", Some("fail"))]
#[case("clamp = \"diode\"", None)]
#[case("clamp = \"diode\"\nclamp_at = \"contact\"", Some("fail"))]
#[case("clamp = \"varistor\"\nclamp_at = \"contact\"", None)]
#[case("clamp = \"unknown\"", Some("ask"))]
#[case("", Some("ask"))]
fn a_coil_has_a_clamp(#[case] clamp: &str, #[case] found: Option<&str>) {
    let text = lock("current = \"9 A\", voltage = \"60 V\"", clamp, "");
    let failed = grade(&text, "clamp-missing", "lock");
    let asked = asks(&text, "relay-unknown", "lock", "clamp (what suppresses");
    match found {
        Some("ask") => assert!(failed.is_none() && asked),
        other => assert!(failed.as_deref() == other && !asked, "{failed:?} {asked}"),
    }
}

#[test]
fn a_clamp_cures_a_bare_coil_where_the_contact_bears_it() {
    let bare = |volts: &str| {
        let relay = format!("current = \"9 A\", voltage = \"{volts}\"");
        lock(&relay, "clamp = \"none\"", "")
    };
    assert_eq!(
        fixes(&bare("60 V"), "clamp-missing"),
        [
            "lock with a two-way clamp of 18 V at its coil",
            "lock with a diode across its coil, cathode to plus"
        ]
    );
    assert_eq!(
        fixes(&bare("20 V"), "clamp-missing"),
        ["lock with a diode across its coil, cathode to plus"]
    );
}

// 12 V and 24.7 V of a diode and a zener of 24 V.
#[rstest]
#[case("36.7 V", "clamp_voltage = \"24.7 V\"", None)]
#[case("36.6 V", "clamp_voltage = \"24.7 V\"", Some(36.7))]
#[case("30 V", "clamp_voltage = \"24.7 V\"\nclamp_at = \"contact\"", None)]
#[case(
    "24.6 V",
    "clamp_voltage = \"24.7 V\"\nclamp_at = \"contact\"",
    Some(24.7)
)]
fn the_contact_bears_the_clamp(
    #[case] rated: &str,
    #[case] clamp: &str,
    #[case] over: Option<f64>,
) {
    let text = lock(
        &format!("current = \"9 A\", voltage = \"{rated}\""),
        &format!("clamp = \"diode and zener\"\n{clamp}"),
        "",
    );
    let found = finding(&text, "clamp-volts", "hub.k1.nc");
    let value = found.map(|f| f["value"].as_f64().unwrap());
    assert_eq!(value.is_some(), over.is_some());
    if let (Some(value), Some(over)) = (value, over) {
        assert_abs_diff_eq!(value, over, epsilon = 1e-9);
    }
}

#[test]
fn a_zener_without_volts_is_asked() {
    let text = lock(
        "current = \"9 A\", voltage = \"30 V\"",
        "clamp = \"diode and zener\"",
        "",
    );
    assert!(asks(&text, "relay-unknown", "lock", "clamp_voltage"));
}

#[rstest]
#[case("kind = \"ac\"", "clamp = \"diode\"", Some("stop"))]
#[case("kind = \"ac\"", "clamp = \"diode and zener\"", Some("stop"))]
#[case("kind = \"ac\"", "clamp = \"varistor\"", None)]
#[case("", "clamp = \"diode\"", None)]
#[case("", "clamp = \"diode\"\ncoil = \"ac\"", Some("stop"))]
fn no_diode_on_ac(#[case] supply: &str, #[case] clamp: &str, #[case] found: Option<&str>) {
    let text = lock(
        "current = \"9 A\", voltage = \"60 V\", ac_voltage = \"60 V\"",
        clamp,
        "",
    )
    .replace("current = \"3 A\"\n", &format!("{supply}\n"));
    assert_eq!(grade(&text, "diode-on-ac", "lock").as_deref(), found);
}

// 100000 operations at 400 a day are 250 days; a bare coil wears ten times as fast.
#[rstest]
#[case(100_000, 400, "varistor", "warn", 250.0)]
#[case(100_000, 400, "none", "warn", 25.0)]
#[case(1_000_000, 400, "varistor", "note", 2500.0)]
#[case(109_400, 100, "varistor", "warn", 1094.0)]
#[case(109_600, 100, "varistor", "note", 1096.0)]
fn contacts_wear(
    #[case] life: u32,
    #[case] cycles: u32,
    #[case] clamp: &str,
    #[case] severity: &str,
    #[case] days: f64,
) {
    let text = lock(
        &format!("current = \"9 A\", voltage = \"60 V\", life = {life}"),
        &format!("clamp = \"{clamp}\"\ncycles = {cycles}"),
        "",
    );
    let found = finding(&text, "contact-life", "hub.k1.nc").unwrap();
    assert_eq!(found["severity"], severity);
    assert_abs_diff_eq!(found["value"].as_f64().unwrap(), days, epsilon = 1e-9);
}

#[test]
fn half_of_a_life_is_asked_for_the_other() {
    let text = lock("life = 100000", "clamp = \"varistor\"", "");
    assert!(asks(&text, "relay-unknown", "lock", "cycles"));
    let text = lock("current = \"9 A\"", "clamp = \"varistor\"\ncycles = 4", "");
    assert!(asks(&text, "relay-unknown", "hub.k1.nc", "life"));
}

/// A strike that the hub pulls for a while.
fn strike(relay: &str, keys: &str) -> String {
    lock(relay, keys, "")
        .replace("electromagnetic lock", "electric strike")
        .replace("k1.nc", "k1.no")
}

// 5 s at one go; 864 times 5 s are 5 % of a day.
#[rstest]
#[case("on_time = \"5 s\"", Some(""))]
#[case("on_time = \"4.9 s\"", Some("fail"))]
#[case("duty = \"5 %\"\ncycles = 864", Some(""))]
#[case("duty = \"4.9 %\"\ncycles = 864", Some("fail"))]
#[case("duty = \"100 %\"", Some(""))]
#[case("duty = \"5 %\"", None)]
#[case("", None)]
fn a_coil_is_made_for_so_long(#[case] keys: &str, #[case] found: Option<&str>) {
    let text = strike(
        "current = \"9 A\", voltage = \"60 V\", pulse = \"5 s\"",
        keys,
    );
    let graded = grade(&text, "coil-duty", "lock").unwrap_or_default();
    match found {
        Some(found) => assert_eq!(graded, found),
        None => {
            let asked = finding(&text, "relay-unknown", "lock").unwrap();
            let message = asked["message"].as_str().unwrap();
            assert!(graded.is_empty() && (message.contains("duty") || message.contains("cycles")));
        }
    }
}

#[test]
fn a_contact_at_rest_holds_a_coil_without_end() {
    let text = lock(
        "current = \"9 A\", voltage = \"60 V\"",
        "on_time = \"600 s\"",
        "",
    );
    assert_eq!(grade(&text, "coil-duty", "lock").as_deref(), Some("fail"));
    let text = strike(
        "current = \"9 A\", voltage = \"60 V\"",
        "on_time = \"600 s\"",
    );
    assert!(asks(&text, "relay-unknown", "hub.k1.no", "pulse"));
}

/// A hub whose relay closes an input of an operator.
fn opener(relay: &str, input: &str, more: &str) -> String {
    format!(
        "format = 1
[supply.gate]
voltage = \"24 V\"
input.open = {{ {input} }}
[device.hub]
kind = \"hub\"
draw = {{ idle = \"1 W\" }}
relay.k1 = {{ {relay} }}
[device.lamp]
kind = \"heater\"
draw = {{ idle = \"240 ohm\" }}
[run.W1]
from = \"gate\"
to = \"hub\"
resistance = \"0 ohm\"
[run.W2]
from = \"hub\"
to = \"gate.open\"
carries = \"contact\"
resistance = \"0 ohm\"
through = \"hub.k1.no\"
{more}"
    )
}

const GOOD: &str = "does = \"open\", voltage = \"24 V\", current = \"12 mA\", dry = true, shortest = \"0.2 s\", longest = \"2 s\"";
const GOLD: &str = "material = \"gold\", at_boot = \"rest\", pulse = \"0.5 s\"";

#[test]
fn a_good_input_says_nothing() {
    let text = opener(GOLD, GOOD, "");
    for code in [
        "wetted-input",
        "pulse-length",
        "boot-state",
        "safety-input",
        "contact-wetting",
    ] {
        assert_eq!(grade(&text, code, "gate.open"), None, "{code}");
    }
    assert_eq!(finding(&text, "relay-unknown", "gate.open"), None);
    assert_eq!(finding(&text, "relay-unknown", "hub.k1.no"), None);
}

#[test]
fn power_through_the_same_relay_wets_an_input() {
    let more = "[run.W3]
from = \"hub\"
to = \"lamp\"
resistance = \"0 ohm\"
through = \"hub.k1.nc\"
";
    let text = opener(GOLD, GOOD, more);
    assert_eq!(
        grade(&text, "wetted-input", "gate.open").as_deref(),
        Some("stop")
    );
    let text = opener(GOLD, &GOOD.replace("dry = true", "dry = false"), more);
    assert_eq!(grade(&text, "wetted-input", "gate.open"), None);
    let text = opener(GOLD, &GOOD.replace("dry = true, ", ""), more);
    assert!(asks(&text, "relay-unknown", "gate.open", "dry"));
}

#[rstest]
#[case("0.2 s", None)]
#[case("0.19 s", Some("fail"))]
#[case("2 s", None)]
#[case("2.1 s", Some("warn"))]
fn pulses(#[case] pulse: &str, #[case] found: Option<&str>) {
    let relay = GOLD.replace("0.5 s", pulse);
    let text = opener(&relay, GOOD, "");
    assert_eq!(grade(&text, "pulse-length", "gate.open").as_deref(), found);
}

#[rstest]
#[case("rest", "no", None)]
#[case("pulled", "no", Some("warn"))]
#[case("rest", "nc", Some("warn"))]
#[case("unknown", "no", Some("ask"))]
fn a_hub_that_starts(#[case] at_boot: &str, #[case] throw: &str, #[case] found: Option<&str>) {
    let relay = GOLD.replace("rest", at_boot);
    let text = opener(&relay, GOOD, "").replace("k1.no", &format!("k1.{throw}"));
    let graded = grade(&text, "boot-state", "gate.open");
    let asked = finding(&text, "relay-unknown", "hub.k1.no").is_some();
    match found {
        Some("ask") => assert!(graded.is_none() && asked),
        other => assert!(graded.as_deref() == other && !asked, "{graded:?} {asked}"),
    }
}

// 10 mA and 5 V keep silver clean.
#[rstest]
#[case("silver", "10 mA", "5 V", None)]
#[case("silver", "9.9 mA", "24 V", Some("warn"))]
#[case("silver", "20 mA", "4.9 V", Some("warn"))]
#[case("gold", "2 mA", "5 V", None)]
fn contacts_stay_clean(
    #[case] metal: &str,
    #[case] amps: &str,
    #[case] volts: &str,
    #[case] found: Option<&str>,
) {
    let relay = GOLD.replace("gold", metal);
    let input = GOOD.replace("12 mA", amps).replace("24 V", volts);
    let text = opener(&relay, &input, "");
    assert_eq!(
        grade(&text, "contact-wetting", "hub.k1.no").as_deref(),
        found
    );
}

#[test]
fn what_protects_people_is_no_input_for_a_hub() {
    for does in ["safety", "bypass"] {
        let input = GOOD.replace("\"open\"", &format!("\"{does}\""));
        let text = opener(GOLD, &input, "");
        assert_eq!(
            grade(&text, "safety-input", "gate.open").as_deref(),
            Some("stop")
        );
    }
}

/// A hub asks a gate to open, and stops it; what else it may ask runs people over.
#[rstest]
#[case("open", None)]
#[case("stop", None)]
#[case("hold open", Some("warn"))]
#[case("close", Some("stop"))]
#[case("step", Some("stop"))]
#[case("reset", Some("stop"))]
fn a_hub_opens_a_gate_and_no_more(#[case] does: &str, #[case] expected: Option<&str>) {
    let input = GOOD.replace("\"open\"", &format!("\"{does}\""));
    let text = opener(GOLD, &input, "");
    let found = grade(&text, "more-than-open", "gate.open");
    assert_eq!(found.as_deref(), expected);
    let of_a_door = text.replace("[device.gate]\n", "[device.gate]\nkind = \"controller\"\n");
    if of_a_door != text {
        assert_eq!(grade(&of_a_door, "more-than-open", "gate.open"), None);
    }
}

/// What the file says of every input that is wired is not asked once more.
#[test]
fn an_input_that_says_what_it_does_is_not_asked_about() {
    let gate = |input: &str, answers: &str| {
        format!(
            "format = 1
[supply.psu]
voltage = \"24 V\"
[device.hub]
kind = \"hub\"
on = \"psu\"
relay.k1 = {{}}
[device.gate]
kind = \"operator\"
on = \"psu\"
{answers}
[device.gate.input.open]
{input}
[run.W2]
from = \"hub\"
to = \"gate\"
carries = \"contact\"
resistance = \"0 ohm\"
through = \"hub.k1.no\"
"
        )
    };
    let asks = |text: &str| {
        let open = finding(text, "open-questions", "gate").unwrap();
        open["message"].as_str().unwrap().contains("open-only")
    };
    assert!(!asks(&gate("does = \"open\"", "")));
    let silent = gate("", "");
    assert!(asks(&silent));
    assert!(super::asks(&silent, "relay-unknown", "gate.open", "does"));
    // Somebody's no stands all the same.
    let no = gate("does = \"open\"", "answers = { open-only = false }");
    assert_eq!(grade(&no, "open-only", "gate").as_deref(), Some("stop"));
    // A run that passes no contact says not which relay it is.
    let unnamed = gate("does = \"open\"", "").replace("through = \"hub.k1.no\"\n", "");
    assert!(super::asks(&unnamed, "relay-unknown", "W2", "through"));
}

#[test]
fn an_input_that_nobody_describes_is_asked_for() {
    let bare = opener(GOLD, GOOD, "")
        .replace(&format!("input.open = {{ {GOOD} }}\n"), "")
        .replace("gate.open", "gate");
    assert!(asks(&bare, "relay-unknown", "W2", "the input of gate"));
    let two = opener(GOLD, GOOD, "")
        .replace("input.open", "input.stop = { does = \"stop\" }\ninput.open");
    assert!(asks(
        &two.replace("to = \"gate.open\"", "to = \"gate\""),
        "relay-unknown",
        "W2",
        "which input"
    ));
    assert_eq!(finding(&two, "relay-unknown", "W2"), None);
}
