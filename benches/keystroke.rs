//! Time from a key to the painted picture: one digit of a length is typed, and everything is
//! solved and judged again, all cases, corners and checks.

#![allow(clippy::unwrap_used, reason = "a benchmark may fail loudly")]

use std::fmt::Write as _;
use std::time::{Duration, Instant};

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use farend::site::Project;
use farend::tui::{State, Theme, draw};
use ratatui::Terminal;
use ratatui::backend::TestBackend;

/// Devices of one supply.
const FAMILY: usize = 20;
/// Draws in turn: constant current, constant power, resistance, label.
const DRAWS: [&str; 4] = [
    "{ idle = \"20 mA\", active = \"45 mA\" }",
    "{ idle = \"0.5 W\", active = \"1.1 W\" }",
    "{ idle = \"900 ohm\", active = \"480 ohm\" }",
    "{ idle = \"off\", active = \"0.05 A at 24 V\" }",
];

/// A site of some devices: supplies of twenty each, every three on the one before them.
fn site(devices: usize) -> String {
    let mut text =
        String::from("format = 1\n# Invented.\n[site]\nname = \"Many\"\nunits = \"us\"\n");
    for i in 0..devices {
        let (family, k) = (i / FAMILY, i % FAMILY);
        if k == 0 {
            write!(text, "[supply.S{family}]\nvoltage = \"24 V\"\ntolerance = \"5 %\"\nresistance = \"0.2 ohm\"\ncurrent = \"2 A\"\n").unwrap();
        }
        let from = match k {
            0 => format!("S{family}"),
            _ => format!("D{}", family * FAMILY + (k - 1) / 3),
        };
        let draw = DRAWS[i % DRAWS.len()];
        write!(text, "[device.D{i}]\nkind = \"sensor\"\nlowest = \"18 V\"\nhighest = \"27 V\"\ndraw = {draw}\n[run.W{i}]\nfrom = \"{from}\"\nto = \"D{i}\"\ncable = \"18/2\"\nlength = \"{} ft\"\n", 10 + i % 37).unwrap();
    }
    text
}

/// Presses a key and paints; the time that took.
fn press(state: &mut State, terminal: &mut Terminal<TestBackend>, code: KeyCode) -> Duration {
    let start = Instant::now();
    state.key(KeyEvent::new(code, KeyModifiers::NONE));
    if state.stale {
        state.restudy();
    }
    terminal.draw(|frame| draw(frame, state)).unwrap();
    start.elapsed()
}

/// Times of typing one digit, shortest first.
fn times(devices: usize, count: usize) -> Vec<Duration> {
    let project = Project::open(&site(devices)).unwrap();
    let mut state = State::new(project, None, Theme::FULL);
    let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
    let middle = format!("/W{}", devices / 2);
    for c in middle.chars() {
        press(&mut state, &mut terminal, KeyCode::Char(c));
    }
    for code in [
        KeyCode::Enter,
        KeyCode::Tab,
        KeyCode::Down,
        KeyCode::Down,
        KeyCode::Down,
    ] {
        press(&mut state, &mut terminal, code);
    }
    press(&mut state, &mut terminal, KeyCode::Enter);
    for _ in 0.."10 ft".len() {
        press(&mut state, &mut terminal, KeyCode::Backspace);
    }
    press(&mut state, &mut terminal, KeyCode::Char('4'));
    let mut times = Vec::with_capacity(count);
    for k in 0..count {
        let digit = char::from(b'0' + u8::try_from(k % 10).unwrap());
        times.push(press(&mut state, &mut terminal, KeyCode::Char(digit)));
        assert!(
            state
                .project
                .text()
                .contains(&format!("length = \"4{digit} ft\""))
        );
        press(&mut state, &mut terminal, KeyCode::Backspace);
    }
    times.sort();
    times
}

fn main() {
    // `cargo test --benches` runs this as a test: nothing to test here.
    if std::env::args().any(|a| a == "--test") {
        return;
    }
    // `cargo bench --bench keystroke -- 1000` times that size alone.
    let only: Option<usize> = std::env::args().find_map(|a| a.parse().ok());
    println!("key to painted picture, ms; devices, median, p99, goal");
    for (devices, count, goal) in [
        (12, 500, "median 1"),
        (1000, 200, "median 4, p99 16"),
        (10_000, 50, "median 60"),
    ] {
        if only.is_some_and(|only| only != devices) {
            continue;
        }
        let times = times(devices, count);
        let at = |part: usize| {
            times[(times.len() * part / 100).min(times.len() - 1)].as_secs_f64() * 1e3
        };
        println!("{devices:6}  {:8.3}  {:8.3}  {goal}", at(50), at(99));
    }
}
