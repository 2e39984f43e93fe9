//! The page of readings, on the two built-in sites that have some.

use farend::demo;
use farend::tui::Theme;
use farend::tui::dialog::Dialog;
use rstest::rstest;

use super::{drawn, golden, open, play, text_of};

fn text(name: &str) -> &'static str {
    demo::ALL.iter().find(|d| d.name == name).unwrap().text
}

/// A script's last screen, at two sizes.
#[rstest]
#[case("readings-boats", "boat-storage", "6 down")]
#[case("readings-boats-hub", "boat-storage", "6 end up*2")]
#[case("readings-lane", "stable-lane", "6 down*3")]
fn the_page_is_the_one_on_file(#[case] name: &str, #[case] site: &str, #[case] script: &str) {
    for (width, height) in [(80, 24), (160, 50)] {
        let mut state = open(text(site), Theme::FULL);
        play(&mut state, script);
        let text = text_of(&drawn(&mut state, width, height));
        golden(&format!("{name}-{width}x{height}.txt"), &text);
    }
}

/// Enter on a reading leads to its value; what is typed there changes what follows.
#[test]
fn a_reading_is_edited_from_its_row() {
    let mut state = open(text("boat-storage"), Theme::FULL);
    play(&mut state, "6 down*7 enter");
    let screen = text_of(&drawn(&mut state, 160, 50));
    assert!(screen.contains("reading 2  hub, 26.28 V"), "{screen}");
    play(&mut state, "enter backspace*7 26.90 space V enter 6 down");
    let changed = text("boat-storage").replacen("\"26.28 V\"", "\"26.90 V\"", 1);
    assert_eq!(state.project.text(), changed);
    let screen = text_of(&drawn(&mut state, 160, 50));
    // sum I V is 10.907 - 0.18 x 0.62 = 10.7954; over 2.3382 that is 4.617.
    assert!(screen.contains("4.617 ohm"), "{screen}");
}

/// A deleted reading comes back as it was; a run takes its readings with it.
#[test]
fn readings_go_and_come_back() {
    let plain = text("stable-lane");
    let mut state = open(plain, Theme::FULL);
    play(&mut state, "6 down*7 d y");
    assert_eq!(state.site().readings.len(), 9);
    play(&mut state, "u");
    assert_eq!(state.project.text(), plain);
    let mut goes = |script: &str| {
        play(&mut state, script);
        match state.dialog.take() {
            Some(Dialog::Delete { goes, .. }) => goes,
            other => panic!("{other:?}"),
        }
    };
    let none = |goes: &[String]| !goes.iter().any(|what| what.starts_with("reading"));
    assert!(none(&goes("esc / W2 enter d")));
    let panel = goes("/ panel enter d");
    assert_eq!(
        panel,
        [
            "run W2",
            "run D1",
            "reading 2",
            "reading 5",
            "reading 7",
            "reading 10"
        ]
    );
}

/// A meter and a case that go are taken out of the readings that name them.
#[rstest]
#[case("/ clamp enter d y", "meter = \"clamp\"\n")]
#[case("/ idle enter d y", "case = \"idle\"\n")]
fn what_readings_name_goes_without_them(#[case] script: &str, #[case] gone: &str) {
    let mut state = open(text("boat-storage"), Theme::FULL);
    let before = state.site().readings.len();
    play(&mut state, script);
    assert!(!state.project.text().contains(gone), "{}", state.message);
    assert_eq!(state.site().readings.len(), before);
    play(&mut state, "u");
    assert_eq!(state.project.text(), text("boat-storage"));
}

/// A site without readings says how to begin, and `a` begins.
#[test]
fn a_first_reading_is_added_on_the_page() {
    let mut state = open(text("orchard-yard"), Theme::FULL);
    play(&mut state, "6");
    let screen = text_of(&drawn(&mut state, 80, 24));
    assert!(screen.contains("Nothing was read yet"), "{screen}");
    play(&mut state, "a");
    let screen = text_of(&drawn(&mut state, 80, 24));
    assert!(screen.contains("Add: reading"), "{screen}");
}

/// What does not go into the box below is had boxful by boxful; another row starts at its top.
#[test]
fn long_words_are_scrolled_in_their_box() {
    let mut state = open(text("boat-storage"), Theme::FULL);
    play(&mut state, "6 down");
    let first = text_of(&drawn(&mut state, 80, 24));
    assert!(first.contains("Tab: more, 1 of"), "{first}");
    assert!(!first.contains("35.3 W"), "{first}");
    let mut seen = first.clone();
    for _ in 0..3 {
        play(&mut state, "tab");
        seen += &text_of(&drawn(&mut state, 80, 24));
    }
    assert!(
        seen.contains("35.3 W") && seen.contains("21.60 V"),
        "{seen}"
    );
    play(&mut state, "down up");
    assert_eq!(text_of(&drawn(&mut state, 80, 24)), first);
    play(&mut state, "tab shift-tab shift-tab");
    assert_eq!(text_of(&drawn(&mut state, 80, 24)), first);
}
