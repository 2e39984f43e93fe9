//! A drawn screen as a picture.

use std::fmt::Write as _;

use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};

/// Width of a cell, in the picture's units.
const W: u16 = 9;
/// Height of a cell.
const H: u16 = 18;
/// Room around the screen.
const EDGE: u16 = 12;
/// Background of a terminal that is left as it is.
const BACK: &str = "#14171c";
/// Its text.
const FORE: &str = "#d8dce3";

/// How a stretch of cells looks: text, background, bold, underlined.
type Look = (&'static str, &'static str, bool, bool);

/// The screen as SVG: backgrounds, then words, then lines and blocks.
pub(super) fn picture(buffer: &Buffer) -> String {
    let (columns, rows) = (buffer.area.width, buffer.area.height);
    let (width, height) = (columns * W + 2 * EDGE, rows * H + 2 * EDGE);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" font-family=\"DejaVu Sans Mono, Menlo, Consolas, monospace\" font-size=\"15\">\n<rect width=\"{width}\" height=\"{height}\" rx=\"8\" fill=\"{BACK}\"/>\n"
    );
    for y in 0..rows {
        let mut x = 0;
        while x < columns {
            let look = look(&buffer[(x, y)]);
            let end = (x..columns)
                .find(|k| self::look(&buffer[(*k, y)]) != look)
                .unwrap_or(columns);
            stretch(&mut svg, buffer, (x, end), y, look);
            x = end;
        }
    }
    svg + "</svg>\n"
}

/// Cells of one look in one row.
fn stretch(svg: &mut String, buffer: &Buffer, (from, to): (u16, u16), y: u16, look: Look) {
    let (fore, back, _, underlined) = look;
    let (left, top) = (from * W + EDGE, y * H + EDGE);
    let wide = (to - from) * W;
    if back != BACK {
        writeln!(
            svg,
            "<rect x=\"{left}\" y=\"{top}\" width=\"{wide}\" height=\"{H}\" fill=\"{back}\"/>"
        )
        .unwrap();
    }
    if underlined {
        let low = top + H - 2;
        writeln!(
            svg,
            "<path d=\"M{left} {low}.5h{wide}\" stroke=\"{fore}\"/>"
        )
        .unwrap();
    }
    let mut word = (from, String::new());
    for x in from..to {
        let symbol = buffer[(x, y)].symbol();
        if symbol == " " || shape(symbol).is_some() {
            text(svg, &word, y, look);
            word = (x + 1, String::new());
        } else {
            word.1 += symbol;
        }
    }
    text(svg, &word, y, look);
    lines(svg, buffer, (from, to), y, fore);
}

/// One word; each starts on its own cell, so that no font drifts off the grid.
fn text(svg: &mut String, (x, word): &(u16, String), y: u16, (fore, _, bold, _): Look) {
    if word.is_empty() {
        return;
    }
    let word = word
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;");
    let bold = if bold { " font-weight=\"bold\"" } else { "" };
    let (left, base) = (x * W + EDGE, y * H + EDGE + 14);
    writeln!(
        svg,
        "<text x=\"{left}\" y=\"{base}\" fill=\"{fore}\"{bold}>{word}</text>"
    )
    .unwrap();
}

/// Box-drawing characters and blocks as one path each, so that they join without gaps.
fn lines(svg: &mut String, buffer: &Buffer, (from, to): (u16, u16), y: u16, fore: &str) {
    let (mut strokes, mut fills) = (String::new(), String::new());
    for x in from..to {
        let Some(shape) = shape(buffer[(x, y)].symbol()) else {
            continue;
        };
        let (left, top) = (x * W + EDGE, y * H + EDGE);
        match shape {
            Shape::Arms(arms) => {
                // Left, right, up, down, from the middle of the cell.
                let ways = [('l', "h-4.5"), ('r', "h4.5"), ('u', "v-9"), ('d', "v9")];
                for (_, way) in ways.iter().filter(|(arm, _)| arms.contains(*arm)) {
                    write!(strokes, "M{left}.5 {}{way}", top + 9).unwrap();
                }
            }
            Shape::Block(upper, lower) => {
                let start = top + if upper { 0 } else { 9 };
                let tall = if upper && lower { H } else { 9 };
                write!(fills, "M{left} {start}h{W}v{tall}h-{W}z").unwrap();
            }
        }
    }
    if !strokes.is_empty() {
        writeln!(
            svg,
            "<path transform=\"translate(4 0)\" d=\"{strokes}\" stroke=\"{fore}\" fill=\"none\"/>"
        )
        .unwrap();
    }
    if !fills.is_empty() {
        writeln!(svg, "<path d=\"{fills}\" fill=\"{fore}\"/>").unwrap();
    }
}

/// What is drawn instead of written.
enum Shape {
    /// Lines from the middle of the cell.
    Arms(&'static str),
    /// The upper and the lower half, filled.
    Block(bool, bool),
}

/// The shape of a symbol, if it is one.
fn shape(symbol: &str) -> Option<Shape> {
    Some(match symbol {
        "─" => Shape::Arms("lr"),
        "│" => Shape::Arms("ud"),
        "┌" => Shape::Arms("rd"),
        "┐" => Shape::Arms("ld"),
        "└" => Shape::Arms("ru"),
        "┘" => Shape::Arms("lu"),
        "├" => Shape::Arms("rud"),
        "┤" => Shape::Arms("lud"),
        "┬" => Shape::Arms("lrd"),
        "┴" => Shape::Arms("lru"),
        "┼" => Shape::Arms("lrud"),
        "▀" => Shape::Block(true, false),
        "▄" => Shape::Block(false, true),
        "█" => Shape::Block(true, true),
        _ => return None,
    })
}

/// The look of a cell, reversed where it is.
fn look(cell: &Cell) -> Look {
    let (fore, back) = (colour(cell.fg, FORE), colour(cell.bg, BACK));
    let has = |modifier| cell.modifier.contains(modifier);
    let (fore, back) = if has(Modifier::REVERSED) {
        (back, fore)
    } else {
        (fore, back)
    };
    (fore, back, has(Modifier::BOLD), has(Modifier::UNDERLINED))
}

/// A colour as a picture has it.
fn colour(colour: Color, otherwise: &'static str) -> &'static str {
    match colour {
        Color::Black => BACK,
        Color::Gray => "#98a1ad",
        Color::LightRed => "#ff7b72",
        Color::LightGreen => "#7ee787",
        Color::Yellow => "#e3b341",
        Color::Cyan => "#56d4dd",
        Color::LightMagenta => "#e2a5ff",
        _ => otherwise,
    }
}
