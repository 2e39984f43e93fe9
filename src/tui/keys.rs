//! The keys: one table from which dispatch, footer, help and README read.

use crate::tui::pages::Page;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the table of keys says what each does")]
pub enum Action {
    Up,
    Down,
    PageUp,
    PageDown,
    First,
    Last,
    NextPanel,
    PreviousPanel,
    Open,
    Add,
    Delete,
    Thinner,
    Thicker,
    NextCase,
    PreviousCase,
    NextCorner,
    PreviousCorner,
    Undo,
    Redo,
    Pin,
    Unpin,
    Work,
    Fixes,
    Find,
    FindNext,
    Save,
    SaveAs,
    Size,
    TakeSizes,
    Answer,
    Accept,
    Withdraw,
    Cautions,
    Help,
    Redraw,
    Show(Page),
    Back,
    Quit,
}

impl Action {
    /// Whether the footer tells of it on a page.
    pub fn serves(self, page: Page) -> bool {
        match self {
            Self::NextPanel | Self::Open => page == Page::Network,
            Self::Add | Self::Delete => matches!(page, Page::Network | Page::Readings),
            Self::Thicker => matches!(page, Page::Network | Page::Sizes),
            Self::Size | Self::TakeSizes => page == Page::Sizes,
            Self::Accept | Self::Withdraw => page == Page::Findings,
            _ => true,
        }
    }
}

/// One row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    /// The key.
    pub code: KeyCode,
    /// With Ctrl.
    pub ctrl: bool,
    /// What it asks for.
    pub action: Action,
    /// How it is written.
    pub label: &'static str,
    /// What it does; empty where another row of the same action says it.
    pub help: &'static str,
    /// Stands in the footer, in this short form.
    pub footer: &'static str,
}

const fn key(
    code: KeyCode,
    action: Action,
    label: &'static str,
    help: &'static str,
    footer: &'static str,
) -> Key {
    Key {
        code,
        ctrl: false,
        action,
        label,
        help,
        footer,
    }
}

const fn ctrl(letter: char, action: Action, label: &'static str) -> Key {
    Key {
        code: Char(letter),
        ctrl: true,
        action,
        label,
        help: "",
        footer: "",
    }
}

use KeyCode::Char;

/// Every key of the main screen.
pub const KEYS: &[Key] = &[
    key(KeyCode::Up, Action::Up, "Up", "move up (also k)", ""),
    key(Char('k'), Action::Up, "k", "", ""),
    key(
        KeyCode::Down,
        Action::Down,
        "Down",
        "move down (also j)",
        "",
    ),
    key(Char('j'), Action::Down, "j", "", ""),
    key(KeyCode::PageUp, Action::PageUp, "PgUp", "a page up", ""),
    key(
        KeyCode::PageDown,
        Action::PageDown,
        "PgDn",
        "a page down",
        "",
    ),
    key(
        KeyCode::Home,
        Action::First,
        "Home",
        "to the first line (also g)",
        "",
    ),
    key(Char('g'), Action::First, "g", "", ""),
    key(
        KeyCode::End,
        Action::Last,
        "End",
        "to the last line (also G)",
        "",
    ),
    key(Char('G'), Action::Last, "G", "", ""),
    key(
        KeyCode::Tab,
        Action::NextPanel,
        "Tab",
        "next panel; on a page more of its lower box (also l, Right)",
        "panel",
    ),
    key(Char('l'), Action::NextPanel, "l", "", ""),
    key(KeyCode::Right, Action::NextPanel, "Right", "", ""),
    key(
        KeyCode::BackTab,
        Action::PreviousPanel,
        "Shift-Tab",
        "previous panel; back in that box (also h, Left)",
        "",
    ),
    key(Char('h'), Action::PreviousPanel, "h", "", ""),
    key(KeyCode::Left, Action::PreviousPanel, "Left", "", ""),
    key(
        KeyCode::Enter,
        Action::Open,
        "Enter",
        "edit: on a network line go to its values, on a value type it, on a finding show its fixes",
        "edit",
    ),
    key(
        Char('1'),
        Action::Show(Page::Network),
        "1-9",
        "pages: 1 network, 2 budget, 3 data and grounds, 4 sizes, 5 take-off, 6 readings, 7 findings, 9 alternates",
        "pages",
    ),
    key(Char('2'), Action::Show(Page::Budget), "2", "", ""),
    key(Char('3'), Action::Show(Page::Data), "3", "", ""),
    key(Char('4'), Action::Show(Page::Sizes), "4", "", ""),
    key(Char('5'), Action::Show(Page::TakeOff), "5", "", ""),
    key(Char('6'), Action::Show(Page::Readings), "6", "", ""),
    key(Char('7'), Action::Show(Page::Findings), "7", "", ""),
    key(Char('9'), Action::Show(Page::Alternates), "9", "", ""),
    key(
        Char('a'),
        Action::Add,
        "a",
        "add a device with its run, or another thing",
        "add",
    ),
    key(
        Char('d'),
        Action::Delete,
        "d",
        "delete the selected thing; shows first what hangs on it",
        "delete",
    ),
    key(
        Char('['),
        Action::Thinner,
        "[",
        "selected run: next thinner cable (also -)",
        "",
    ),
    key(Char('-'), Action::Thinner, "-", "", ""),
    key(
        Char(']'),
        Action::Thicker,
        "]",
        "selected run: next thicker cable (also +)",
        "thicker",
    ),
    key(Char('+'), Action::Thicker, "+", "", ""),
    key(
        Char('c'),
        Action::NextCase,
        "c",
        "next case (C: previous)",
        "case",
    ),
    key(Char('C'), Action::PreviousCase, "C", "", ""),
    key(
        Char('o'),
        Action::NextCorner,
        "o",
        "next corner (O: previous)",
        "corner",
    ),
    key(Char('O'), Action::PreviousCorner, "O", "", ""),
    key(
        Char('u'),
        Action::Undo,
        "u",
        "take back the last change (also Ctrl-Z)",
        "undo",
    ),
    ctrl('z', Action::Undo, "Ctrl-Z"),
    key(
        Char('U'),
        Action::Redo,
        "U",
        "do it again (also Ctrl-R, Ctrl-Y)",
        "",
    ),
    ctrl('r', Action::Redo, "Ctrl-R"),
    ctrl('y', Action::Redo, "Ctrl-Y"),
    key(
        Char('p'),
        Action::Pin,
        "p",
        "pin the present design: every number then shows its change",
        "pin",
    ),
    key(Char('P'), Action::Unpin, "P", "take the pin out", ""),
    key(
        Char('w'),
        Action::Work,
        "w",
        "show the work of the selected number",
        "work",
    ),
    key(
        Char('f'),
        Action::Fixes,
        "f",
        "fixes of the selected finding, re-solved",
        "fixes",
    ),
    key(Char('/'), Action::Find, "/", "find a name", "find"),
    key(Char('n'), Action::FindNext, "n", "find the next", ""),
    key(Char('s'), Action::Save, "s", "save (also Ctrl-S)", "save"),
    ctrl('s', Action::Save, "Ctrl-S"),
    key(
        Char('S'),
        Action::SaveAs,
        "S",
        "save under another name",
        "",
    ),
    key(
        Char('z'),
        Action::Size,
        "z",
        "look for the cheapest cables that pass; Esc keeps the best so far",
        "cheapest",
    ),
    key(
        Char('y'),
        Action::TakeSizes,
        "y",
        "take the cheapest cables found, as one step",
        "take",
    ),
    key(
        Char('A'),
        Action::Answer,
        "A",
        "answer the open questions of the selected thing, or of the whole site",
        "",
    ),
    key(
        Char('x'),
        Action::Accept,
        "x",
        "accept the selected finding: who, why and when; it stays in sight and no longer counts",
        "accept",
    ),
    key(
        Char('X'),
        Action::Withdraw,
        "X",
        "withdraw the acceptance of the selected finding",
        "withdraw",
    ),
    key(
        KeyCode::F(2),
        Action::Cautions,
        "F2",
        "all cautions (also !)",
        "",
    ),
    key(Char('!'), Action::Cautions, "!", "", ""),
    key(
        Char('?'),
        Action::Help,
        "?",
        "this list of keys (also F1)",
        "keys",
    ),
    key(KeyCode::F(1), Action::Help, "F1", "", ""),
    ctrl('l', Action::Redraw, "Ctrl-L"),
    key(
        KeyCode::Esc,
        Action::Back,
        "Esc",
        "back to the network; in a value or a question: leave it",
        "",
    ),
    ctrl('g', Action::Back, "Ctrl-G"),
    key(
        Char('q'),
        Action::Quit,
        "q",
        "leave (asks where something is unsaved; also Ctrl-C)",
        "quit",
    ),
    ctrl('c', Action::Quit, "Ctrl-C"),
];

/// What the footer spares where it has no room, the first one first.
pub const SPARED: &[Action] = &[
    Action::Find,
    Action::NextCorner,
    Action::NextCase,
    Action::Thicker,
    Action::Pin,
    Action::Work,
    Action::Fixes,
    Action::Delete,
    Action::Show(Page::Network),
    Action::Undo,
    Action::Add,
];

/// What a key asks for on the main screen.
pub fn action(event: KeyEvent) -> Option<Action> {
    let ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
    KEYS.iter()
        .find(|k| k.code == event.code && k.ctrl == ctrl)
        .map(|k| k.action)
}

/// The keys with their help, in table order: label and text.
pub fn help() -> impl Iterator<Item = (&'static str, &'static str)> {
    KEYS.iter()
        .filter(|k| !k.help.is_empty())
        .map(|k| (k.label, k.help))
}

#[cfg(test)]
mod tests {
    use super::{KEYS, help};

    #[test]
    fn no_key_asks_for_two_things() {
        for (i, key) in KEYS.iter().enumerate() {
            assert!(
                KEYS[..i]
                    .iter()
                    .all(|k| k.code != key.code || k.ctrl != key.ctrl),
                "{}",
                key.label
            );
        }
    }

    #[test]
    fn every_action_but_a_redraw_is_in_the_help() {
        for key in KEYS.iter().filter(|k| k.action != super::Action::Redraw) {
            let told = KEYS
                .iter()
                .any(|k| k.action == key.action && !k.help.is_empty());
            let beside = help().any(|(_, text)| {
                text.contains(&format!("{}:", key.label)) || text.contains(key.label)
            });
            assert!(told || beside, "{} is told nowhere", key.label);
        }
    }
}
