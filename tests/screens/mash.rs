//! Every size, every key, every order of edits.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use farend::demo;
use farend::report::json;
use farend::site::{Edit, Project, Site, fields_of};
use farend::solve::Solver;
use farend::study::Study;
use farend::tui::dialog::Dialog;
use farend::tui::{Effect, State, Theme};

use super::beside::FOOT_GATE;
use super::{YARD, drawn, open, play, settle, text_of};

/// A row of numbers that look random and are the same every time.
struct Dice(u64);

impl Dice {
    /// A number below `count`.
    fn below(&mut self, count: usize) -> usize {
        // Constants of Knuth's MMIX generator; its high bits are the good ones.
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % count
    }

    /// One of a list.
    fn pick<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())]
    }
}

/// Every dialog, as the screen that has it open.
fn every_dialog() -> Vec<State> {
    let scripts = [
        "",
        "tab",
        "shift-tab end",
        "/ W1 enter tab down*3 enter backspace*2 V",
        "/ lock enter tab end enter",
        "p / W1 enter ]] / strike enter tab",
        "a",
        "a f3 f3 enter*9",
        "/ jb1 enter d",
        "shift-tab enter",
        "w",
        "?",
        "? page-down*3",
        "f2",
        "/ W",
        "S",
        "/ W1 enter ] q",
    ];
    let mut states: Vec<State> = scripts
        .iter()
        .map(|script| {
            let mut state = open(YARD, Theme::FULL);
            play(&mut state, script);
            state
        })
        .collect();
    for dialog in [
        Dialog::Overwrite,
        Dialog::Recover(YARD.to_owned()),
        Dialog::Welcome { selected: 1 },
    ] {
        let mut state = open(YARD, Theme::FULL);
        state.dialog = Some(dialog);
        states.push(state);
    }
    states
}

#[test]
fn every_size_shows_every_dialog() {
    for mut state in every_dialog() {
        for width in [1, 2, 5, 20, 39, 40, 41, 56, 72, 80, 109, 110, 140, 200] {
            for height in [1, 2, 9, 10, 11, 13, 24, 60] {
                let text = text_of(&drawn(&mut state, width, height));
                assert_eq!(text.lines().count(), usize::from(height));
            }
        }
    }
}

/// A key of a wide alphabet; the keys that do most come often.
fn any_key(dice: &mut Dice) -> KeyEvent {
    const CODES: [KeyCode; 14] = [
        KeyCode::Enter,
        KeyCode::Esc,
        KeyCode::Tab,
        KeyCode::BackTab,
        KeyCode::Backspace,
        KeyCode::Delete,
        KeyCode::Up,
        KeyCode::Down,
        KeyCode::Left,
        KeyCode::Right,
        KeyCode::Home,
        KeyCode::End,
        KeyCode::PageUp,
        KeyCode::PageDown,
    ];
    const ODD: [char; 12] = [
        'é', 'Ω', '漢', '🔌', '\u{301}', '\u{200b}', 'ß', '°', '²', '"', '\\', '\u{202e}',
    ];
    let code = match dice.below(20) {
        0..8 => dice.pick(&CODES),
        8 => KeyCode::F(u8::try_from(1 + dice.below(12)).unwrap()),
        9 => KeyCode::Char(dice.pick(&ODD)),
        10..14 => KeyCode::Char(dice.pick(&['a', 'd', 'y', 'u', 'U', ']', '[', 'c', 'o', 'p'])),
        _ => KeyCode::Char(char::from(u8::try_from(32 + dice.below(95)).unwrap())),
    };
    let modifiers = match dice.below(16) {
        0 => KeyModifiers::CONTROL,
        1 => KeyModifiers::ALT,
        2 => KeyModifiers::SHIFT,
        _ => KeyModifiers::NONE,
    };
    KeyEvent::new(code, modifiers)
}

/// Mashes keys on a site; whatever happens, the file still reads. Of all changes one in `lag`
/// is studied before the next key.
fn mash(text: &str, seed: u64, lag: usize) {
    let mut state = open(text, Theme::FULL);
    let mut dice = Dice(seed);
    for count in 0..5000 {
        let key = any_key(&mut dice);
        // Leaving is answered by staying.
        if state.key(key) == Effect::Save(true) {
            state.project.mark_saved();
        }
        if dice.below(lag) == 0 {
            settle(&mut state);
        }
        if count % 8 == 0 {
            let (width, height) = dice.pick(&[(80, 24), (120, 36), (40, 10)]);
            drawn(&mut state, width, height);
        }
        if count % 25 == 0 {
            let text = state.project.text();
            if let Err(errors) = Project::open(&text) {
                panic!("after {count} keys, last {key:?}: {errors:?}\n{text}");
            }
        }
    }
}

#[test]
fn mashed_keys_do_no_harm_to_one_demo() {
    mash(demo::ALL[0].text, 1, 1);
}

#[test]
fn mashed_keys_do_no_harm_to_another_demo() {
    mash(demo::ALL[4].text, 2, 1);
}

#[test]
fn mashed_keys_do_no_harm_while_the_study_lags_behind() {
    // Sites too large to solve before the next picture are drawn with the study still behind.
    mash(YARD, 3, 12);
}

#[test]
fn mashed_keys_do_no_harm_to_what_stands_beside_the_network() {
    mash(&format!("{FOOT_GATE}\n"), 4, 6);
}

/// Texts of which some are right for any given key, and some wrong for all.
const TEXTS: [&str; 26] = [
    "12 V",
    "24 V",
    "26 V",
    "5 %",
    "0.5 ohm",
    "2 A",
    "300 mA",
    "60 ft",
    "12 m",
    "18/2",
    "14/2",
    "22/6",
    "hub",
    "jb1",
    "strike",
    "true",
    "2",
    "0",
    "buried",
    "power",
    "power, wiegand",
    "off",
    "0.25 A at 24 V",
    "6 W",
    "",
    "wrong",
];

/// One edit that may be right or wrong.
fn any_edit(dice: &mut Dice, site: &Site) -> Edit {
    let mut names: Vec<(&str, &str)> = Vec::new();
    names.extend(site.supplies.iter().map(|x| ("supply", x.name.as_str())));
    names.extend(site.devices.iter().map(|x| ("device", x.name.as_str())));
    names.extend(site.junctions.iter().map(|x| ("junction", x.name.as_str())));
    names.extend(site.fuses.iter().map(|x| ("fuse", x.name.as_str())));
    names.extend(site.runs.iter().map(|x| ("run", x.name.as_str())));
    let (kind, name) = dice.pick(&names);
    match dice.below(12) {
        0 => Edit::Delete {
            table: vec![kind.into(), name.into()],
        },
        1 => Edit::Add {
            table: vec![
                dice.pick(&["fuse", "junction", "device"]).into(),
                format!("new {}", dice.below(40)),
            ],
            keys: Vec::new(),
        },
        2 => Edit::set(
            "device",
            name,
            dice.pick(&["draw.idle", "draw.active", "draw.extra"]),
            dice.pick(&TEXTS),
        ),
        3 | 4 => Edit::set(
            "run",
            name,
            dice.pick(&["cable", "length"]),
            dice.pick(&TEXTS),
        ),
        _ => {
            let fields = fields_of(kind);
            let key = fields[dice.below(fields.len())].key;
            Edit::set(kind, name, key, dice.pick(&TEXTS))
        }
    }
}

/// All that is known of a site, as text; cables stand in it by name only.
fn known(site: &Site) -> String {
    let study = Study::of(site, &mut Solver::new());
    let runs = site.runs.iter().map(|run| (&run.name, run.cable(site)));
    format!(
        "{:?}\n{}",
        runs.collect::<Vec<_>>(),
        json("", site, &study, &[]).unwrap()
    )
}

/// Where two texts part, for a message that can be read.
fn parting(a: &str, b: &str) -> Option<String> {
    let at = a.bytes().zip(b.bytes()).position(|(x, y)| x != y);
    let at = at.or((a.len() != b.len()).then_some(a.len().min(b.len())))?;
    let near = |text: &str| {
        let bytes = &text.as_bytes()[at.saturating_sub(300)..(at + 200).min(text.len())];
        String::from_utf8_lossy(bytes).into_owned()
    };
    Some(format!("{}\n-- and --\n{}", near(a), near(b)))
}

#[test]
fn after_any_edits_the_printed_document_means_the_same_site() {
    let mut applied = 0;
    for seed in 0..40 {
        let mut dice = Dice(seed * 977 + 5);
        let mut project = Project::open(YARD).unwrap();
        let mut depth = 0_usize;
        for _ in 0..60 {
            match dice.below(8) {
                0 => depth -= usize::from(project.undo().is_some()),
                1 => depth += usize::from(project.redo().is_some()),
                _ => {
                    let before = project.text();
                    let edit = any_edit(&mut dice, project.site());
                    if project.apply(&edit).is_ok() {
                        (depth, applied) = (depth + 1, applied + 1);
                    } else {
                        assert_eq!(project.text(), before, "{edit:?} was refused");
                    }
                }
            }
        }
        let text = project.text();
        let read = Project::open(&text).unwrap_or_else(|e| panic!("seed {seed}: {e:?}\n{text}"));
        if let Some(parting) = parting(&known(project.site()), &known(read.site())) {
            panic!("seed {seed}: {parting}");
        }
        for _ in 0..depth {
            project.undo();
        }
        assert_eq!(project.text(), YARD, "seed {seed}");
    }
    assert!(applied > 300, "only {applied} edits were right");
}

#[test]
fn what_came_or_went_is_never_drawn_from_an_old_study() {
    for script in [
        "/ strike enter d y",
        "/ jb1 enter a enter*7 u",
        "/ rod enter d y u U",
    ] {
        let mut state = open(YARD, Theme::FULL);
        for key in super::words::keys(script) {
            state.key(key);
            drawn(&mut state, 160, 50);
            drawn(&mut state, 80, 24);
        }
    }
}
