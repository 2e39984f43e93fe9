//! What can lie over the screen, and what a key there asks of the world outside.

use ratatui::style::{Modifier, Style};
use ratatui_textarea::TextArea;

use crate::site::Edit;
use crate::study::Fix;
use crate::tui::answers::Walk;
use crate::tui::fields::Value;
use crate::tui::group::Group;

/// What the loop has to do after a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// Nothing.
    None,
    /// Save; even where the file on disk has changed, if true.
    Save(bool),
    /// Save, then leave.
    SaveAndQuit,
    /// Leave.
    Quit,
    /// Paint everything anew.
    Redraw,
}

/// What lies over the screen; at most one at a time.
#[derive(Debug)]
pub enum Dialog {
    /// A value being typed.
    Type(Box<Typing>),
    /// A thing being added.
    Add(Box<Form>),
    /// A thing about to be deleted, and what hangs on it.
    Delete {
        /// Its name.
        name: String,
        /// What goes with it, in words.
        goes: Vec<String>,
        /// What makes it impossible, in words.
        holds: Vec<String>,
        /// The edits that do it.
        edits: Vec<Edit>,
    },
    /// Fixes of a finding.
    Fixes {
        /// What the finding says.
        title: String,
        /// The fixes that were tried and help.
        fixes: Vec<Fix>,
        /// The selected one.
        selected: usize,
    },
    /// Lines to read: help, work or cautions.
    Read {
        /// Title.
        title: &'static str,
        /// Lines.
        lines: Vec<String>,
        /// First line shown.
        top: u16,
    },
    /// Open questions, one after the other.
    Answer(Walk),
    /// A name being looked for.
    Find(Box<TextArea<'static>>),
    /// A file name being typed.
    SaveAs(Box<TextArea<'static>>),
    /// Leaving with unsaved work.
    Quit,
    /// The file on disk is not the one that was opened.
    Overwrite,
    /// Unsaved work of an earlier time was found: its text.
    Recover(String),
    /// What to open, where no file was named.
    Welcome {
        /// Selected line.
        selected: usize,
    },
}

/// A value being typed.
#[derive(Debug)]
pub struct Typing {
    /// The value as it was.
    pub value: Value,
    /// What is typed.
    pub input: TextArea<'static>,
    /// An edit of this typing stands in the project.
    pub applied: bool,
    /// What is wrong with what is typed.
    pub error: Option<String>,
}

/// What a form adds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Adds {
    /// A device and its run.
    Device,
    /// A supply.
    Supply,
    /// A junction and its run.
    Junction,
    /// A run between two ends.
    Run,
    /// A fuse.
    Fuse,
    /// An earth.
    Earth,
    /// A table beside the network.
    Table(Group),
    /// The acceptance of a finding.
    Acceptance,
    /// A whole new site.
    Site,
}

impl Adds {
    /// What `a` offers of the network.
    const THINGS: [Self; 6] = [
        Self::Device,
        Self::Supply,
        Self::Junction,
        Self::Run,
        Self::Fuse,
        Self::Earth,
    ];

    /// All that `a` offers.
    pub fn all() -> impl Iterator<Item = Self> + Clone {
        let tables = Group::ADDED.into_iter().map(Self::Table);
        Self::THINGS.into_iter().chain(tables)
    }

    /// What `a` offers after this.
    pub fn next(self) -> Self {
        let later = Self::all().skip_while(|a| *a != self).nth(1);
        later.unwrap_or(Self::Device)
    }

    /// In words.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Device => "device with its run",
            Self::Supply => "supply",
            Self::Junction => "junction with its run",
            Self::Run => "run",
            Self::Fuse => "fuse",
            Self::Earth => "earth",
            Self::Table(group) => group.table(),
            Self::Acceptance => "acceptance",
            Self::Site => "new site",
        }
    }
}

/// A form of a few lines.
#[derive(Debug)]
pub struct Form {
    /// What it adds.
    pub adds: Adds,
    /// What stands over it.
    pub title: String,
    /// Labels and what is typed.
    pub lines: Vec<(&'static str, TextArea<'static>)>,
    /// The line in use.
    pub at: usize,
    /// What is wrong.
    pub error: Option<String>,
}

impl Form {
    /// Goes to a line; what is typed first takes the place of what was filled in.
    pub fn go(&mut self, line: usize) {
        if let Some((_, area)) = self.lines.get_mut(self.at) {
            area.cancel_selection();
        }
        self.at = line.min(self.lines.len().saturating_sub(1));
        if let Some((_, area)) = self.lines.get_mut(self.at) {
            select(area);
        }
    }

    /// What is typed on the line of a label.
    pub fn typed(&self, label: &str) -> String {
        let line = self.lines.iter().find(|(own, _)| *own == label);
        line.map_or_else(String::new, |(_, area)| text(area).trim().to_owned())
    }
}

/// One line of text with the cursor at its end.
pub fn input(text: &str) -> TextArea<'static> {
    let mut area = TextArea::new(vec![text.to_owned()]);
    area.set_cursor_line_style(Style::default());
    area.set_selection_style(Style::new().add_modifier(Modifier::REVERSED));
    area.move_cursor(ratatui_textarea::CursorMove::End);
    area
}

/// Selects all of an input, so that what is typed next takes its place.
pub fn select(area: &mut TextArea<'_>) {
    if !text(area).is_empty() {
        area.select_all();
    }
}

/// The text of a one-line input.
pub fn text(area: &TextArea<'_>) -> String {
    area.lines().join(" ")
}
