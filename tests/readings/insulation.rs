//! Insulation: dry, damp or wet, and what a loop stands.

use rstest::rstest;

use super::{changed, finding, severity, study, yard};

fn insulation(value: &str) -> String {
    let read = format!("value = \"{value}\"\n");
    changed(
        &yard("", &[("W1", value)]),
        &read,
        &format!("{read}kind = \"insulation\"\n"),
    )
}

/// Dry cable has 1 Mohm and more, a wet splice less than 100 kohm: common practice, no source.
#[rstest]
#[case("1.00 Mohm", "note")]
#[case("0.99 Mohm", "ask")]
#[case("100 kohm", "ask")]
#[case("99.9 kohm", "warn")]
fn insulation_has_two_limits(#[case] value: &str, #[case] word: &str) {
    let study = study(&insulation(value));
    assert_eq!(severity(&study, "found-insulation", "W1"), Some(word));
    let message = finding(&study, "found-insulation", "W1").unwrap().message();
    assert_eq!(message.contains("Murray"), word != "note", "{message}");
}

/// The least of several counts.
#[test]
fn one_finding_a_run() {
    let text = insulation("5.00 Mohm");
    let again = text.split_once("[[reading]]").unwrap().1;
    let again = again.replace("5.00 Mohm", "70 kohm");
    let study = study(&format!("{text}[[reading]]{again}"));
    let message = finding(&study, "found-insulation", "W1").unwrap().message();
    assert!(message.contains("70 kohm"), "{message}");
}

/// 5 V over 2.2 kohm, 2.2 kohm at the end and 2.2 kohm more when active. A cut cable reads under
/// 4.4 V beside 2.2 x 4.4 / 0.6 = 16.13 kohm; active, 4.4 kohm, under 2.9 V beside 9.81 kohm, and
/// normal, 2.2 kohm, under 1.9 V beside 3.48 kohm (by hand).
#[rstest]
#[case("16.1 kohm", true)]
#[case("16.2 kohm", false)]
fn a_loop_stands_so_much_leakage(#[case] value: &str, #[case] crossed: bool) {
    let run = "[device.door]\nkind = \"door contact\"\n[run.W5]\nfrom = \"hub\"\nto = \"door\"\ncarries = \"loop\"\nresistance = \"1 ohm\"\n\
        [run.W5.loop]\nvoltage = \"5 V\"\npull_up = \"2.2 kohm\"\nend = \"2.2 kohm\"\ntrip = \"2.2 kohm\"\nlayout = \"series\"\nend_at = \"device\"\n\
        short = [\"0 V\", \"0.9 V\"]\nnormal = [\"1.9 V\", \"2.8 V\"]\nactive = [\"2.9 V\", \"3.9 V\"]\nopen = [\"4.4 V\", \"5 V\"]\n";
    let reading = format!(
        "[[reading]]\nat = \"W5\"\nvalue = \"{value}\"\nkind = \"insulation\"\nmeter = \"M1\"\n"
    );
    let study = study(&yard(&format!("{run}{reading}"), &[]));
    let told = finding(&study, "found-insulation", "W5").unwrap();
    let message = told.message();
    assert_eq!(told.severity.as_str(), "warn");
    let words = if crossed {
        "open falls under its 4.40 V and reads as another state"
    } else {
        "before open falls under its 4.40 V"
    };
    assert!(message.contains(words), "{message}");
}
