//! What stands beside the network: doors, raceways, cases and the rest, on the screen.

use farend::site::{Edit, Project, fields, fields_of};
use farend::tui::Theme;
use farend::tui::dialog::Dialog;
use rstest::rstest;

use super::{drawn, golden, open, play, text_of};

/// An invented yard with one of nearly everything that is no part of the network.
pub(super) const FOOT_GATE: &str = include_str!("foot-gate.toml");

/// Plays a script on the foot gate: the file is the old one with `changes`, and the screen shows
/// `shows`.
#[track_caller]
fn check(script: &str, changes: &[(&str, &str)], shows: &[&str]) {
    let mut state = open(FOOT_GATE, Theme::FULL);
    play(&mut state, script);
    let mut text = FOOT_GATE.to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "'{old}' is not in the file");
        text = text.replacen(old, new, 1);
    }
    assert_eq!(state.project.text(), text, "{script}");
    let screen = text_of(&drawn(&mut state, 160, 50));
    for words in shows {
        assert!(
            screen.contains(words),
            "{script}: no '{words}' in\n{screen}"
        );
    }
}

/// A script's last screen, at two sizes.
#[rstest]
#[case("beside-closed", "")]
#[case("beside-door", "end enter / foot space gate enter tab down*4")]
#[case("beside-raceway", "/ T1 enter tab down")]
#[case("beside-add", "/ T1 enter a")]
#[case("beside-delete", "/ foot space gate enter d")]
fn the_screen_is_the_one_on_file(#[case] name: &str, #[case] script: &str) {
    for (width, height) in [(80, 24), (160, 50)] {
        let mut state = open(FOOT_GATE, Theme::FULL);
        play(&mut state, script);
        let text = text_of(&drawn(&mut state, width, height));
        golden(&format!("{name}-{width}x{height}.txt"), &text);
    }
}

#[test]
fn the_network_stays_first_and_the_rest_is_one_line_until_it_is_opened() {
    let mut state = open(FOOT_GATE, Theme::FULL);
    let closed = state.lines.len();
    let screen = text_of(&drawn(&mut state, 80, 24));
    assert!(screen.contains("psu  24.00 V dc"), "{screen}");
    play(&mut state, "end enter");
    assert!(state.lines.len() > closed + 8);
    play(&mut state, "enter");
    assert_eq!(state.lines.len(), closed);
    assert_eq!(state.project.text(), FOOT_GATE);
}

/// NEC Chapter 9 Table 1: two cables may fill 31 %. Two of 0.32 in in 0.804 in: 2 x 0.32^2 /
/// 0.804^2 = 31.68 %.
#[test]
fn a_raceway_shows_its_fill_and_limit() {
    check(
        "/ T1 enter",
        &[],
        &[
            "raceway T1  0.804 in pvc 40 with W1, W2",
            "31.68 %",
            "31.00 %",
            "-0.68",
        ],
    );
}

#[test]
fn a_door_shows_its_locks_and_the_way_out() {
    let line = "door foot gate  way out by sensor, button?, fire alarm?; foot lock opens";
    check("/ foot space gate enter", &[], &[line]);
}

#[rstest]
#[case(
    "/ T1 enter tab down*2 enter backspace*8 1.2",
    "inside = \"0.804 in\"",
    "inside = \"1.2 in\""
)]
#[case(
    "/ foot space gate enter tab down*3 enter backspace*4 false",
    "sensor = true",
    "sensor = false"
)]
#[case(
    "/ pier enter tab down*4 enter true",
    "box = \"metal\"",
    "box = \"metal\"\ncorrosive = true"
)]
#[case(
    "/ evening enter tab down*2 enter backspace*6 idle",
    "\"foot lock\" = \"active\"",
    "\"foot lock\" = \"idle\""
)]
#[case(
    "end enter down tab enter space 2",
    "name = \"Foot gate, invented\"",
    "name = \"Foot gate, invented 2\""
)]
fn every_value_is_typed_like_any_other(#[case] script: &str, #[case] old: &str, #[case] new: &str) {
    check(
        &format!("{script} enter"),
        &[(old, new)],
        &["u takes it back"],
    );
    check(&format!("{script} esc"), &[], &[]);
    check(&format!("{script} enter u"), &[], &["taken back"]);
}

#[test]
fn a_wrong_unit_is_said() {
    let script = "/ T1 enter tab down*2 enter backspace*2 V";
    check(script, &[], &["'inside': 'V' is a unit of voltage"]);
}

#[test]
fn a_finding_selects_the_raceway_or_door_that_it_names() {
    let mut state = open(FOOT_GATE, Theme::FULL);
    let mut seen = Vec::new();
    play(&mut state, "shift-tab");
    for _ in 0..state.study.findings.len() {
        let finding = &state.study.findings[state.finding].finding;
        let name = state.item().map(|item| state.name(item)).unwrap();
        if ["T1", "foot gate", "pier"].contains(&finding.subject.as_str()) {
            assert_eq!(name, finding.subject, "{}", finding.code);
            seen.push(finding.code);
        }
        play(&mut state, "down");
    }
    assert!(seen.contains(&"raceway-fill"), "{seen:?}");
    assert!(seen.iter().any(|code| code.starts_with("exit")), "{seen:?}");
}

/// Deleting a door takes it out of the devices that name it; one step back brings all of it.
#[test]
fn what_names_a_deleted_door_loses_that_and_gets_it_back() {
    let mut state = open(FOOT_GATE, Theme::FULL);
    play(&mut state, "/ foot space gate enter d");
    assert!(matches!(&state.dialog, Some(Dialog::Delete { goes, .. }) if goes.len() == 1));
    play(&mut state, "y");
    let text = state.project.text();
    assert!(
        !text.contains("[door.") && !text.contains("door = "),
        "{text}"
    );
    play(&mut state, "u");
    assert_eq!(state.project.text(), FOOT_GATE);
}

#[test]
fn a_cable_that_a_run_is_made_of_stays() {
    let mut state = open(FOOT_GATE, Theme::FULL);
    play(&mut state, "/ 18/2 space yard enter d y");
    assert_eq!(state.project.text(), FOOT_GATE);
    assert!(matches!(&state.dialog, Some(Dialog::Delete { holds, .. }) if !holds.is_empty()));
}

/// Every form adds a table that reads; deleting it, or taking it back, leaves the file as it was,
/// byte for byte.
#[test]
fn what_is_added_is_deleted_or_taken_back_without_a_trace() {
    let forms = 18;
    for turns in 0..forms {
        let script = format!("end a {}", "f3 ".repeat(turns));
        let mut state = open(FOOT_GATE, Theme::FULL);
        play(&mut state, &script);
        let Some(Dialog::Add(form)) = &state.dialog else {
            panic!("no form after {script}");
        };
        let (title, count) = (form.title.clone(), form.lines.len());
        // A reading needs a value; other lines that a person must fill have something in them.
        let fill = if title.ends_with("reading") {
            "down 1 V"
        } else {
            ""
        };
        play(&mut state, fill);
        play(&mut state, &"down ".repeat(count));
        play(&mut state, "enter");
        let text = state.project.text();
        // Runs and what comes with a run need an end to start from.
        if state.dialog.is_some() {
            assert!(title.contains("run"), "{title} is refused");
            assert_eq!(text, FOOT_GATE);
            continue;
        }
        assert_ne!(text, FOOT_GATE, "{title}");
        assert!(Project::open(&text).is_ok(), "{title}: {text}");
        play(&mut state, "d y");
        assert_eq!(state.project.text(), FOOT_GATE, "{title} deleted");
        play(&mut state, "u");
        assert_eq!(state.project.text(), text, "{title} brought back");
        play(&mut state, "u");
        assert_eq!(state.project.text(), FOOT_GATE, "{title} taken back");
        play(&mut state, "U");
        assert_eq!(state.project.text(), text, "{title} done again");
    }
}

/// Every key of every table can be cleared and comes back, and nothing empty stays behind.
#[test]
fn every_value_is_cleared_and_comes_back() {
    for name in [
        "T1",
        "foot gate",
        "pier",
        "evening",
        "foot lock",
        "18/2 yard",
    ] {
        let mut state = open(FOOT_GATE, Theme::FULL);
        let script = format!("/ {} enter tab", name.replace(' ', " space "));
        play(&mut state, &script);
        for value in state.values() {
            let Some(typed) = value.typed else { continue };
            let edit = Edit::Set {
                table: value.table.clone(),
                key: value.key.clone(),
                text: String::new(),
            };
            let mut project = Project::open(FOOT_GATE).unwrap();
            if project.apply(&edit).is_err() {
                continue;
            }
            let text = project.text();
            assert!(!text.contains("{}") && !text.contains("{ }"), "{text}");
            assert_eq!(project.typed(&value.table, &value.key), None);
            project.undo();
            assert_eq!(project.text(), FOOT_GATE);
            assert_eq!(project.typed(&value.table, &value.key), Some(typed));
        }
    }
}

/// No group of the file is left to the file alone.
#[test]
fn every_group_of_the_file_has_its_place_on_the_screen() {
    let mut state = open(FOOT_GATE, Theme::FULL);
    play(&mut state, "end enter");
    let mut tables: Vec<String> = Vec::new();
    for i in 0..state.lines.len() {
        state.selected = i;
        tables.extend(
            state
                .values()
                .into_iter()
                .filter_map(|v| v.table.first().cloned()),
        );
    }
    for field in fields::TOP
        .iter()
        .filter(|f| f.holds == fields::Holds::Table)
    {
        // Things and buses that the foot gate does without.
        let absent = ["junction", "fuse", "earth"].contains(&field.key);
        assert!(
            absent || tables.iter().any(|t| t == field.key),
            "{}",
            field.key
        );
        assert!(field.key == "answers" || !fields_of(field.key).is_empty());
    }
}

/// An answer of the whole site that is cleared leaves no empty table behind.
#[test]
fn a_cleared_answer_leaves_nothing_behind() {
    let mut project = Project::open(FOOT_GATE).unwrap();
    for (table, key) in [
        (vec!["device", "hub"], "answers.radio-free"),
        (vec!["answers"], "labelled"),
        (vec!["design"], "route.buried.hot"),
        (vec!["case", "evening"], "states.hub.k1"),
    ] {
        let set = |text: &str| Edit::Set {
            table: table.iter().map(|w| (*w).to_owned()).collect(),
            key: key.to_owned(),
            text: text.to_owned(),
        };
        let text = match key {
            "route.buried.hot" => "40 C",
            "states.hub.k1" => "pulled",
            _ => "true",
        };
        project.apply(&set(text)).unwrap();
        assert_ne!(project.text(), FOOT_GATE, "{key}");
        project.apply(&set("")).unwrap();
        assert_eq!(project.text(), FOOT_GATE, "{key}");
    }
}
