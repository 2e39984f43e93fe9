//! What a person should know about a file or a site, and how it is printed.

mod render;

pub use render::render;

use crate::units::{ReadError, is_unprintable};

/// How grave a finding is, gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Do not energise, do not bid.
    Stop,
    /// Will not work in the worst case.
    Fail,
    /// Works, but is not good practice or has little left.
    Warn,
    /// Cannot be judged, because an input is missing.
    Ask,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// All of them, gravest first.
    pub const ALL: [Self; 5] = [Self::Stop, Self::Fail, Self::Warn, Self::Ask, Self::Note];

    /// Returns the word by which reports name it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::Fail => "fail",
            Self::Warn => "warn",
            Self::Ask => "ask",
            Self::Note => "note",
        }
    }
}

impl std::fmt::Display for Severity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

/// A stretch of a file, in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// Byte after the last one.
    pub end: usize,
}

impl From<std::ops::Range<usize>> for Span {
    fn from(range: std::ops::Range<usize>) -> Self {
        Self {
            start: range.start,
            end: range.end,
        }
    }
}

/// A mistake in an input that keeps it from being used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InputError {
    /// Where it stands; absent where it is about the file as a whole.
    pub place: Option<Span>,
    /// What was found, and what is allowed.
    pub message: String,
    /// Further lines, such as a long list of what is allowed.
    pub lines: Vec<String>,
    /// The nearest spelling or the next step.
    pub hint: Option<String>,
}

impl InputError {
    /// Makes an error about a stretch of the file, or about the file as a whole.
    pub fn new(place: Option<std::ops::Range<usize>>, message: impl Into<String>) -> Self {
        Self {
            place: place.map(Span::from),
            ..Self::of_file(message)
        }
    }

    /// Adds a line about what is allowed.
    pub fn allow(&mut self, line: impl Into<String>) -> &mut Self {
        self.lines.push(line.into());
        self
    }

    /// Sets the hint to the nearest spelling, if there is one.
    pub fn suggest(&mut self, nearest: Option<String>) -> &mut Self {
        self.advise(nearest.map(|word| format!("did you mean '{word}'?")))
    }

    /// Sets the hint, if there is one.
    pub fn advise(&mut self, hint: Option<String>) -> &mut Self {
        self.hint = hint.or(self.hint.take());
        self
    }

    /// Makes an error about a stretch of the file.
    pub fn at(place: impl Into<Span>, message: impl Into<String>) -> Self {
        Self {
            place: Some(place.into()),
            message: message.into(),
            lines: Vec::new(),
            hint: None,
        }
    }

    /// Makes an error about the file as a whole.
    pub fn of_file(message: impl Into<String>) -> Self {
        Self {
            place: None,
            message: message.into(),
            lines: Vec::new(),
            hint: None,
        }
    }

    /// Makes an error of a value that could not be read.
    pub fn from_read(place: impl Into<Span>, error: &ReadError) -> Self {
        Self {
            hint: error.hint(),
            ..Self::at(place, error.to_string())
        }
    }

    /// Adds a line about what is allowed.
    #[must_use]
    pub fn with_line(mut self, line: impl Into<String>) -> Self {
        self.lines.push(line.into());
        self
    }

    /// Sets the hint.
    #[must_use]
    pub fn with_hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

/// Returns the text with every character that could steer a terminal replaced by `?`.
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| if is_unprintable(c) { '?' } else { c })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn severities_are_ordered_gravest_first() {
        assert!(Severity::ALL.is_sorted());
        assert_eq!(Severity::Stop.min(Severity::Note), Severity::Stop);
        assert_eq!(format!("{:<5}|", Severity::Ask), "ask  |");
    }

    #[test]
    fn clean_leaves_nothing_that_steers_a_terminal() {
        let dirty =
            "a\u{1b}[31mb\u{7}\t\n\r\u{7f}\u{9b}\u{202e}\u{2066}\u{2028}\u{200f}\u{61c}Ω µ²";
        assert_eq!(clean(dirty), format!("a?[31mb{}Ω µ²", "?".repeat(11)));
        assert!(!clean(dirty).chars().any(is_unprintable));
    }

    #[test]
    fn a_value_error_keeps_its_hint() {
        let error = crate::units::read::<crate::units::Length>("0,5 ft").unwrap_err();
        let input = InputError::from_read(3..9, &error);
        assert_eq!(input.place, Some(Span { start: 3, end: 9 }));
        assert_eq!(input.hint.as_deref(), Some("write '0.5 ft'"));
    }
}
