//! All tables as aligned plain text.

use unicode_width::UnicodeWidthStr as _;

use super::sheets::{Cell, Sheet};

/// Writes the tables one below the other.
pub fn plain(title: &str, sheets: &[Sheet]) -> String {
    let mut out = format!("{title}\n");
    for sheet in sheets.iter().filter(|s| !s.rows.is_empty()) {
        out.push('\n');
        out.push_str(&sheet.name.to_uppercase());
        out.push('\n');
        let mut rows: Vec<Vec<String>> = vec![sheet.head.clone()];
        rows.extend(
            sheet
                .rows
                .iter()
                .map(|row| row.iter().map(Cell::shown).collect()),
        );
        rows.extend(sheet.totals());
        let widths: Vec<usize> = (0..sheet.head.len())
            .map(|c| rows.iter().map(|r| r[c].width()).max().unwrap_or(0))
            .collect();
        for row in &rows {
            out.push_str(&aligned(sheet, row, &widths));
            out.push('\n');
        }
        for remark in &sheet.remarks {
            out.push_str(remark);
            out.push('\n');
        }
    }
    out
}

fn aligned(sheet: &Sheet, row: &[String], widths: &[usize]) -> String {
    let mut line = String::new();
    for (column, (words, width)) in row.iter().zip(widths).enumerate() {
        let blanks = " ".repeat(width - words.width());
        if is_number(sheet, column) {
            line.push_str(&blanks);
            line.push_str(words);
        } else {
            line.push_str(words);
            line.push_str(&blanks);
        }
        line.push_str("  ");
    }
    line.trim_end().to_owned()
}

fn is_number(sheet: &Sheet, column: usize) -> bool {
    let number = |row: &Vec<Cell>| row.get(column).and_then(Cell::number).is_some();
    sheet.rows.iter().any(number)
}
