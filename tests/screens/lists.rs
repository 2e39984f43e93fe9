//! Lists of tables on the screen: the conductors of a run, and what an alternate sets.

use farend::site::{Edit, Project};
use farend::tui::Theme;
use rstest::rstest;

use super::beside::FOOT_GATE;
use super::{drawn, open, play, text_of};

/// The selected line's name, and the file.
#[track_caller]
fn after(script: &str) -> (String, String, String) {
    let mut state = open(FOOT_GATE, Theme::FULL);
    play(&mut state, script);
    let name = state
        .item()
        .map(|item| state.name(item))
        .unwrap_or_default();
    let screen = text_of(&drawn(&mut state, 160, 50));
    (name, state.project.text(), screen)
}

/// The form of a conductor is the thirteenth beside the network.
const WIRE: &str = "end a f3*12";

/// A conductor is added to a run, edited like any value, and deleted without a trace.
#[test]
fn a_conductor_is_added_edited_and_deleted() {
    let add = format!("{WIRE} down*2 red enter*4");
    let (name, text, screen) = after(&add);
    assert_eq!(name, "wire 1 of W1", "{screen}");
    let wires = Project::open(&text).unwrap().site().runs[0].wires.clone();
    assert_eq!(
        (wires[0].function.as_str(), wires[0].colour.as_deref()),
        ("plus", Some("red"))
    );
    assert!(
        text.contains("[[run.W1.wire]]\nuse = \"plus\"\ncolour = \"red\"\n"),
        "{text}"
    );
    assert!(screen.contains("wire 1 of W1  plus, red"), "{screen}");
    let second = format!("{add} a down backspace*4 minus enter*5");
    let (name, text, _) = after(&second);
    assert_eq!(name, "wire 2 of W1");
    assert_eq!(text.matches("[[run.W1.wire]]").count(), 2, "{text}");
    let (_, text, _) = after(&format!("{second} tab down enter black enter"));
    let run = Project::open(&text).unwrap().site().runs[0].clone();
    assert_eq!(run.wires[1].function, "minus");
    assert_eq!(run.wires[1].colour.as_deref(), Some("black"));
    let (_, text, _) = after(&format!("{second} d y"));
    assert_eq!(text, after(&add).1);
    let (_, text, _) = after(&format!("{add} d y"));
    assert_eq!(text, FOOT_GATE);
    let (_, text, _) = after(&format!("{second} u u"));
    assert_eq!(text, FOOT_GATE);
}

#[test]
fn a_conductor_of_no_run_is_refused() {
    let (_, text, screen) = after(&format!("{WIRE} backspace*2 W99 enter*6"));
    assert_eq!(text, FOOT_GATE);
    assert!(screen.contains("no run is called 'W99'"), "{screen}");
}

/// A run in braces, and a list in brackets: what is added stands in braces there.
#[rstest]
#[case("[run]\nW1 = { from = \"psu\", to = \"hub\", resistance = \"1 ohm\" }\n")]
#[case(
    "[run.W1]\nfrom = \"psu\"\nto = \"hub\"\nresistance = \"1 ohm\"\nwire = [{ use = \"plus\" }]\n"
)]
#[case(
    "[run.W1]\nfrom = \"psu\"\nto = \"hub\"\nresistance = \"1 ohm\"\n[[run.W1.wire]]\nuse = \"plus\" # marked\n"
)]
fn a_list_is_edited_in_the_way_in_which_it_is_written(#[case] run: &str) {
    let text = format!(
        "format = 1\n[supply.psu]\nvoltage = \"24 V\"\n[device.hub]\ndraw = {{ idle = \"1 W\" }}\n{run}"
    );
    let mut project = Project::open(&text).unwrap();
    let before = project.site().runs[0].wires.len();
    let path = |at: usize| {
        ["run", "W1", "wire", &at.to_string()]
            .map(str::to_owned)
            .to_vec()
    };
    let set = |key: &str, text: &str| Edit::Set {
        table: path(before),
        key: key.to_owned(),
        text: text.to_owned(),
    };
    let add = Edit::Add {
        table: path(before),
        keys: vec![("use".to_owned(), "shield".to_owned())],
    };
    assert_eq!(add.describe(), format!("wire {} of W1 added", before + 1));
    project.apply(&add).unwrap();
    project.apply(&set("label", "7")).unwrap();
    let read = Project::open(&project.text()).unwrap();
    let wires = &read.site().runs[0].wires;
    assert_eq!(wires.len(), before + 1, "{}", project.text());
    assert_eq!(
        (
            wires[before].function.as_str(),
            wires[before].label.as_deref()
        ),
        ("shield", Some("7"))
    );
    assert_eq!(project.typed(&path(before), "label").as_deref(), Some("7"));
    project
        .apply(&Edit::Delete {
            table: path(before),
        })
        .unwrap();
    assert_eq!(project.site().runs[0].wires.len(), before);
    project.undo();
    project.undo();
    project.undo();
    assert_eq!(project.text(), text);
    // What is not there is not made.
    assert!(project.apply(&set("label", "7")).is_err() || project.text() == text);
}

/// An alternate takes any key of anything in the file; one that is there gets one more.
#[test]
fn an_alternate_sets_any_key() {
    let form = "end a f3*10";
    let new = format!("{form} down backspace*30 psu.voltage down backspace*30 26 space V enter");
    let (name, text, screen) = after(&new);
    assert_eq!(name, "alternate1", "{screen}");
    assert!(text.contains("\"psu.voltage\" = \"26 V\""), "{text}");
    let more = format!("{new} a down backspace*30 W1.length down backspace*30 99 space ft enter");
    let (name, text, _) = after(&more);
    assert_eq!(name, "alternate1");
    let set = Project::open(&text).unwrap().site().bid.alternates[1]
        .set
        .clone();
    assert_eq!(set.len(), 2, "{text}");
    let (_, text, screen) = after(&format!(
        "{new} a down backspace*30 psu.volts down backspace*30 26 space V enter"
    ));
    assert_eq!(text, after(&new).1);
    assert!(
        screen.contains("psu.volts") || screen.contains("volts"),
        "{screen}"
    );
}
