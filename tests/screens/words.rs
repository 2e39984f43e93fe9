//! Scripts of keys in words.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// Keys with a name.
const NAMED: &[(&str, KeyCode)] = &[
    ("down", KeyCode::Down),
    ("up", KeyCode::Up),
    ("left", KeyCode::Left),
    ("right", KeyCode::Right),
    ("enter", KeyCode::Enter),
    ("esc", KeyCode::Esc),
    ("tab", KeyCode::Tab),
    ("shift-tab", KeyCode::BackTab),
    ("backspace", KeyCode::Backspace),
    ("delete", KeyCode::Delete),
    ("home", KeyCode::Home),
    ("end", KeyCode::End),
    ("page-up", KeyCode::PageUp),
    ("page-down", KeyCode::PageDown),
    ("space", KeyCode::Char(' ')),
    ("f1", KeyCode::F(1)),
    ("f2", KeyCode::F(2)),
    ("f3", KeyCode::F(3)),
];

/// The keys of a script.
pub(super) fn keys(script: &str) -> Vec<KeyEvent> {
    script.split_whitespace().flat_map(word).collect()
}

/// One word: a named key, or characters to type.
fn word(word: &str) -> Vec<KeyEvent> {
    let plain = |code| KeyEvent::new(code, KeyModifiers::NONE);
    if let Some((_, code)) = NAMED.iter().find(|(name, _)| *name == word) {
        return vec![plain(*code)];
    }
    if let Some(letter) = word.strip_prefix("ctrl-").and_then(|w| w.chars().next()) {
        return vec![KeyEvent::new(KeyCode::Char(letter), KeyModifiers::CONTROL)];
    }
    // `name*3` presses a named key three times.
    if let Some((name, count)) = word.split_once('*')
        && let Some((_, code)) = NAMED.iter().find(|(n, _)| *n == name)
    {
        return vec![plain(*code); count.parse().unwrap()];
    }
    word.chars().map(|c| plain(KeyCode::Char(c))).collect()
}
