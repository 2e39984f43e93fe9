//! Readings that contradict one another, and currents that add up.

use rstest::rstest;

use super::{changed, finding, severity, study, text, yard};

/// Each of two readings of one meter may be 0.02 V off: 0.0283 V together, and twice that is told.
#[rstest]
#[case("24.05 V", None)]
#[case("24.06 V", Some("warn"))]
fn volts_do_not_rise_along_a_run(#[case] far: &str, #[case] word: Option<&str>) {
    let readings = [("psu", "24.00 V"), ("hub", far), ("W1", "1.00 A")];
    let study = study(&yard("", &readings));
    assert_eq!(severity(&study, "reading-contradiction", "W1"), word);
}

/// Without current there is nothing to lose on the way.
#[test]
fn volts_may_differ_without_current() {
    let readings = [("psu", "24.00 V"), ("hub", "24.30 V"), ("W1", "0.00 A")];
    let study = study(&yard("", &readings));
    assert_eq!(severity(&study, "reading-contradiction", "W1"), None);
}

/// 0.54 + 0.21 = 0.75 A. The clamp's 1.5 % + 1 digit of 10 mA is 0.0213, 0.0181 and 0.0132 A: 0.0309
/// together (by hand), so 0.06 A may be missing, and 0.07 A not.
#[rstest]
#[case("0.75 A", true)]
#[case("0.81 A", true)]
#[case("0.69 A", true)]
#[case("0.82 A", false)]
#[case("0.68 A", false)]
fn currents_at_the_hub_add_up(#[case] out: &str, #[case] holds: bool) {
    let text = changed(
        text("stable-lane"),
        "value = \"0.75 A\"",
        &format!("value = \"{out}\""),
    );
    let study = study(&text);
    let code = if holds {
        "reading-sum"
    } else {
        "reading-contradiction"
    };
    let found = finding(&study, code, "hub").unwrap();
    let amps = out.trim_end_matches(" A");
    assert!(
        found
            .message()
            .contains(&format!("{amps}0 A in, 0.540 + 0.210 A out")),
        "{}",
        found.message()
    );
    let other = if holds {
        "reading-contradiction"
    } else {
        "reading-sum"
    };
    assert_eq!(severity(&study, other, "hub"), None);
}

/// One conductor that carries current was not read: nothing is said.
#[test]
fn a_sum_needs_every_conductor() {
    let blocks = text("stable-lane").split("[[reading]]");
    let kept: Vec<&str> = blocks
        .filter(|b| !b.contains("at = \"D1.common\""))
        .collect();
    let study = study(&kept.join("[[reading]]"));
    assert!(study.readings.sums.is_empty(), "{:?}", study.readings.sums);
}

/// At a junction the positive legs add up by themselves.
#[rstest]
#[case("0.40 A", "reading-sum")]
#[case("0.50 A", "reading-contradiction")]
fn currents_at_a_junction_add_up(#[case] second: &str, #[case] code: &str) {
    let more = "[junction.jb]\n[device.strike]\nlowest = \"9 V\"\nhighest = \"30 V\"\ndraw = { idle = \"0.4 A\" }\n\
        [run.W0]\nfrom = \"psu\"\nto = \"jb\"\nresistance = \"0.1 ohm\"\n\
        [run.W2]\nfrom = \"jb\"\nto = \"strike\"\nresistance = \"0.1 ohm\"\n";
    let readings = [("W0", "1.40 A"), ("W1", "1.00 A"), ("W2", second)];
    let text = yard(more, &readings);
    let text = changed(&text, "[run.W1]\nfrom = \"psu\"", "[run.W1]\nfrom = \"jb\"");
    assert!(finding(&study(&text), code, "jb").is_some());
}
