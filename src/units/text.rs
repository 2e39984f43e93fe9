//! What of a person's text may reach a terminal or a message.

/// Characters of a value that a message repeats at most.
const EXCERPT_CHARS: usize = 48;

/// Tells whether a character steers a terminal or the direction of text instead of being printed.
///
/// These are C0 (tab and line feed too), DEL, C1, the controls of writing direction and the line
/// and paragraph separators.
pub fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{206f}')
}

/// Returns the text as a message may repeat it: unprintable characters as `?`, cut when long.
pub fn excerpt(text: &str) -> String {
    let mut kept: String = text
        .trim()
        .chars()
        .take(EXCERPT_CHARS)
        .map(|c| if is_unprintable(c) { '?' } else { c })
        .collect();
    if text.trim().chars().nth(EXCERPT_CHARS).is_some() {
        kept.push_str("...");
    }
    kept
}

/// Joins words as a person lists them: `a, b or c`.
pub(super) fn one_of(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [only] => format!("'{only}'"),
        [rest @ .., last] => {
            let rest: Vec<String> = rest.iter().map(|word| format!("'{word}'")).collect();
            format!("{} or '{last}'", rest.join(", "))
        }
    }
}
