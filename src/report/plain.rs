//! All tables as aligned plain text.

use unicode_width::UnicodeWidthStr as _;

use super::sheets::{Cell, Sheet};
use crate::units::fixed;

/// Writes the tables one below the other.
pub fn plain(title: &str, sheets: &[Sheet]) -> String {
    let mut out = format!("{title}\n");
    for sheet in sheets.iter().filter(|s| !s.rows.is_empty()) {
        out.push('\n');
        out.push_str(&sheet.name.to_uppercase());
        out.push('\n');
        let mut rows: Vec<Vec<String>> = vec![sheet.head.clone()];
        rows.extend(sheet.rows.iter().map(|row| row.iter().map(shown).collect()));
        rows.extend(totals(sheet));
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
    let numbers =
        |row: &Vec<Cell>| matches!(row.get(column), Some(Cell::Number(..) | Cell::Product(..)));
    sheet.rows.iter().any(numbers)
}

fn shown(cell: &Cell) -> String {
    match cell {
        Cell::Empty => "-".to_owned(),
        Cell::Text(words) => words.clone(),
        Cell::Number(value, digits) | Cell::Product(_, value, digits) => fixed(*value, *digits),
    }
}

fn totals(sheet: &Sheet) -> Option<Vec<String>> {
    if sheet.summed.is_empty() {
        return None;
    }
    let mut row = vec![String::new(); sheet.head.len()];
    "total".clone_into(&mut row[0]);
    for column in &sheet.summed {
        let values = sheet.rows.iter().filter_map(|row| match row[*column] {
            Cell::Number(value, digits) | Cell::Product(_, value, digits) => Some((value, digits)),
            Cell::Empty | Cell::Text(_) => None,
        });
        let (mut sum, mut most) = (0.0, 0);
        for (value, digits) in values {
            sum += value;
            most = most.max(digits);
        }
        row[*column] = fixed(sum, most);
    }
    Some(row)
}
