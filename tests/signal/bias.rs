//! Where the bias resistors of a two-wire bus sit, and what cures an idle line.

use approx::assert_abs_diff_eq;
use rstest::rstest;

use super::bus::{KIND, chain};
use super::fixes::proven;
use crate::judged::{finding, message, severity, solved, value};

fn text(bias_at: &str, bias: &str) -> String {
    let keys = KIND.replace("\"n0\"", bias_at).replace("560 ohm", bias);
    let more = "rate = \"9600 bit/s\"\nterminators = [\"n0\", \"n2\"]\nunits = 0\n";
    chain(&["100 m", "100 m"], &format!("{keys}{more}"))
        + "[device.far]\nkind = \"panel\"\non = \"psu\"\n"
}

#[rstest]
#[case("\"n0\"", None)]
#[case("\"n1\"", None)]
#[case("[\"n0\"]", None)]
#[case("[\"n0\", \"n2\"]", Some("warn"))]
#[case("\"far\"", Some("fail"))]
fn bias_sits_on_the_bus_at_one_place(#[case] at: &str, #[case] expected: Option<&str>) {
    let json = solved(&text(at, "560 ohm"));
    assert_eq!(severity(&json, "bus-bias", "B").as_deref(), expected);
}

// 60 ohm of terminators; one pair of 1 kohm holds 5 x 60 / 2060 = 0.1456 V, two lie side by side:
// 5 x 60 / 1060 = 0.283 V; worked by hand. Two pairs load with 1 / (1/60 + 2/2000) = 56.6 ohm.
#[test]
fn pairs_at_two_places_lie_side_by_side() {
    let one = solved(&text("\"n0\"", "1 kohm"));
    assert_abs_diff_eq!(value(&one, "bus-idle", "B"), 0.1456, epsilon = 1e-4);
    let two = solved(&text("[\"n0\", \"n2\"]", "1 kohm"));
    assert_eq!(finding(&two, "bus-idle", "B"), None);
    let formula = finding(&two, "bus-bias", "B").unwrap()["formula"].clone();
    assert!(
        formula.as_str().unwrap().ends_with("= 56.6 ohm"),
        "{formula}"
    );
    assert!(message(&two, "bus-bias", "B").contains("n0, n2"));
    let all = proven(
        &format!("format = 1\n{}", text("[\"n0\", \"n2\"]", "560 ohm")),
        "bus-bias",
        "B",
    );
    assert_eq!(all[0].text, "bias resistors at n0 alone");
}

/// Three terminators and weak bias: no bias that is sold holds 40 ohm, so both change.
#[test]
fn terminators_and_bias_change_together() {
    let text = crate::signal::fixes::text("workshop-block");
    let all = proven(text, "bus-idle", "gates");
    let texts: Vec<&str> = all.iter().map(|f| f.text.as_str()).collect();
    let both =
        "terminators at hub and gate 3 alone and bias resistors of 560 ohm each, at one place";
    assert!(texts.contains(&both), "{texts:?}");
}
