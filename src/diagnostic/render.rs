//! Input errors as text, each with its line of the file.

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use super::{InputError, Span, clean};
use crate::units::is_unprintable;

/// Longest line, in bytes, that is shown whole.
const WHOLE_LINE: usize = 400;
/// Bytes shown on either side of the place in a longer line.
const MARGIN: usize = 60;
/// Most bytes of the place itself shown in a longer line.
const LONGEST_PLACE: usize = 80;
/// What stands for the parts of a line that are cut off.
const CUT: &str = "...";

/// Prints the errors in the order of their places, those about the whole file first.
///
/// Nothing of the file, its name or the messages can steer the terminal.
pub fn render(errors: &[InputError], file_name: &str, source: &str, color: bool) -> String {
    let renderer = if color {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    let file_name = clean(file_name);
    let mut sorted: Vec<&InputError> = errors.iter().collect();
    sorted.sort_by_key(|error| error.place);
    let index = LineStarts::of(source);
    let printed: Vec<String> = sorted
        .into_iter()
        .map(|error| {
            let excerpt = error.place.map(|place| Excerpt::of(source, &index, place));
            renderer.render(&groups(error, &file_name, excerpt.as_ref())) + "\n"
        })
        .collect();
    printed.join("\n")
}

/// Lays one error out: title, place, line, what is allowed.
///
/// Where the line is cut, the place stands in a group of its own, or its column would count from
/// the cut.
fn groups<'a>(
    error: &InputError,
    file_name: &'a str,
    excerpt: Option<&'a Excerpt>,
) -> Vec<Group<'a>> {
    let title = Group::with_title(Level::ERROR.primary_title(clean(&error.message)));
    let origin = Origin::path(file_name);
    let notes = error
        .lines
        .iter()
        .map(|line| Level::NOTE.message(clean(line)));
    let help = error
        .hint
        .iter()
        .map(|hint| Level::HELP.message(clean(hint)));
    let Some(excerpt) = excerpt else {
        return vec![title.element(origin).elements(notes).elements(help)];
    };
    let line = Snippet::source(excerpt.text.as_str())
        .line_start(excerpt.line)
        .annotation(AnnotationKind::Primary.span(excerpt.span.start..excerpt.span.end));
    if !excerpt.cut {
        return vec![
            title
                .element(line.path(file_name))
                .elements(notes)
                .elements(help),
        ];
    }
    vec![
        title.element(origin.line(excerpt.line).char_column(excerpt.column)),
        Group::with_level(Level::ERROR)
            .element(line)
            .elements(notes)
            .elements(help),
    ]
}

/// Where the lines of a file start.
struct LineStarts(Vec<usize>);

impl LineStarts {
    fn of(source: &str) -> Self {
        let after_feeds = source
            .bytes()
            .enumerate()
            .filter(|(_, byte)| *byte == b'\n')
            .map(|(at, _)| at + 1);
        Self(std::iter::once(0).chain(after_feeds).collect())
    }

    /// Returns the index of the line that has this byte, and its first byte.
    fn line_at(&self, byte: usize) -> (usize, usize) {
        let line = self
            .0
            .partition_point(|start| *start <= byte)
            .saturating_sub(1);
        (line, self.0.get(line).copied().unwrap_or(0))
    }
}

/// The part of one line that is shown.
struct Excerpt {
    /// Counted from 1.
    line: usize,
    /// Counted from 1, in characters.
    column: usize,
    text: String,
    /// Whether `text` is only a part of the line.
    cut: bool,
    /// The place within `text`.
    span: Span,
}

impl Excerpt {
    fn of(source: &str, index: &LineStarts, place: Span) -> Self {
        let start = boundary_before(source, place.start);
        let (line, line_start) = index.line_at(start);
        let line_len = source[line_start..]
            .find('\n')
            .unwrap_or(source.len() - line_start);
        let text = source[line_start..line_start + line_len].trim_end_matches('\r');
        let from = (start - line_start).min(text.len());
        let to = boundary_before(text, place.end.saturating_sub(line_start)).max(from);
        let column = text[..from].chars().count() + 1;
        let cut = text.len() > WHOLE_LINE;
        let (text, span) = window(
            text,
            Span {
                start: from,
                end: to,
            },
        );
        Self {
            line: line + 1,
            column,
            text,
            cut,
            span,
        }
    }
}

/// Cuts a long line down to its place, and makes every line printable without moving a byte.
fn window(line: &str, place: Span) -> (String, Span) {
    if line.len() <= WHOLE_LINE {
        return (printable(line), place);
    }
    let from = boundary_before(line, place.start.saturating_sub(MARGIN));
    let end = boundary_before(line, place.end.min(place.start + LONGEST_PLACE)).max(place.start);
    let to = boundary_before(line, end + MARGIN);
    let head = if from > 0 { CUT } else { "" };
    let tail = if to < line.len() { CUT } else { "" };
    let moved = |at: usize| at - from + head.len();
    let text = format!("{head}{}{tail}", printable(&line[from..to]));
    (
        text,
        Span {
            start: moved(place.start),
            end: moved(end),
        },
    )
}

/// Puts a `?` in the place of every byte of an unprintable character; tabs stay.
fn printable(line: &str) -> String {
    let mut text = String::with_capacity(line.len());
    for c in line.chars() {
        if c != '\t' && is_unprintable(c) {
            text.extend(std::iter::repeat_n('?', c.len_utf8()));
        } else {
            text.push(c);
        }
    }
    text
}

/// Returns the last boundary between characters at or before this byte.
fn boundary_before(text: &str, byte: usize) -> usize {
    text.floor_char_boundary(byte)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const SOURCE: &str = "format = 1\n\n[run.W1]\nlength = 180\r\n";

    fn bare() -> InputError {
        InputError::at(30..33, "'180' has no unit")
            .with_line("a length is given in 'ft'")
            .with_hint("write '180 ft'")
    }

    #[test]
    fn an_error_shows_place_line_carets_note_and_help() {
        let text = render(&[bare()], "site.toml", SOURCE, false);
        let expected = "\
error: '180' has no unit
 --> site.toml:4:10
  |
4 | length = 180
  |          ^^^
  |
  = note: a length is given in 'ft'
  = help: write '180 ft'
";
        assert_eq!(text, expected);
    }

    #[test]
    fn errors_come_in_the_order_of_their_places() {
        let errors = [
            bare(),
            InputError::at(0..6, "second"),
            InputError::of_file("first"),
        ];
        let text = render(&errors, "site.toml", SOURCE, false);
        let at = |word: &str| text.find(word).unwrap();
        assert!(
            at("first") < at("second") && at("second") < at("'180' has"),
            "{text}"
        );
        assert!(text.contains("site.toml:1:1"));
    }

    #[test]
    fn nothing_steers_the_terminal() {
        let source = "a = \"\u{1b}[2J\u{202e}\u{9b}\" # \tµ\nb = 1\n";
        let at = source.find('µ').unwrap();
        let error = InputError::at(at..at + 2, "bad\u{1b}]0;x\u{7}\nline").with_hint("\u{2066}");
        let text = render(&[error], "si\u{1b}te\n.toml", source, false);
        assert!(
            !text.chars().any(|c| c != '\n' && is_unprintable(c)),
            "{text:?}"
        );
        assert!(text.contains("si?te?.toml:1:"), "{text}");
        assert!(text.contains("\"?[2J?????\""), "{text}");
    }

    #[test]
    fn a_long_line_is_cut_around_its_place() {
        let source = format!("{} = \"{}x\"\n", "k".repeat(5000), "v".repeat(90_000));
        let at = source.find('x').unwrap();
        let errors = [
            InputError::at(at..at + 1, "here"),
            InputError::at(0..source.len(), "all of it"),
        ];
        let text = render(&errors, "f", &source, false);
        assert!(text.lines().all(|line| line.len() < 400), "{text}");
        assert!(text.contains(&format!("f:1:{}", at + 1)), "{text}");
        assert!(text.contains("vvx"), "{text}");
    }

    #[test]
    fn colour_only_adds_styles() {
        let text = render(&[bare()], "site.toml", SOURCE, true);
        assert!(text.contains("\u{1b}["));
    }

    proptest! {
        #[test]
        fn any_place_in_any_text_is_shown(source in "[a-z µ²\n\r\t\u{0}-\u{20}\u{202e}\u{4e00}]{0,60}", start in 0usize..90, len in 0usize..90) {
            let text = render(&[InputError::at(start..start + len, "m")], "f", &source, false);
            prop_assert!(text.starts_with("error: m\n"));
            prop_assert!(!text.chars().any(|c| c != '\n' && is_unprintable(c)));
        }

        #[test]
        fn any_place_in_a_long_line_is_shown(unit in "\\PC{1,5}", start in 0usize..3000, len in 0usize..3000) {
            let source = unit.repeat(600);
            let text = render(&[InputError::at(start..start + len, "m")], "f", &source, false);
            prop_assert!(text.lines().all(|line| line.len() < 1200));
        }
    }
}
