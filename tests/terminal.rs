//! The program itself in a pseudo-terminal: it takes the screen over and gives it back.

use std::fs;
use std::io::{Read as _, Write as _};
use std::num::NonZero;
use std::path::PathBuf;
use std::process::Command;
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};
use tempfile::TempDir;

use crate::screens::YARD;

/// Longest wait for anything; a slow machine needs a part of it.
const PATIENCE: Duration = Duration::from_secs(60);

/// A folder with a site file, and a home for what the program keeps.
struct Desk {
    folder: TempDir,
}

/// The program on a screen of 80 x 24.
struct Running {
    child: Box<dyn Child + Send + Sync>,
    keyboard: Box<dyn std::io::Write + Send>,
    seen: Arc<(Mutex<Seen>, Condvar)>,
    _master: Box<dyn MasterPty + Send>,
}

/// What came out of the program.
struct Seen {
    screen: vt100::Parser,
    bytes: Vec<u8>,
    closed: bool,
}

impl Desk {
    /// A fresh copy of the invented yard.
    fn new() -> Self {
        let folder = TempDir::new().unwrap();
        fs::write(folder.path().join("yard.toml"), YARD).unwrap();
        Self { folder }
    }

    /// The site file.
    fn file(&self) -> PathBuf {
        self.folder.path().join("yard.toml")
    }

    /// Starts the program on the file, with one more variable of the environment.
    fn start(&self, variable: Option<(&str, &str)>) -> Running {
        let size = PtySize {
            rows: 24,
            cols: 80,
            pixel_width: 0,
            pixel_height: 0,
        };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_farend"));
        command.arg(self.file());
        command.cwd(self.folder.path());
        command.env("TERM", "xterm-256color");
        command.env("LC_ALL", "C.UTF-8");
        command.env("HOME", self.folder.path());
        command.env("XDG_STATE_HOME", self.folder.path().join("state"));
        command.env_remove("NO_COLOR");
        if let Some((name, value)) = variable {
            command.env(name, value);
        }
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let (rows, columns) = (NonZero::new(24).unwrap(), NonZero::new(80).unwrap());
        let seen = Seen {
            screen: vt100::Parser::new(rows, columns, 0),
            bytes: Vec::new(),
            closed: false,
        };
        let seen = Arc::new((Mutex::new(seen), Condvar::new()));
        watch(pair.master.try_clone_reader().unwrap(), Arc::clone(&seen));
        Running {
            child,
            keyboard: pair.master.take_writer().unwrap(),
            seen,
            _master: pair.master,
        }
    }
}

/// Reads what the program writes, until it closes the terminal.
fn watch(mut reader: Box<dyn std::io::Read + Send>, seen: Arc<(Mutex<Seen>, Condvar)>) {
    std::thread::spawn(move || {
        let mut buffer = [0; 4096];
        loop {
            let count = reader.read(&mut buffer).unwrap_or(0);
            let mut now = seen.0.lock().unwrap();
            now.screen.process(&buffer[..count]);
            now.bytes.extend_from_slice(&buffer[..count]);
            now.closed = count == 0;
            seen.1.notify_all();
            if now.closed {
                return;
            }
        }
    });
}

impl Running {
    /// Waits until something holds of what was seen.
    fn wait(&self, what: &str, holds: impl Fn(&Seen) -> bool) {
        let until = Instant::now() + PATIENCE;
        let mut now = self.seen.0.lock().unwrap();
        while !holds(&now) {
            let left = until.saturating_duration_since(Instant::now());
            assert!(
                !left.is_zero(),
                "waited for {what} in vain:\n{}",
                now.screen.screen().contents()
            );
            now = self.seen.1.wait_timeout(now, left).unwrap().0;
        }
    }

    /// Waits until the screen shows some words.
    fn shows(&self, words: &str) {
        self.wait(words, |seen| {
            seen.screen.screen().contents().contains(words)
        });
    }

    /// Types.
    fn types(&mut self, keys: &str) {
        self.keyboard.write_all(keys.as_bytes()).unwrap();
        self.keyboard.flush().unwrap();
    }

    /// Puts 90 ft for the length of W1, and waits for it.
    fn edits(&mut self) {
        self.shows("Findings");
        self.types("/W1\r\t");
        self.shows("[run W1]");
        self.types("\x1b[B\x1b[B\x1b[B\r");
        self.shows("Enter keeps it");
        self.types("\x7f\x7f\x7f\x7f\x7f\x7f90\r");
        self.shows("W1: length 90 ft; u takes it back");
    }

    /// Asks the program to end, as a closing session does.
    fn terminate(&self) {
        let id = self.child.process_id().unwrap().to_string();
        let sent = Command::new("kill").args(["-TERM", &id]).status().unwrap();
        assert!(sent.success());
    }

    /// Waits for the end and checks that the terminal is as it was.
    fn ends(&mut self) -> ExitStatus {
        self.wait("the end", |seen| seen.closed);
        let status = self.child.wait().unwrap();
        let now = self.seen.0.lock().unwrap();
        let screen = now.screen.screen();
        assert!(!screen.alternate_screen(), "the other screen was left");
        assert!(!screen.hide_cursor(), "the cursor is back");
        assert!(!screen.bracketed_paste(), "pasting is as it was");
        assert_eq!(
            screen.mouse_protocol_mode(),
            vt100::MouseProtocolMode::None,
            "the mouse is as it was"
        );
        status
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // A failed test leaves nothing behind.
        self.child.kill().ok();
    }
}

/// The yard with the edit in it.
fn edited() -> String {
    YARD.replace("\"180 ft\"", "\"90 ft\"")
}

#[test]
fn an_edit_is_saved_and_changes_its_line_only() {
    let desk = Desk::new();
    let mut farend = desk.start(None);
    farend.edits();
    assert_eq!(fs::read_to_string(desk.file()).unwrap(), YARD);
    farend.types("s");
    farend.shows("saved as");
    farend.types("q");
    assert_eq!(farend.ends().exit_code(), 0);
    let saved = fs::read_to_string(desk.file()).unwrap();
    assert_eq!(saved, edited());
    let differ = YARD.lines().zip(saved.lines()).filter(|(a, b)| a != b);
    assert_eq!(differ.count(), 1);
}

#[test]
fn work_cut_short_by_a_signal_is_offered_again() {
    let desk = Desk::new();
    let mut farend = desk.start(None);
    farend.edits();
    farend.terminate();
    assert!(!farend.ends().success());
    assert_eq!(fs::read_to_string(desk.file()).unwrap(), YARD);

    let mut again = desk.start(None);
    again.shows("Unsaved work on this site");
    again.types("y");
    again.shows("unsaved work is back");
    again.shows("18/2 90 ft");
    again.types("s");
    again.shows("saved as");
    again.types("q");
    assert_eq!(again.ends().exit_code(), 0);
    assert_eq!(fs::read_to_string(desk.file()).unwrap(), edited());

    let mut third = desk.start(None);
    third.shows("18/2 90 ft");
    third.types("q");
    assert_eq!(third.ends().exit_code(), 0);
}

#[test]
fn a_signal_with_nothing_unsaved_gives_the_terminal_back() {
    let desk = Desk::new();
    let mut farend = desk.start(None);
    farend.shows("Findings");
    farend.terminate();
    let status = farend.ends();
    assert!(status.signal().is_some(), "{status}");
    assert!(!desk.folder.path().join("state").exists());
}

#[test]
fn without_colour_the_selection_is_still_seen() {
    for (variable, coloured) in [(Some(("NO_COLOR", "1")), false), (None, true)] {
        let desk = Desk::new();
        let mut farend = desk.start(variable);
        farend.shows("Findings");
        farend.types("j");
        farend.wait("a selected line", |seen| {
            let screen = seen.screen.screen();
            (3..10).any(|row| screen.cell(row, 2).is_some_and(vt100::Cell::inverse))
        });
        farend.types("q");
        assert_eq!(farend.ends().exit_code(), 0);
        let now = farend.seen.0.lock().unwrap();
        assert_eq!(has_colour(&now.bytes), coloured);
    }
}

/// Whether any escape sequence chooses a colour.
fn has_colour(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    text.split("\x1b[").skip(1).any(|sequence| {
        let Some(end) = sequence.find(|c: char| c.is_ascii_alphabetic()) else {
            return false;
        };
        let numbers = sequence[..end].split(';').filter_map(|n| n.parse().ok());
        // 39 and 49 are the terminal's own colours.
        sequence[end..].starts_with('m')
            && numbers
                .filter(|n: &u32| ![39, 49].contains(n))
                .any(|n| (30..50).contains(&n) || (90..108).contains(&n))
    })
}
