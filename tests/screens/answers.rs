//! Open questions answered on the screen, and the page of data and grounds.

use farend::demo;
use farend::tui::Theme;

use super::{YARD, drawn, golden, open, play, text_of};

#[test]
fn open_questions_are_walked_with_yes_no_and_skip() {
    let mut state = open(YARD, Theme::FULL);
    play(&mut state, "/ hub enter A");
    let screen = text_of(&drawn(&mut state, 100, 30));
    assert!(screen.contains("1 of 5: hub"), "{screen}");
    play(&mut state, "y n s s s");
    assert!(state.dialog.is_none());
    let text = state.project.text();
    assert!(
        text.contains("answers = { radio-free = true, polarity-proof = false }"),
        "{text}"
    );
    let code = |code: &str| state.study.findings.iter().any(|j| j.finding.code == code);
    assert!(code("polarity-proof") && !code("radio-free"));
    play(&mut state, "u");
    assert!(!state.project.text().contains("polarity-proof"));
    play(&mut state, "u");
    assert_eq!(state.project.text(), YARD);
}

#[test]
fn what_has_no_open_question_hands_on_to_the_whole_site() {
    let mut state = open(YARD, Theme::FULL);
    play(&mut state, "/ jb1 enter A");
    let screen = text_of(&drawn(&mut state, 100, 30));
    assert!(screen.contains("1 of "), "{screen}");
    play(&mut state, "n esc");
    assert!(state.project.text().contains("answers = { "));
    assert!(state.project.is_unsaved());
}

#[test]
fn leaving_a_walk_keeps_what_was_answered_and_nothing_else() {
    let mut state = open(YARD, Theme::FULL);
    play(&mut state, "/ hub enter A x esc");
    assert!(state.dialog.is_none());
    assert_eq!(state.project.text(), YARD);
}

#[test]
fn answers_stand_among_the_values_of_a_thing() {
    let mut state = open(YARD, Theme::FULL);
    play(&mut state, "/ hub enter tab");
    let values = state.values();
    let keys: Vec<&str> = values.iter().map(|v| v.key.as_str()).collect();
    assert!(keys.contains(&"answers.radio-free"), "{keys:?}");
    assert!(!keys.contains(&"answers.walkway"), "{keys:?}");
}

/// The figures of the lane are worked by hand from its resistances: 0.75 A divides as 1/1.2820 to
/// 1/3.3454 ohm.
#[test]
fn the_page_of_data_and_grounds_shows_each_loop_with_its_amps() {
    let mut state = open(demo::find("stable-lane").unwrap().text, Theme::FULL);
    play(&mut state, "3");
    let screen = text_of(&drawn(&mut state, 160, 50));
    for words in [
        "GROUND LOOPS",
        "panel - D1 common - hub - W1 minus - psu - W2 minus - panel",
        "0.208 A",
        "27.7 % of the return at hub",
        "72.3 % of the return at hub",
        "IF A POWER NEGATIVE OPENS",
        "hidden-return",
        "2.00 A",
        "EARTHS",
    ] {
        assert!(screen.contains(words), "no '{words}' in\n{screen}");
    }
    golden("data-loops-160x50.txt", &screen);
    golden("data-loops-80x24.txt", &text_of(&drawn(&mut state, 80, 24)));
}

#[test]
fn a_row_of_the_page_leads_to_its_thing() {
    let mut state = open(demo::find("stable-lane").unwrap().text, Theme::FULL);
    play(&mut state, "3 down enter");
    assert_eq!(state.name(state.item().unwrap()), "D1");
}
