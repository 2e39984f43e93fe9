//! Site files with mistakes: one file a mistake, and beside it the words that the program says.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::golden;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken")
}

/// Every broken input, in order of name.
fn inputs() -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".toml") || name.ends_with(".bin"))
        .collect();
    names.sort();
    names
}

fn check(name: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_farend"))
        .args(["check", name])
        .current_dir(folder())
        .output()
        .unwrap()
}

/// The places that a message points at: `--> FILE:LINE:COLUMN`.
fn places<'m>(name: &str, message: &'m str) -> Vec<&'m str> {
    message
        .lines()
        .filter_map(|line| line.trim_start().strip_prefix("--> ")?.strip_prefix(name))
        .collect()
}

fn is_line_and_column(place: &str) -> bool {
    let numbers: Vec<&str> = place.trim_start_matches(':').split(':').collect();
    numbers.len() == 2
        && numbers
            .iter()
            .all(|n| n.parse::<u32>().is_ok_and(|n| n > 0))
}

#[test]
fn every_mistake_is_named_in_the_same_words_as_before() {
    let names = inputs();
    assert!(names.len() >= 45);
    for name in names {
        let before = std::fs::read(folder().join(&name)).unwrap();
        let output = check(&name);
        let message = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{name}: {message}");
        assert_eq!(output.stdout, b"", "{name}");
        assert!(!message.contains('\u{1b}'), "{name}: an escape");
        let stem = name.rsplit_once('.').unwrap().0;
        golden::check(&format!("broken/{stem}.txt"), &message);
        assert!(
            std::fs::read(folder().join(&name)).unwrap() == before,
            "{name} was changed"
        );
    }
}

#[test]
fn every_mistake_has_its_file_line_and_column() {
    for name in inputs().iter().filter(|name| name.ends_with(".toml")) {
        let message = String::from_utf8(check(name).stderr).unwrap();
        let mistakes = message.lines().filter(|l| l.starts_with("error")).count();
        let places = places(name, &message);
        assert!(mistakes > 0, "{name}");
        assert_eq!(places.len(), mistakes, "{name}: {message}");
        assert!(
            places.iter().all(|place| is_line_and_column(place)),
            "{name}: {message}"
        );
    }
}

#[test]
fn two_mistakes_are_both_named_at_once() {
    let message = String::from_utf8(check("two-mistakes.toml").stderr).unwrap();
    assert_eq!(
        places("two-mistakes.toml", &message),
        [":3:11", ":11:10"],
        "{message}"
    );
}
