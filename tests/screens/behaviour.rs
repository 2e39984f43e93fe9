//! What scripts of keys do to the file, the numbers and the questions.

use farend::site::{Project, Site};
use farend::tui::dialog::Dialog;
use farend::tui::{Effect, Page, Theme};
use rstest::rstest;

use super::{SIZES, YARD, drawn, open, play, text_of};

/// To the length of run W1, ready to type.
const LENGTH: &str = "/ W1 enter tab down*3 enter";

/// Plays a script on the yard: the file is the old one with `changes`, and the screen shows
/// `shows` and nothing of `hides`.
fn check(script: &str, changes: &[(&str, &str)], shows: &[&str], hides: &[&str]) -> Effect {
    let mut state = open(YARD, Theme::FULL);
    let effect = play(&mut state, script);
    let mut text = YARD.to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "'{old}' is not in the yard");
        text = text.replace(old, new);
    }
    assert_eq!(state.project.text(), text, "{script}");
    let screen = text_of(&drawn(&mut state, 160, 50));
    for words in shows {
        assert!(
            screen.contains(words),
            "{script}: no '{words}' in\n{screen}"
        );
    }
    for words in hides {
        assert!(!screen.contains(words), "{script}: '{words}' in\n{screen}");
    }
    effect
}

#[test]
fn numbers_follow_every_valid_keystroke_and_esc_brings_all_back() {
    let start = "18/2 180 ft  plus 1.43 minus 1.43";
    check("", &[], &[start], &["UNSAVED"]);
    let typed = [("\"180 ft\"", "\"9 ft\"")];
    let near = "18/2 9 ft  plus 0.07 minus 0.07";
    check(&format!("{LENGTH} backspace*6 9"), &typed, &[near], &[]);
    let typed = [("\"180 ft\"", "\"90 ft\"")];
    check(
        &format!("{LENGTH} backspace*6 90"),
        &typed,
        &["18/2 90 ft  plus"],
        &[start],
    );
    check(
        &format!("{LENGTH} backspace*6 90 esc"),
        &[],
        &[start],
        &["UNSAVED", "18/2 90 ft"],
    );
    check(
        &format!("{LENGTH} backspace*6 90 ctrl-g"),
        &[],
        &[start],
        &["UNSAVED"],
    );
}

#[rstest]
#[case("esc")]
#[case("backspace*2 f t esc")]
#[case("backspace*6 2 k m esc")]
#[case("home delete*3 7 esc")]
fn a_value_left_with_esc_leaves_no_trace_on_the_screen(#[case] rest: &str) {
    let mut untouched = open(YARD, Theme::FULL);
    play(&mut untouched, "/ W1 enter tab down*3");
    let mut left = open(YARD, Theme::FULL);
    play(&mut left, &format!("{LENGTH} {rest}"));
    let screens = [&mut untouched, &mut left].map(|s| text_of(&drawn(s, 160, 50)));
    assert_eq!(screens[0], screens[1]);
    assert_eq!(left.project.text(), YARD);
}

#[test]
fn a_kept_value_is_one_step_to_take_back_and_do_again() {
    let kept = format!("{LENGTH} backspace*6 250 space f t enter");
    let changed = [("\"180 ft\"", "\"250 ft\"")];
    check(
        &kept,
        &changed,
        &["UNSAVED", "W1: length 250 ft; u takes it back"],
        &[],
    );
    check(
        &format!("{kept} u"),
        &[],
        &["taken back: W1: length 250 ft"],
        &["UNSAVED"],
    );
    check(
        &format!("{kept} u U"),
        &changed,
        &["UNSAVED", "done again"],
        &[],
    );
    check(
        &format!("{kept} ctrl-z ctrl-y ctrl-z u"),
        &[],
        &["nothing to take back"],
        &[],
    );
}

#[test]
fn a_wrong_unit_is_said_and_enter_does_not_leave_it() {
    let wrong = format!("{LENGTH} backspace*2 V");
    check(
        &wrong,
        &[],
        &["'length': 'V' is a unit of voltage"],
        &["Enter keeps it"],
    );
    check(
        &format!("{wrong} enter"),
        &[],
        &["'length': 'V' is a unit of voltage"],
        &[],
    );
    let mended = [("\"180 ft\"", "\"180 m\"")];
    check(
        &format!("{wrong} enter backspace m enter"),
        &mended,
        &["180 m"],
        &["'V' is a unit of voltage"],
    );
}

#[test]
fn what_is_added_and_deleted_comes_back_to_the_very_same_text() {
    let add = "/ jb1 enter a enter*7";
    let mut state = open(YARD, Theme::FULL);
    play(&mut state, add);
    let added = state.project.text();
    assert!(added.contains("[device.device1]"), "{added}");
    assert!(added.contains("from = \"jb1\""), "{added}");
    assert_eq!(state.site().runs.len(), 9);
    play(&mut state, "d");
    assert!(matches!(&state.dialog, Some(Dialog::Delete { goes, .. }) if goes.len() == 1));
    play(&mut state, "y");
    assert_eq!(
        (state.site().devices.len(), state.site().runs.len()),
        (5, 8)
    );
    play(&mut state, "u");
    assert_eq!(state.project.text(), added);
    play(&mut state, "u");
    assert_eq!(state.project.text(), YARD);
    assert!(!state.project.is_unsaved());
}

#[rstest]
#[case("device", "", 7)]
#[case("supply", "f3", 3)]
#[case("junction", "f3 f3", 4)]
#[case("run", "f3 f3 f3 down*2 lock up*2", 6)]
#[case("fuse", "f3*4", 2)]
#[case("earth", "f3*5", 3)]
fn what_is_added_stands_in_the_text(
    #[case] kind: &str,
    #[case] script: &str,
    #[case] enters: usize,
) {
    let mut state = open(YARD, Theme::FULL);
    play(
        &mut state,
        &format!("/ jb1 enter a {script} enter*{enters}"),
    );
    assert!(state.dialog.is_none(), "{:?}", state.dialog);
    let text = state.project.text();
    assert_eq!(
        text.matches(&format!("\n[{kind}.")).count(),
        YARD.matches(&format!("\n[{kind}.")).count() + 1,
        "{text}"
    );
    let read = Project::open(&text).unwrap_or_else(|e| panic!("{e:?}\n{text}"));
    let count = |site: &Site| [site.devices.len(), site.junctions.len(), site.runs.len()];
    assert_eq!(count(read.site()), count(state.site()));
    play(&mut state, "u");
    assert_eq!(state.project.text(), YARD);
}

#[test]
fn deleting_shows_what_hangs_on_a_thing() {
    let goes = [
        "Delete jb1?",
        "with it goes: run W2",
        "with it goes: run W4",
    ];
    check("/ jb1 enter d", &[], &goes, &[]);
    check("/ jb1 enter d esc", &[], &[], &["Delete jb1?"]);
    let state = ["its state in case gate opens"];
    check("/ strike enter d", &[], &state, &[]);
}

#[rstest]
#[case("q", Effect::Quit)]
#[case("ctrl-c", Effect::Quit)]
#[case("s", Effect::Save(false))]
#[case("ctrl-s", Effect::Save(false))]
#[case("ctrl-l", Effect::Redraw)]
#[case("esc", Effect::None)]
fn with_nothing_unsaved_keys_act_at_once(#[case] script: &str, #[case] effect: Effect) {
    assert_eq!(check(script, &[], &[], &["unsaved work"]), effect);
}

#[rstest]
#[case("q", Effect::None, true)]
#[case("ctrl-c", Effect::None, true)]
#[case("q x", Effect::None, true)]
#[case("q esc", Effect::None, false)]
#[case("q n", Effect::Quit, false)]
#[case("q y", Effect::SaveAndQuit, false)]
fn with_unsaved_work_leaving_asks(
    #[case] script: &str,
    #[case] effect: Effect,
    #[case] asks: bool,
) {
    let changed = [(
        "\"18/2\"\nlength = \"180 ft\"",
        "\"16/2\"\nlength = \"180 ft\"",
    )];
    let question: &[&str] = &["There is unsaved work."];
    let (shows, hides) = if asks {
        (question, &[][..])
    } else {
        (&[][..], question)
    };
    let script = format!("/ W1 enter ] {script}");
    assert_eq!(check(&script, &changed, shows, hides), effect);
}

#[test]
fn a_pin_shows_the_change_of_every_number() {
    let changed = [(
        "\"18/2\"\nlength = \"180 ft\"",
        "\"14/2\"\nlength = \"180 ft\"",
    )];
    let pinned = "p / W1 enter ]]";
    check("p", &[], &["PIN", "+0.00 V"], &[]);
    check(pinned, &changed, &["PIN", "-1.", "+1."], &["new"]);
    check(
        &format!("{pinned} P"),
        &changed,
        &["‼ FAIL"],
        &["PIN", "+0.00 V"],
    );
    check(
        "p / jb1 enter a enter*7 home",
        &{
            let added = "\n[device.device1]\nkind = \"other\"\ndraw = { idle = \"100 mA\" }\n";
            let run = "\n[run.W9]\nfrom = \"jb1\"\nto = \"device1\"\ncable = \"18/2\"\nlength = \"50 ft\"\n";
            let last = "draw = { idle = \"250 mA\" }\n";
            let bond = "carries = \"bond\"\n";
            [
                (last, &*format!("{last}{added}").leak()),
                (bond, &*format!("{bond}{run}").leak()),
            ]
        },
        &["new"],
        &[],
    );
}

#[test]
fn typing_that_is_left_keeps_what_could_be_done_again() {
    let typed = [("\"180 ft\"", "\"90 ft\"")];
    let script = format!("{LENGTH} backspace*6 90 enter u enter backspace*6 7 esc U");
    check(&script, &typed, &["done again"], &[]);
}

#[test]
fn a_pin_compares_things_by_name_when_others_are_deleted() {
    let mut state = open(YARD, Theme::FULL);
    play(&mut state, "p / strike enter d y");
    let screen = text_of(&drawn(&mut state, 160, 50));
    let panel = screen
        .lines()
        .find(|l| l.contains("old panel  panel"))
        .unwrap();
    assert!(panel.contains("0.00 V"), "{screen}");
}

#[rstest]
#[case("", "case gate opens  corner low")]
#[case("c", "case night  corner low")]
#[case("c c", "case gate opens  corner low")]
#[case("C", "case night  corner low")]
#[case("o", "case gate opens  corner high")]
#[case("oo", "case gate opens  corner heavy")]
#[case("ooo", "case gate opens  corner nominal")]
#[case("O", "case gate opens  corner nominal")]
#[case("o O c C", "case gate opens  corner low")]
fn cases_and_corners_turn_both_ways(#[case] script: &str, #[case] head: &str) {
    check(script, &[], &[head], &[]);
}

#[test]
fn a_finding_leads_to_its_thing_and_its_fix_is_one_step() {
    check("shift-tab", &[], &["[Findings"], &[]);
    let mut state = open(YARD, Theme::FULL);
    play(&mut state, "shift-tab down*2");
    assert_eq!(
        state.item().map(|i| state.name(i)).as_deref(),
        Some("strike")
    );
    play(&mut state, "enter");
    assert!(matches!(&state.dialog, Some(Dialog::Fixes { fixes, .. }) if !fixes.is_empty()));
    play(&mut state, "y");
    assert!(state.project.text().contains("cable = \"12/2\""));
    play(&mut state, "u");
    assert_eq!(state.project.text(), YARD);
}

#[test]
fn a_name_is_found_from_anywhere() {
    check("/ READ enter", &[], &["device reader"], &[]);
    check("/ W enter n n", &[], &[], &["no name"]);
    check("/ nowhere enter", &[], &["no name contains 'nowhere'"], &[]);
}

#[test]
fn unsaved_work_of_before_is_taken_up_with_y_only() {
    let kept = YARD.replace("180 ft", "90 ft");
    for (key, text) in [("y", kept.as_str()), ("n", YARD)] {
        let mut state = open(YARD, Theme::FULL);
        state.dialog = Some(Dialog::Recover(kept.clone()));
        play(&mut state, "x");
        assert!(matches!(state.dialog, Some(Dialog::Recover(_))));
        play(&mut state, key);
        assert_eq!(state.project.text(), text);
        assert_eq!(state.project.is_unsaved(), key == "y");
    }
}

#[test]
fn the_cheapest_cables_are_taken_as_one_step() {
    let mut state = open(SIZES, Theme::FULL);
    play(&mut state, "y");
    assert_eq!(
        state.message,
        "nothing found yet: z looks for the cheapest cables"
    );
    play(&mut state, "z");
    assert!(
        state.message.ends_with("proven; y takes it"),
        "{}",
        state.message
    );
    assert_eq!(state.project.text(), SIZES);
    play(&mut state, "y");
    let old = "cable = \"direct 18\"\nlength";
    let taken = SIZES
        .replace(
            &format!("{old} = \"180 ft\""),
            "cable = \"direct 14\"\nlength = \"180 ft\"",
        )
        .replace(
            &format!("{old} = \"60 ft\""),
            "cable = \"direct 16\"\nlength = \"60 ft\"",
        );
    assert_eq!(state.project.text(), taken);
    assert!(state.study.is_clean());
    play(&mut state, "y");
    assert_eq!(state.message, "the site has these cables already");
    play(&mut state, "u");
    assert_eq!(state.project.text(), SIZES);
    assert!(!state.project.is_unsaved());
    // What was found is for another site once that has changed.
    play(&mut state, "z 4 ] y");
    assert_eq!(state.message, "the site has changed since: z looks again");
}

#[test]
fn digits_turn_pages_and_esc_leads_back() {
    let mut state = open(SIZES, Theme::FULL);
    play(&mut state, "4 down*9");
    let screen = text_of(&drawn(&mut state, 160, 50));
    assert!(
        screen.contains("4 Sizes") && screen.contains("W6 in each cable"),
        "{screen}"
    );
    play(&mut state, "1");
    assert!(text_of(&drawn(&mut state, 160, 50)).contains("[Network"));
    play(&mut state, "4 esc");
    assert!(text_of(&drawn(&mut state, 160, 50)).contains("[Network"));
    check("4", &[], &["No run has choices"], &["[Network"]);
    check("z", &[], &["no run has choices: name cables under"], &[]);
}

#[test]
fn the_reasons_stand_on_the_page_where_nothing_passes() {
    let weak = SIZES.replace("current = \"2 A\"", "current = \"500 mA\"");
    let mut state = open(&weak, Theme::FULL);
    play(&mut state, "z");
    let screen = text_of(&drawn(&mut state, 160, 50));
    assert!(
        screen.contains("no copper cures the budget of a supply"),
        "{screen}"
    );
}

#[test]
fn an_alternate_is_sized_and_opens_beside_the_pinned_design() {
    let mut state = open(SIZES, Theme::FULL);
    play(&mut state, "9");
    let shown = text_of(&drawn(&mut state, 160, 50));
    assert!(shown.contains("cables: the cheapest that pass"), "{shown}");
    let before = state.site().clone();
    play(&mut state, "enter");
    let pin = state.pin.as_ref().unwrap();
    assert_eq!(pin.site, before);
    assert_ne!(*state.site(), before);
    assert_eq!(state.shows, Page::Network);
    assert!(state.study.is_clean());
    play(&mut state, "u");
    assert_eq!(*state.site(), before);
}

/// A cable of the site's own has a price and a rating: of one size it comes before the built-in one.
#[test]
fn the_next_thicker_cable_is_the_sites_own_where_it_has_one() {
    let own = "\n[cable.\"16/2 yard\"]\nsize = \"16 AWG\"\nconductors = 2\nprice = \"0.4 /ft\"\n";
    let text = format!("{YARD}{own}");
    let mut state = open(&text, Theme::FULL);
    play(&mut state, "/ W1 enter ]");
    assert!(state.project.text().contains("cable = \"16/2 yard\""));
    play(&mut state, "]");
    assert!(state.project.text().contains("cable = \"14/2\""));
    play(&mut state, "[ [");
    assert!(
        state
            .project
            .text()
            .contains("cable = \"18/2\"\nlength = \"180 ft\"")
    );
}

#[test]
fn what_a_form_filled_in_gives_way_to_what_is_typed() {
    let mut state = open(YARD, Theme::FULL);
    play(
        &mut state,
        "/ hub enter a gate down camera down*2 end home 2",
    );
    let Some(Dialog::Add(form)) = &state.dialog else {
        panic!("the form is gone");
    };
    assert_eq!(form.typed("name"), "gate");
    assert_eq!(form.typed("kind"), "camera");
    assert_eq!(form.typed("lowest"), "2");
    let screen = text_of(&drawn(&mut state, 80, 24));
    assert!(
        screen.contains("least volts at its own terminals"),
        "{screen}"
    );
    play(&mut state, "up*2 x down end enter*6");
    let screen = text_of(&drawn(&mut state, 80, 24));
    for words in ["'kind' is 'x'", "electric strike"] {
        assert!(screen.contains(words), "no '{words}' in\n{screen}");
    }
}

#[test]
fn words_are_chosen_and_a_line_is_emptied() {
    let kind = "/ lock enter tab enter";
    let next = [(
        "kind = \"electromagnetic lock\"",
        "kind = \"electric strike\"",
    )];
    check(
        &format!("{kind} down enter"),
        &next,
        &["u takes it back"],
        &[],
    );
    check(
        &format!("{kind} down up"),
        &[],
        &["Up Down choose"],
        &["UNSAVED"],
    );
    let typed = [("\"180 ft\"", "\"70 ft\"")];
    check(
        &format!("{LENGTH} ctrl-u 70 enter"),
        &typed,
        &["u takes it back"],
        &[],
    );
}

#[test]
fn a_pin_shows_no_change_where_there_are_no_numbers() {
    let mut state = open(
        farend::demo::find("orchard-yard").unwrap().text,
        Theme::FULL,
    );
    play(&mut state, "p");
    let screen = text_of(&drawn(&mut state, 80, 24));
    assert!(
        screen.contains("change") && !screen.contains("new"),
        "{screen}"
    );
}

#[test]
fn where_no_cable_passes_there_is_nothing_to_take() {
    let mut state = open(
        farend::demo::find("orchard-yard").unwrap().text,
        Theme::FULL,
    );
    play(&mut state, "4 z y");
    assert!(
        state.message.contains("nothing to take"),
        "{}",
        state.message
    );
}
