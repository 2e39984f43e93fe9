//! One digit of a length is typed: everything is solved and judged again, all cases, corners and
//! checks, and the picture is painted.

use std::time::Duration;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use divan::Bencher;
use farend::site::Project;
use farend::tui::{State, Theme, draw};
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::sites::{Shape, text};

/// A screen with somebody typing on it.
struct Screen {
    state: State,
    terminal: Terminal<TestBackend>,
}

impl Screen {
    /// Goes to the length of a run in the middle and leaves a 4 in it.
    fn new(devices: usize) -> Self {
        let project = Project::open(&text(Shape::Tree, devices)).unwrap();
        let mut screen = Self {
            state: State::new(project, None, Theme::FULL),
            terminal: Terminal::new(TestBackend::new(120, 40)).unwrap(),
        };
        for c in format!("/W{}", devices / 2).chars() {
            screen.press(KeyCode::Char(c));
        }
        let down = [KeyCode::Down; 3];
        let way = [KeyCode::Enter, KeyCode::Tab].into_iter().chain(down);
        let empty = [KeyCode::Backspace; "10 ft".len()];
        for code in way.chain([KeyCode::Enter]).chain(empty) {
            screen.press(code);
        }
        screen.press(KeyCode::Char('4'));
        screen
    }

    /// Presses a key and paints.
    fn press(&mut self, code: KeyCode) {
        self.state.key(KeyEvent::new(code, KeyModifiers::NONE));
        if self.state.stale {
            self.state.restudy();
        }
        self.terminal
            .draw(|frame| draw(frame, &mut self.state))
            .unwrap();
    }
}

/// A digit and, in turn, its removal.
#[divan::bench(args = [12, 1_000, 10_000], min_time = Duration::from_secs(2))]
fn keystroke(bencher: Bencher<'_, '_>, devices: usize) {
    let mut screen = Screen::new(devices);
    let mut digit = false;
    bencher.bench_local(|| {
        digit = !digit;
        screen.press(if digit {
            KeyCode::Char('2')
        } else {
            KeyCode::Backspace
        });
    });
    let texts = ["length = \"4 ft\"", "length = \"42 ft\""];
    assert!(
        texts
            .iter()
            .any(|t| screen.state.project.text().contains(t))
    );
}
