//! All tables as an Office Open XML workbook (ECMA-376).

use rust_xlsxwriter::utility::row_col_to_cell;
use rust_xlsxwriter::{Format, Formula, Workbook, Worksheet, XlsxError};

use super::sheets::{Cell, Sheet, UNPRICED};

/// Widest column, in characters.
const WIDEST: usize = 48;

/// Writes the tables, one a sheet: numbers as numbers, totals and products as formulas, words
/// always as words.
///
/// # Errors
/// Where the workbook cannot be put together, for instance with more rows than the format has.
pub fn xlsx(sheets: &[Sheet]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let strong = Format::new().set_bold().set_text_wrap();
    for sheet in sheets {
        write(book.add_worksheet(), sheet, &strong)?;
    }
    book.save_to_buffer()
}

fn write(page: &mut Worksheet, sheet: &Sheet, strong: &Format) -> Result<(), XlsxError> {
    page.set_name(sheet.name)?;
    page.set_freeze_panes(1, 0)?;
    for (column, word) in sheet.head.iter().enumerate() {
        let column = narrow(column)?;
        page.write_string_with_format(0, column, word, strong)?;
        page.set_column_width(column, width(sheet, usize::from(column)))?;
    }
    let mut at = 1;
    for row in &sheet.rows {
        for (column, cell) in row.iter().enumerate() {
            put(page, at, narrow(column)?, cell)?;
        }
        at += 1;
    }
    let last = at;
    if !sheet.summed.is_empty() && !sheet.rows.is_empty() {
        page.write_string_with_format(at, 0, "total", strong)?;
        for column in &sheet.summed {
            let numbers = sheet.rows.iter().filter_map(|r| r[*column].number());
            let sum = numbers.map(|(value, _)| value).reduce(|a, b| a + b);
            let column = narrow(*column)?;
            let sum = match sum {
                Some(sum) => sum_above(last, column).set_result(sum.to_string()),
                None => sum_if_any(last, column),
            };
            page.write_formula_with_format(at, column, sum, &decimals(2))?;
        }
        at += 1;
    }
    for remark in &sheet.remarks {
        at += 1;
        page.write_string(at, 0, remark)?;
    }
    Ok(())
}

fn put(page: &mut Worksheet, row: u32, column: u16, cell: &Cell) -> Result<(), XlsxError> {
    match cell {
        Cell::Empty => {}
        Cell::Text(words) => {
            page.write_string(row, column, words)?;
        }
        Cell::Number(value, digits) => {
            page.write_number_with_format(row, column, *value, &decimals(*digits))?;
        }
        Cell::Product([a, b], value, digits) => {
            let (a, b) = (
                row_col_to_cell(row, narrow(*a)?),
                row_col_to_cell(row, narrow(*b)?),
            );
            let formula = match value {
                Some(value) => Formula::new(format!("={a}*{b}")).set_result(value.to_string()),
                // Whoever puts a price in gets the cost.
                None => Formula::new(format!("=IF(ISNUMBER({b}),{a}*{b},\"{UNPRICED}\")"))
                    .set_result(UNPRICED),
            };
            page.write_formula_with_format(row, column, formula, &decimals(*digits))?;
        }
        Cell::Above(summed, value, digits) => {
            let formula = sum_above(row, narrow(*summed)?).set_result(value.to_string());
            page.write_formula_with_format(row, column, formula, &decimals(*digits))?;
        }
    }
    Ok(())
}

/// The sum of all rows of a column above one.
fn sum_above(row: u32, column: u16) -> Formula {
    let (first, end) = (row_col_to_cell(1, column), row_col_to_cell(row - 1, column));
    Formula::new(format!("=SUM({first}:{end})"))
}

/// The same where no row has a number yet: no total until one has.
fn sum_if_any(row: u32, column: u16) -> Formula {
    let (first, end) = (row_col_to_cell(1, column), row_col_to_cell(row - 1, column));
    let formula = format!("=IF(COUNT({first}:{end})=0,\"-\",SUM({first}:{end}))");
    Formula::new(formula).set_result("-")
}

fn decimals(digits: usize) -> Format {
    let zeros = "0".repeat(digits);
    Format::new().set_num_format(if digits == 0 {
        "0".to_owned()
    } else {
        format!("0.{zeros}")
    })
}

fn width(sheet: &Sheet, column: usize) -> f64 {
    let cells = sheet.rows.iter().filter_map(|row| match row.get(column)? {
        Cell::Text(words) => Some(words.chars().count()),
        _ => None,
    });
    let widest = cells.max().unwrap_or(0).clamp(10, WIDEST);
    u32::try_from(widest).map_or(10.0, f64::from)
}

fn narrow(column: usize) -> Result<u16, XlsxError> {
    u16::try_from(column).map_err(|_| XlsxError::RowColumnLimitError)
}
