//! Mistakes of TOML itself, in words of the trade.

use std::ops::Range;

use toml::de::Error;

use crate::site::form::Mistakes;

/// Adds every mistake of the parser, in the order of the text.
pub(crate) fn add(text: &str, errors: &[Error], mistakes: &mut Mistakes) {
    // The keys below a table that stands twice are reported twice as well.
    let mut in_second = 0..0;
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        let message = error.message().replace('\n', ", ");
        if message != "duplicate key" {
            let (message, remedy) = other(text, &span, &message);
            let mistake = mistakes.add(&Some(span), message);
            if let Some(remedy) = remedy {
                mistake.allow(remedy);
            }
            continue;
        }
        if in_second.contains(&span.start) {
            continue;
        }
        let name = text.get(span.clone()).unwrap_or_default().trim();
        let name = name.trim_matches(['"', '\'']);
        if is_header(text, span.start) {
            in_second = span.start..next_header(text, span.end);
            mistakes
                .add(&Some(span), format!("the table of '{name}' stands twice"))
                .allow("give one of the two another name, or put their keys into one table");
        } else {
            mistakes
                .add(
                    &Some(span),
                    format!("the key '{name}' stands twice in its table"),
                )
                .allow("keep one of the two");
        }
    }
}

/// What the parser says of anything but a key that stands twice, and what to do.
fn other(text: &str, span: &Range<usize>, message: &str) -> (String, Option<&'static str>) {
    let found = text.get(span.clone()).unwrap_or_default().trim();
    if message.contains("must be quoted") {
        if found.is_empty() {
            return (
                "nothing stands after the '='".to_owned(),
                Some("write the value, or take the line out"),
            );
        }
        return (
            format!("not valid TOML: text without quotes: {found}"),
            Some("text, and a value with its unit, stand in double quotes, as \"24 V\""),
        );
    }
    if message.contains("invalid basic string") {
        return (
            "not valid TOML: this text does not end".to_owned(),
            Some("text starts and ends with a double quote, on one line"),
        );
    }
    if message.contains("carriage return must be followed") {
        return (
            "not valid TOML: a carriage return alone ends no line".to_owned(),
            Some("save the file with line ends of Unix (LF) or Windows (CR LF)"),
        );
    }
    if message.contains("recurse") || message.contains("recursion limit") {
        return (
            "not valid TOML: lists or tables are nested too deeply".to_owned(),
            Some("no key of a site file needs more than four levels"),
        );
    }
    (format!("not valid TOML: {message}"), None)
}

fn is_header(text: &str, at: usize) -> bool {
    let before = text.get(..at).unwrap_or_default();
    let line = before.rsplit('\n').next().unwrap_or_default();
    line.trim_start().starts_with('[') && !line.contains('=')
}

/// Where the next table starts.
fn next_header(text: &str, from: usize) -> usize {
    let rest = text.get(from..).unwrap_or_default();
    rest.find("\n[").map_or(text.len(), |at| from + at + 1)
}
