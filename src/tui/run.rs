//! The loop: draw, read, look up, update, do.

use std::collections::hash_map::DefaultHasher;
use std::fs;
use std::hash::{Hash, Hasher};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use anyhow::Context as _;
use crossterm::event::{
    self, Event, KeyCode, KeyEvent, KeyModifiers, MouseButton, MouseEvent, MouseEventKind,
};
use etcetera::{AppStrategy, AppStrategyArgs, choose_app_strategy};

use crate::diagnostic::clean;
use crate::store;
use crate::tui::dialog::{Dialog, Effect};
use crate::tui::keys::Action;
use crate::tui::search::Searcher;
use crate::tui::state::State;
use crate::tui::terminal::Screen;
use crate::tui::view;

/// How long the loop waits for a key before it looks for signals and keeps unsaved work.
const TICK: Duration = Duration::from_millis(200);
/// How long it waits for a key before it looks whether a search has ended.
const LOOK: Duration = Duration::from_millis(5);
/// Sites of up to this many devices are solved before the next picture, larger ones after it.
const SMALL: usize = 1500;

/// Runs the screen until the person leaves; `opened` is the text that the file had.
///
/// # Errors
/// Where the terminal cannot be used.
pub fn run(mut state: State, opened: Option<String>) -> anyhow::Result<()> {
    let mut files = Files { opened, kept: None };
    if let Some(text) = files.unsaved_of_before(&state) {
        state.dialog = Some(Dialog::Recover(text));
    }
    state.today = time::OffsetDateTime::now_utc().date().to_string();
    let mut screen = Screen::take().context("this is no terminal to open a screen on")?;
    let signal = turn(&mut state, &mut files, &mut screen, &mut Searcher::start())?;
    drop(screen);
    if let Some(signal) = signal {
        files.keep(&state);
        signal_hook::low_level::emulate_default_handler(signal)?;
    }
    Ok(())
}

/// Draws, reads and updates until somebody leaves; a signal is returned.
fn turn(
    state: &mut State,
    files: &mut Files,
    screen: &mut Screen,
    searcher: &mut Searcher,
) -> anyhow::Result<Option<i32>> {
    loop {
        state.follow_sizing();
        state.follow_designs();
        if state.stale && state.site().devices.len() <= SMALL {
            state.restudy();
        }
        screen.terminal.draw(|frame| view::draw(frame, state))?;
        if let Some(signal) = screen.asked_to_leave() {
            return Ok(Some(signal));
        }
        if !state.stale && state.study.states.is_none() {
            searcher.ask(state.generation, state.site());
        }
        let waiting = match (state.stale, searcher.waits) {
            (true, _) => Duration::ZERO,
            (false, true) => LOOK,
            (false, false) => TICK,
        };
        match event::poll(waiting) {
            Ok(true) => {}
            Ok(false) if state.stale => {
                state.restudy();
                continue;
            }
            Ok(false) => {
                match searcher.answer(state.generation) {
                    Some(all) => state.found(all),
                    None if searcher.waits => {}
                    None => files.keep(state),
                }
                continue;
            }
            // A signal ends the wait; the next turn looks which.
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error.into()),
        }
        let effect = take(state, event::read()?);
        if perform(effect, state, files, screen)? {
            return Ok(None);
        }
    }
}

/// Takes one event.
fn take(state: &mut State, event: Event) -> Effect {
    match event {
        Event::Key(key) if key.is_press() => state.key(key),
        Event::Paste(text) => {
            let mut effect = Effect::None;
            for c in text.chars().filter(|c| !c.is_control()).take(1000) {
                if state.dialog.is_none() {
                    break;
                }
                effect = state.key(KeyEvent::new(KeyCode::Char(c), KeyModifiers::NONE));
            }
            effect
        }
        Event::Mouse(mouse) => click(state, mouse),
        _ => Effect::None,
    }
}

fn click(state: &mut State, mouse: MouseEvent) -> Effect {
    match mouse.kind {
        MouseEventKind::ScrollUp if state.dialog.is_none() => state.act(Action::Up),
        MouseEventKind::ScrollDown if state.dialog.is_none() => state.act(Action::Down),
        MouseEventKind::Down(MouseButton::Left) if state.dialog.is_none() => {
            view::click(state, mouse.column, mouse.row);
            Effect::None
        }
        _ => Effect::None,
    }
}

/// Does what a key asked of the world outside; true means leave.
fn perform(
    effect: Effect,
    state: &mut State,
    files: &mut Files,
    screen: &mut Screen,
) -> anyhow::Result<bool> {
    match effect {
        Effect::None => Ok(false),
        Effect::Redraw => {
            screen.terminal.clear()?;
            Ok(false)
        }
        Effect::Quit => {
            files.forget(state);
            Ok(true)
        }
        Effect::Save(force) => Ok(files.save(state, force) && state.leaving),
        Effect::SaveAndQuit => {
            // A site without a name asks for one first, and leaves once that is given.
            state.leaving = true;
            Ok(files.save(state, false))
        }
    }
}

/// The files behind the screen.
struct Files {
    /// What the site's file held when it was last read or written.
    opened: Option<String>,
    /// Hash of the unsaved work that was last kept.
    kept: Option<u64>,
}

impl Files {
    /// Saves, unless that needs an answer first; true where it did.
    fn save(&mut self, state: &mut State, force: bool) -> bool {
        let Some(path) = state.path.clone() else {
            state.ask_name();
            return false;
        };
        if !force && self.differs_on_disk(&path) {
            state.dialog = Some(Dialog::Overwrite);
            return false;
        }
        let text = state.project.text();
        match store::save(&path, &text) {
            Ok(()) => {
                self.forget(state);
                state.project.mark_saved();
                state.message = format!("saved as {}", clean(&path.display().to_string()));
                self.opened = Some(text);
                true
            }
            Err(error) => {
                state.message = format!("NOT saved: {error}; S saves under another name");
                false
            }
        }
    }

    /// Whether the file now holds something else than what was read or written.
    fn differs_on_disk(&self, path: &Path) -> bool {
        match fs::read_to_string(path) {
            Ok(text) => self.opened.as_ref() != Some(&text),
            Err(error) => error.kind() != io::ErrorKind::NotFound,
        }
    }

    /// Keeps unsaved work beside, so that nothing is ever lost.
    fn keep(&mut self, state: &State) {
        if !state.project.is_unsaved() {
            return;
        }
        let text = state.project.text();
        let hash = hash(&text);
        if self.kept == Some(hash) {
            return;
        }
        if let Some(path) = recovery(state.path.as_deref()) {
            let kept = path.parent().map(fs::create_dir_all).transpose().is_ok()
                && store::save(&path, &text).is_ok();
            self.kept = kept.then_some(hash);
        }
    }

    /// Removes what was kept here: it is saved, or was given up. What an earlier time left and
    /// nobody took up stays.
    fn forget(&mut self, state: &State) {
        if self.kept.take().is_none() {
            return;
        }
        if let Some(path) = recovery(state.path.as_deref()) {
            fs::remove_file(path).ok();
        }
    }

    /// Unsaved work of an earlier time on the same file.
    fn unsaved_of_before(&self, state: &State) -> Option<String> {
        let text = fs::read_to_string(recovery(state.path.as_deref())?).ok()?;
        (self.opened.as_ref() != Some(&text)).then_some(text)
    }
}

/// Where unsaved work on a file is kept.
fn recovery(path: Option<&Path>) -> Option<PathBuf> {
    let arguments = AppStrategyArgs {
        top_level_domain: String::new(),
        author: String::new(),
        app_name: "farend".into(),
    };
    let strategy = choose_app_strategy(arguments).ok()?;
    let folder = strategy.state_dir().unwrap_or_else(|| strategy.data_dir());
    let name = match path {
        None => "new-site".to_owned(),
        Some(path) => {
            let whole = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
            format!("{:016x}", hash(&whole))
        }
    };
    Some(folder.join(format!("{name}.unsaved.toml")))
}

fn hash(value: impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}
