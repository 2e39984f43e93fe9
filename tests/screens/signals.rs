//! Buses and surge parts on the screen: what they name does not go from under them.

use farend::site;
use farend::tui::Theme;
use farend::tui::dialog::Dialog;
use rstest::rstest;

use super::{open, play};

const SITE: &str = r#"format = 1
[supply.psu]
voltage = "12 V"
[device.hub]
kind = "hub"
on = "psu"
[device.node]
kind = "node"
[earth.bar]
kind = "bar"
[bus.B]
terminators = ["hub", "node"]
[run.D]
from = "hub"
to = "node"
cable = "22/4"
length = "50 m"
carries = ["power", "rs485"]
bus = "B"
[run.E]
from = "hub"
to = "node"
cable = "22/4"
length = "50 m"
[surge.S]
line = "D"
end = "to"
resistance = "1 ohm"
earth = "bar"
"#;

#[rstest]
#[case("node", &["bus B names it", "surge part S names it"])]
#[case("D", &["surge part S names it"])]
#[case("bar", &["surge part S names it"])]
#[case("E", &[])]
fn a_delete_says_what_holds_it(#[case] name: &str, #[case] expected: &[&str]) {
    let mut state = open(SITE, Theme::FULL);
    play(&mut state, &format!("/ {name} enter d"));
    let Some(Dialog::Delete { holds, .. }) = &state.dialog else {
        panic!("nothing asks");
    };
    assert_eq!(holds, expected);
    play(&mut state, "y");
    // What is held stays; what is not goes, and the text still reads.
    let text = state.project.text();
    assert_eq!(text == SITE, !expected.is_empty(), "{text}");
    assert_eq!(&site::read(&text).unwrap(), state.project.site());
    play(&mut state, "esc u");
    assert_eq!(state.project.text(), SITE);
}
