//! How things look: marks first, colour second.

use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier, Style};

use crate::diagnostic::Severity;

/// What the terminal can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Theme {
    /// Colours, beside marks and words.
    pub colour: bool,
    /// Only ASCII characters.
    pub ascii: bool,
}

impl Theme {
    /// All marks and colours.
    pub const FULL: Self = Self {
        colour: true,
        ascii: false,
    };

    /// What the environment asks for, given its variables.
    pub fn from_environment(variable: impl Fn(&str) -> Option<String>) -> Self {
        let set = |name: &str| variable(name).is_some_and(|v| !v.is_empty());
        let terminal = variable("TERM").unwrap_or_default();
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
            .iter()
            .find_map(|n| variable(n).filter(|v| !v.is_empty()));
        let utf8 = locale.is_none_or(|l| l.to_lowercase().replace('-', "").contains("utf8"));
        Self {
            colour: !set("NO_COLOR") && terminal != "dumb",
            ascii: !utf8 || matches!(terminal.as_str(), "linux" | "dumb"),
        }
    }

    /// The style of a severity.
    pub fn severity(self, severity: Severity) -> Style {
        let style = Style::new().add_modifier(Modifier::BOLD);
        if !self.colour {
            return style;
        }
        // Hues that the colour-blind tell apart; the mark beside them says the same.
        style.fg(match severity {
            Severity::Stop | Severity::Fail => Color::LightRed,
            Severity::Warn => Color::Yellow,
            Severity::Ask => Color::Cyan,
            Severity::Note => Color::Gray,
        })
    }

    /// Headings and borders.
    pub fn quiet(self) -> Style {
        if self.colour {
            Style::new().fg(Color::Gray)
        } else {
            Style::new()
        }
    }

    /// The selected line of the panel in use, or of another one.
    pub fn selected(self, in_use: bool) -> Style {
        if in_use {
            Style::new().add_modifier(Modifier::REVERSED)
        } else {
            Style::new().add_modifier(Modifier::UNDERLINED)
        }
    }

    /// A number that just changed.
    pub fn changed(self) -> Style {
        let style = Style::new().add_modifier(Modifier::BOLD | Modifier::UNDERLINED);
        if self.colour {
            style.fg(Color::LightGreen)
        } else {
            style
        }
    }

    /// The pinned design.
    pub fn pinned(self) -> Style {
        if self.colour {
            Style::new().fg(Color::LightMagenta)
        } else {
            Style::new().add_modifier(Modifier::UNDERLINED)
        }
    }

    /// The banner of cautions.
    pub fn caution(self) -> Style {
        let style = Style::new().add_modifier(Modifier::BOLD);
        if self.colour {
            style.fg(Color::Black).bg(Color::Yellow)
        } else {
            style.add_modifier(Modifier::REVERSED)
        }
    }

    /// Turns a drawn screen into ASCII, where the terminal has nothing else.
    pub fn finish(self, buffer: &mut Buffer) {
        if !self.ascii {
            return;
        }
        for cell in &mut buffer.content {
            if cell.symbol().is_ascii() {
                continue;
            }
            let plain = match cell.symbol() {
                "─" | "−" | "–" => "-",
                "│" => "|",
                "‼" | "■" => "#",
                "‹" => "<",
                "›" => ">",
                "•" => "*",
                "·" => ".",
                "→" => ">",
                _ => "+",
            };
            cell.set_symbol(plain);
        }
    }
}

/// The mark of a severity, of a shape of its own.
pub(super) fn mark(severity: Severity) -> &'static str {
    match severity {
        Severity::Stop => "■",
        Severity::Fail => "‼",
        Severity::Warn => "!",
        Severity::Ask => "?",
        Severity::Note => "·",
    }
}
