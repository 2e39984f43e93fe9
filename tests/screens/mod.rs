//! The screen under scripts of keys, on an invented site of its own.
//!
//! A script is words: names of keys (`down`, `shift-tab`, `ctrl-s`, `f2`), and anything else
//! is typed as it stands, so `250 space f t` types `250 ft`.

mod accept;
mod answers;
mod battery;
mod behaviour;
mod beside;
mod lists;
mod mash;
mod readings;
mod shots;
mod signals;
mod svg;
mod words;

use std::path::Path;

use farend::site::Project;
use farend::tui::{Effect, State, Theme, draw};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;

/// The invented site that the scripts run on.
pub(crate) const YARD: &str = include_str!("yard.toml");

/// The same yard with a greater supply, prices and choices.
pub(crate) const SIZES: &str = include_str!("sizes.toml");

/// The screen opened on a site file.
fn open(text: &str, theme: Theme) -> State {
    let project = Project::open(text).unwrap();
    let mut state = State::new(project, Some("yard.toml".into()), theme);
    state.search();
    state
}

/// Plays a script and returns what the last key asked for.
fn play(state: &mut State, script: &str) -> Effect {
    let mut effect = Effect::None;
    for key in words::keys(script) {
        effect = state.key(key);
        settle(state);
    }
    effect
}

/// Solves again where a key left the study behind, searches all states, and waits for a search of
/// sizes to end, as the loop does.
fn settle(state: &mut State) {
    if state.stale {
        state.restudy();
    }
    while state.follow_sizing() || state.follow_designs() {
        std::thread::yield_now();
    }
    state.search();
}

/// The screen drawn at a size.
fn drawn(state: &mut State, width: u16, height: u16) -> Buffer {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| draw(frame, state)).unwrap();
    terminal.backend().buffer().clone()
}

/// The characters of a drawn screen, line by line, without blanks at the ends.
fn text_of(buffer: &Buffer) -> String {
    let mut text = String::new();
    for row in buffer.content.chunks(usize::from(buffer.area.width)) {
        let line: String = row.iter().map(ratatui::buffer::Cell::symbol).collect();
        text += line.trim_end();
        text.push('\n');
    }
    text
}

/// Compares with a file of `screenshots/`; rewrites it where `UPDATE_GOLDEN` is set.
fn golden(name: &str, actual: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("screenshots")
        .join(name);
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(&path, actual).unwrap();
        return;
    }
    let kept = std::fs::read_to_string(&path)
        .unwrap_or_default()
        .replace("\r\n", "\n");
    assert!(
        kept == actual,
        "{name} differs; UPDATE_GOLDEN=1 rewrites it. Now it is:\n{actual}"
    );
}
