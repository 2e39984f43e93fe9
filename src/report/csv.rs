//! One table as comma-separated values (RFC 4180).

use super::sheets::{Cell, Sheet, UNPRICED};

/// Writes a table; words that a spreadsheet would take for a formula are led by an apostrophe.
pub fn csv(sheet: &Sheet) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let rows = sheet.rows.iter().map(|row| row.iter().map(field).collect());
    let head: Vec<String> = sheet.head.iter().map(|word| harmless(word)).collect();
    for row in std::iter::once(head).chain(rows) {
        // Writing into memory cannot fail, and the rows are all as long as the head.
        writer.write_record(&row).ok();
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

fn field(cell: &Cell) -> String {
    match cell {
        Cell::Text(words) => harmless(words),
        Cell::Product(_, None, _) => UNPRICED.to_owned(),
        _ => cell
            .number()
            .map_or_else(String::new, |(value, _)| format!("{value}")),
    }
}

/// Words that no spreadsheet runs: `=`, `+`, `-`, `@`, tab and carriage return at the start call
/// for a formula in the common ones.
fn harmless(words: &str) -> String {
    if words.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{words}")
    } else {
        words.to_owned()
    }
}
