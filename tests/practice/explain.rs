//! `farend check --explain`, and the list of all checks in DEVELOPERS.md.

use std::path::Path;
use std::process::{Command, Output};

use farend::checks::registry;
use farend::report::check_list;

fn explain(code: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_farend"))
        .args(["check", "--explain", code])
        .output()
        .unwrap()
}

#[test]
fn a_check_is_explained_with_formula_source_and_example() {
    for code in [
        "low-volts",
        "ground-loop",
        "open-questions",
        "acceptance-unsigned",
    ] {
        let output = explain(code);
        assert_eq!(output.status.code(), Some(0), "{code}");
        assert_eq!(output.stderr, b"");
        let text = String::from_utf8(output.stdout).unwrap();
        let one = registry().find(|e| e.check.code == code).unwrap();
        assert!(text.starts_with(&format!("{code}: ")), "{text}");
        for part in [one.check.formula, one.inputs, one.example] {
            assert!(text.contains(part), "{code}: {part} in\n{text}");
        }
        assert!(text.contains("\nsource "), "{text}");
    }
}

#[test]
fn a_question_is_explained_with_what_it_is_asked_of() {
    let text = String::from_utf8(explain("walkway").stdout).unwrap();
    for part in [
        "asked of  operator\n",
        "if no     warn: ",
        "if open   ask\n",
        "[device.NAME] answers = { walkway = false }",
    ] {
        assert!(text.contains(part), "{part} in\n{text}");
    }
}

#[test]
fn an_unknown_code_names_the_nearest() {
    let output = explain("low-volt");
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(output.stdout, b"");
    let words = String::from_utf8(output.stderr).unwrap();
    assert!(words.contains("did you mean 'low-volts'?"), "{words}");
    assert_eq!(explain("\u{1b}[31m").status.code(), Some(2));
    assert!(!explain("\u{1b}[31m").stderr.contains(&0x1b));
}

#[test]
fn every_check_is_explained_in_full() {
    let silent = farend::site::read("format = 1\n").unwrap();
    for one in registry() {
        let text = farend::report::explain(&silent, &one);
        assert!(text.lines().count() >= 5, "{text}");
        assert!(
            !text.contains("NEC {"),
            "a citation is not filled in: {text}"
        );
    }
}

const START: &str = "<!-- checks: written by the tests -->\n";
const END: &str = "<!-- end of checks -->\n";

#[test]
fn the_list_of_checks_is_the_programs_own() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md");
    let text = std::fs::read_to_string(&path)
        .unwrap()
        .replace("\r\n", "\n");
    let (before, rest) = text.split_once(START).unwrap();
    let (list, after) = rest.split_once(END).unwrap();
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        let new = format!("{before}{START}{}{END}{after}", check_list());
        std::fs::write(&path, new).unwrap();
    } else {
        assert_eq!(list, check_list(), "run the tests with UPDATE_GOLDEN=1");
    }
}
