//! A battery on the screen: what is shown of it, and every key of it edited.

use farend::demo;
use farend::tui::Theme;

use super::{YARD, drawn, open, play, text_of};

/// From the supply to one of its keys, ready to type.
fn to_key(text: &str, supply: &str, key: &str) -> String {
    let mut state = open(text, Theme::FULL);
    play(&mut state, &format!("/ {supply} enter tab"));
    let values = state.values();
    let at = values.iter().position(|v| v.key == key).unwrap();
    format!("/ {supply} enter tab down*{at} enter")
}

fn observatory() -> &'static str {
    demo::find("observatory-road").unwrap().text
}

#[test]
fn a_supply_shows_how_it_does_on_its_battery() {
    let mut state = open(observatory(), Theme::FULL);
    play(&mut state, "/ bank enter");
    for (width, height) in [(120, 36), (160, 50)] {
        let screen = text_of(&drawn(&mut state, width, height));
        for words in [
            "on battery 55.7 h, ends by charge",
            "at its end: hub 9.74 V",
        ] {
            assert!(screen.contains(words), "no '{words}' in\n{screen}");
        }
    }
}

#[test]
fn a_key_of_the_battery_is_solved_as_it_is_typed() {
    let to = to_key(observatory(), "bank", "battery.disconnect");
    let mut state = open(observatory(), Theme::FULL);
    play(&mut state, &format!("{to} backspace*6 11.6 enter"));
    assert!(
        state
            .project
            .text()
            .contains("disconnect = \"11.6 V\"  # try")
    );
    let screen = text_of(&drawn(&mut state, 160, 50));
    assert!(screen.contains("at its end: hub 10.58 V"), "{screen}");
    play(&mut state, "u");
    assert_eq!(state.project.text(), observatory());
}

#[test]
fn every_key_of_battery_and_panel_has_its_line() {
    let mut state = open(observatory(), Theme::FULL);
    play(&mut state, "/ bank enter tab");
    let values = state.values();
    let keys = |name: &str, all: &[farend::site::fields::Field]| {
        for field in all {
            let key = format!("{name}.{}", field.key);
            assert!(values.iter().any(|v| v.key == key), "{key}");
        }
    };
    keys("battery", farend::site::fields::BATTERY);
    keys("solar", farend::site::fields::SOLAR);
}

#[test]
fn a_battery_begins_with_its_capacity_and_goes_with_its_last_key() {
    let to = to_key(YARD, "psu", "battery.capacity");
    let mut state = open(YARD, Theme::FULL);
    play(&mut state, &format!("{to} 7 enter"));
    assert!(
        state
            .project
            .text()
            .contains("battery = { capacity = \"7 Ah\" }"),
        "{}",
        state.project.text()
    );
    assert_eq!(state.study.discharges.len(), 1);
    let screen = text_of(&drawn(&mut state, 160, 50));
    assert!(screen.contains("on battery"), "{screen}");
    play(&mut state, "enter backspace*4 enter");
    assert_eq!(state.project.text(), YARD);
    assert!(state.study.discharges.is_empty());
}
