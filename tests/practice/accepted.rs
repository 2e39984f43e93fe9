//! What became of findings that somebody accepted.

use rstest::rstest;

use super::{found, judged};

/// A hub that gets 10.0 V: 12 V less 1 A through 2 ohm. An acceptance of its volts.
fn hub(accepted: &str, lowest: &str) -> String {
    format!(
        "format = 1
[supply.psu]
voltage = \"12 V\"
current = \"5 A\"
[device.hub]
lowest = \"{lowest}\"
highest = \"30 V\"
draw = {{ idle = \"1 A\" }}
[run.W1]
from = \"psu\"
to = \"hub\"
resistance = \"1 ohm\"
[[accepted]]
finding = \"low-volts\"
subject = \"hub\"
{accepted}
by = \"R. Sample\"
why = \"the hub is due for a change\"
on = \"2026-11-03\"
"
    )
}

#[rstest]
#[case("value = \"10 V\"", None)]
#[case("", None)]
#[case(
    "value = \"10.1 V\"",
    Some("was accepted at 10.1 V and is 10.000 V now")
)]
#[case(
    "case = \"night\"",
    Some("was accepted in case night, and is worst in case all idle now")
)]
fn an_acceptance_that_no_longer_covers(#[case] keys: &str, #[case] words: Option<&str>) {
    let value = judged(&hub(keys, "10.8 V"));
    let told = found(&value, "acceptance-worse");
    assert_eq!(told.len(), usize::from(words.is_some()));
    if let Some(words) = words {
        assert_eq!(told[0]["severity"], "warn");
        let message = told[0]["message"].as_str().unwrap();
        assert!(message.contains(words), "{message}");
        assert_eq!(value["verdict"], "fail");
    }
    assert!(found(&value, "acceptance-gone").is_empty());
}

#[test]
fn an_acceptance_of_what_is_found_no_more() {
    let value = judged(&hub("value = \"10 V\"", "9 V"));
    let told = found(&value, "acceptance-gone");
    assert_eq!((told.len(), &told[0]["severity"]), (1, &"note".into()));
    assert!(found(&value, "acceptance-worse").is_empty());
}

#[test]
fn a_stop_counts_whatever_is_accepted() {
    let text = hub("", "9 V")
        .replace("low-volts", "battery-fuse")
        .replace("subject = \"hub\"", "subject = \"psu\"")
        + "[supply.psu.battery]\ncapacity = \"7 Ah\"\n";
    let value = judged(&text);
    let told = found(&value, "acceptance-worse");
    assert!(
        told[0]["message"]
            .as_str()
            .unwrap()
            .contains("a stop counts")
    );
    assert_eq!(value["verdict"], "stop");
}

/// Two acceptances of the same: the one that holds is enough.
#[test]
fn a_second_acceptance_for_more_holds() {
    let first = hub("value = \"10.4 V\"", "10.8 V");
    let second = first[first.find("[[accepted]]").unwrap()..].replace("10.4 V", "10 V");
    let value = judged(&format!("{first}{second}"));
    assert!(found(&value, "acceptance-worse").is_empty());
}

/// Lengths in feet and in metres: said once, of the fewer.
#[rstest]
#[case("10 ft", "10 ft", None)]
#[case("10 m", "3.5 m", None)]
#[case("10 ft", "3 m", Some("in metres at W2"))]
#[case("12 ft 6 in", "300 cm", Some("in metres at W2"))]
fn lengths_in_two_units(#[case] first: &str, #[case] other: &str, #[case] words: Option<&str>) {
    let run = |name: &str, length: &str| {
        format!(
            "[run.{name}]\nfrom = \"psu\"\nto = \"hub\"\ncable = \"18/2\"\nlength = \"{length}\"\n"
        )
    };
    let text = format!(
        "format = 1\n[supply.psu]\nvoltage = \"12 V\"\n[device.hub]\ndraw = {{ idle = \"1 A\" }}\n{}{}{}",
        run("W1", first),
        run("W2", other),
        run("W3", first)
    );
    let value = judged(&text);
    let told = found(&value, "units-mixed");
    assert_eq!(told.len(), usize::from(words.is_some()));
    if let Some(words) = words {
        let message = told[0]["message"].as_str().unwrap();
        assert!(message.contains(words), "{message}");
    }
}
