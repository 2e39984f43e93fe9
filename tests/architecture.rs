//! Which room may import which: every import runs down.

use std::path::{Path, PathBuf};

/// Rooms from low to high; those of one line are beside one another and do not know each other.
const ROOMS: &[&[&str]] = &[
    &["joined", "grouped", "threads"],
    &["units"],
    &["diagnostic"],
    &["tables"],
    &["site"],
    &["practice"],
    &["circuit"],
    &["solve"],
    &["results"],
    &["battery", "readings"],
    &["states"],
    &["checks"],
    &["study"],
    &["takeoff"],
    &["size"],
    &["alternates"],
    &["report", "demo", "store"],
    &["tui"],
    &["cli"],
    &["main"],
];
/// Rooms that may read files, the clock and the surroundings, and that may print.
const OUTSIDE: &[&str] = &["store", "tui", "cli", "main"];
/// What nobody else may use.
const BARRED: &[&str] = &[
    "anyhow",
    "std::fs",
    "std::io::stdout",
    "std::env",
    "std::time",
];

fn height(room: &str) -> Option<usize> {
    ROOMS.iter().position(|level| level.contains(&room))
}

/// Every source file below a folder, in order.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut entries: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            found.extend(files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
    found
}

/// The text without comments and blanks at the ends of lines.
fn code(text: &str) -> String {
    text.lines()
        .map(|line| line.split("//").next().unwrap_or_default().trim())
        .collect::<Vec<_>>()
        .join("\n")
}

fn is_name(c: char) -> bool {
    c.is_ascii_alphanumeric() || c == '_'
}

/// The whole paths that follow a root, for instance `crate`; groups in braces are spread out.
fn paths(code: &str, root: &str) -> Vec<String> {
    let start = format!("{root}::");
    let mut found = Vec::new();
    for (at, _) in code.match_indices(&start) {
        if !code[..at].ends_with(|c| is_name(c) || c == ':') {
            spread(root, &code[at + root.len() + 2..], &mut found);
        }
    }
    found
}

/// Adds every path that a text begins with, below `above`; returns how much of the text they are.
fn spread(above: &str, text: &str, found: &mut Vec<String>) -> usize {
    if text.starts_with('{') {
        let mut at = 1;
        while at < text.len() && !text[at..].starts_with('}') {
            let skipped = text[at..].find(|c| is_name(c) || c == '{' || c == '}');
            at += skipped.unwrap_or(text.len() - at);
            if !text[at..].starts_with('}') {
                at += spread(above, &text[at..], found).max(1);
            }
        }
        return at + 1;
    }
    let end = text.find(|c| !is_name(c)).unwrap_or(text.len());
    let path = format!("{above}::{}", &text[..end]);
    if text[end..].starts_with("::") {
        return end + 2 + spread(&path, &text[end + 2..], found);
    }
    found.push(path);
    end
}

/// What a file imports that it must not.
fn refused(room: &str, text: &str) -> Vec<String> {
    let code = code(text);
    let mut refused = Vec::new();
    let Some(own) = height(room) else {
        return vec![format!("the room '{room}' has no place in the order")];
    };
    let mut inside = paths(&code, "crate");
    inside.extend(paths(&code, "farend"));
    for path in inside {
        let Some(other) = path.split("::").nth(1).filter(|r| *r != room) else {
            continue;
        };
        match height(other) {
            Some(other) if other < own => {}
            Some(_) => refused.push(format!("{room} imports {path}, which runs up")),
            None => refused.push(format!("{room} imports {path}, a room without a place")),
        }
    }
    if !OUTSIDE.contains(&room) {
        let mut used = paths(&code, "std");
        used.extend(paths(&code, "anyhow"));
        for path in used {
            let barred = |b: &&&str| path == **b || path.starts_with(&format!("{b}::"));
            if let Some(barred) = BARRED.iter().find(barred) {
                refused.push(format!("{room} uses {barred}"));
            }
        }
    }
    refused
}

#[test]
fn imports_run_down() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    for file in files(&src) {
        let inside = file.strip_prefix(&src).unwrap();
        let first = Path::new(inside.iter().next().unwrap());
        let room = first.file_stem().unwrap().to_str().unwrap();
        if room == "lib" {
            continue;
        }
        let text = std::fs::read_to_string(&file).unwrap();
        let mut lines = refused(room, &text);
        // At the level of the file itself; deeper modules may reach up to it.
        let root = first == inside || inside == first.join("mod.rs");
        let out = if root {
            "use super::"
        } else {
            "use super::super::"
        };
        if text.lines().any(|line| line.starts_with(out)) {
            lines.push(format!("'{out}' leaves the room"));
        }
        all.extend(lines.iter().map(|l| format!("{}: {l}", inside.display())));
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn imports_that_run_up_are_seen() {
    for (room, text) in [
        ("site", "use crate::circuit::Circuit;"),
        ("solve", "use crate::{units::{self, Power}, results::Row};"),
        ("report", "fn f() { crate::store::save(); }"),
        ("checks", "use std::{\n    io,\n    fs::File,\n};"),
        ("study", "use std::io::{self, stdout};"),
        ("units", "let now = std::time::Instant::now();"),
        ("report", "use anyhow::Result;"),
        ("report", "fn f() -> anyhow::Result<()> {}"),
        ("attic", ""),
    ] {
        assert!(!refused(room, text).is_empty(), "{room}: {text}");
    }
    for (room, text) in [
        ("solve", "use crate::circuit::Circuit; // not crate::cli"),
        ("store", "use std::{fs, io};"),
        ("cli", "use crate::report::{Tone, text};"),
        (
            "results",
            "use std::collections::HashMap; use crate::results::near;",
        ),
    ] {
        assert_eq!(refused(room, text), Vec::<String>::new(), "{room}: {text}");
    }
}
