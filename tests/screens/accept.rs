//! Findings accepted and withdrawn on the screen.

use farend::report::json;
use farend::tui::Theme;
use farend::tui::dialog::Dialog;

use super::{YARD, drawn, golden, open, play, text_of};

/// To the page of findings, on the lock with too few volts.
fn at_low_volts() -> farend::tui::State {
    let mut state = open(YARD, Theme::FULL);
    state.today = "2026-11-26".into();
    play(&mut state, "7");
    let place = state
        .study
        .findings
        .iter()
        .position(|j| j.finding.code == "low-volts");
    for _ in 0..place.unwrap() {
        play(&mut state, "down");
    }
    state
}

const SIGNED: &str = "R. space Sample down as space measured enter enter";

#[test]
fn a_finding_is_accepted_with_who_why_and_when() {
    let mut state = at_low_volts();
    let fails = state.study.count(farend::diagnostic::Severity::Fail);
    play(&mut state, &format!("x {SIGNED}"));
    assert!(state.dialog.is_none());
    let judged = &state.study.findings[state.finding];
    assert_eq!(
        (judged.finding.code, judged.accepted),
        ("low-volts", Some(0))
    );
    assert_eq!(
        state.study.count(farend::diagnostic::Severity::Fail),
        fails - 1
    );
    let added = state.project.text().replace(YARD, "");
    for words in [
        "[[accepted]]\nfinding = \"low-volts\"\nsubject = \"lock\"\nvalue = \"",
        "by = \"R. Sample\"\nwhy = \"as measured\"\non = \"2026-11-26\"\n",
    ] {
        assert!(added.contains(words), "{added}");
    }
    let screen = text_of(&drawn(&mut state, 160, 50));
    assert!(screen.contains("accepted by R. Sample, on 2026-11-26: as measured"));
    golden("accepted-160x50.txt", &screen);
    golden("accepted-80x24.txt", &text_of(&drawn(&mut state, 80, 24)));
    let out = json("yard", state.site(), &state.study, &[]).unwrap();
    let signed = r#""accepted":{"by":"R. Sample","why":"as measured","on":"2026-11-26","value":""#;
    assert!(out.contains(signed), "{out}");
}

#[test]
fn an_acceptance_is_withdrawn_and_every_step_can_be_taken_back() {
    let mut state = at_low_volts();
    play(&mut state, &format!("x {SIGNED}"));
    let accepted = state.project.text();
    play(&mut state, "X");
    assert_eq!(state.project.text(), YARD);
    assert!(state.study.findings[state.finding].accepted.is_none());
    play(&mut state, "u");
    assert_eq!(state.project.text(), accepted);
    play(&mut state, "u");
    assert_eq!(state.project.text(), YARD);
}

#[test]
fn nobody_accepts_without_a_name() {
    let mut state = at_low_volts();
    play(&mut state, "x enter*3");
    let Some(Dialog::Add(form)) = &state.dialog else {
        panic!("the form is gone");
    };
    assert!(form.error.as_deref().unwrap().contains("says who"));
    assert_eq!(state.project.text(), YARD);
    golden("accept-80x24.txt", &text_of(&drawn(&mut state, 80, 24)));
    golden("accept-160x50.txt", &text_of(&drawn(&mut state, 160, 50)));
}

/// What was accepted and got worse is accepted anew in the same place.
#[test]
fn a_second_acceptance_takes_the_place_of_the_first() {
    let older = format!(
        "{YARD}\n[[accepted]]\nfinding = \"low-volts\"\nsubject = \"lock\"\nvalue = \"99 V\"\nby = \"R. Sample\"\nwhy = \"an example\"\non = \"2026-11-03\"\n"
    );
    let mut state = open(&older, Theme::FULL);
    state.finding = (state.study.findings.iter())
        .position(|j| j.finding.code == "low-volts")
        .unwrap();
    assert!(state.study.findings[state.finding].accepted.is_none());
    play(&mut state, "x down still space so enter 2026-11-26 enter");
    assert!(state.dialog.is_none(), "{:?}", state.message);
    assert_eq!(state.site().accepted.len(), 1);
    assert_eq!(state.study.findings[state.finding].accepted, Some(0));
}

#[test]
fn a_stop_and_a_note_cannot_be_accepted() {
    let site = farend::demo::find("workshop-block").unwrap().text;
    let mut state = open(site, Theme::FULL);
    for word in ["stop", "note"] {
        let found = state.study.findings.iter();
        let mut places = found.map(|j| j.finding.severity.as_str());
        state.finding = places.position(|w| w == word).unwrap();
        play(&mut state, "x");
        assert!(state.dialog.is_none());
        assert!(state.message.contains("accept"), "{}", state.message);
        assert_eq!(state.project.text(), site);
    }
}

/// Whatever can be accepted is accepted as it stands, in any unit, and with none.
#[test]
fn every_finding_of_every_demo_can_be_accepted_as_it_stands() {
    for demo in farend::demo::ALL {
        let mut state = open(demo.text, Theme::FULL);
        let mut wrong = Vec::new();
        for i in 0..state.study.findings.len() {
            state.finding = i;
            let finding = state.study.findings[i].finding.clone();
            if matches!(finding.severity.as_str(), "stop" | "note") {
                continue;
            }
            for key in super::words::keys("x me down because down today enter") {
                state.key(key);
            }
            state.restudy();
            let same = |f: &farend::checks::Finding| {
                f.code == finding.code && f.subject == finding.subject
            };
            let judged = state.study.findings.iter().find(|j| same(&j.finding));
            if judged.is_some_and(|j| j.accepted.is_none()) {
                wrong.push(format!(
                    "{} of {}: {:?}",
                    finding.code, finding.subject, finding.value
                ));
            }
            play(&mut state, "u");
        }
        assert!(wrong.is_empty(), "{}: {wrong:#?}", demo.name);
        assert_eq!(state.project.text(), demo.text);
    }
}
