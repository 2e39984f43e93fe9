//! Which unit a spelling means: letter by letter, then in any case, then the nearest one.

use super::error::ReadError;
use super::measure::Unit;
use super::tables::{OTHERS, WORDS};
use super::text::excerpt;

/// Finds a unit in one of the tables and tells which table had it.
///
/// # Errors
///
/// `BareNumber`, `AmbiguousCase`, `WrongDimension` or `UnknownUnit`.
pub(super) fn find<'a>(
    text: &str,
    unit: &str,
    what: &'static str,
    tables: &[&'a [Unit]],
    allowed: impl Fn() -> Vec<&'static str>,
) -> Result<(usize, &'a Unit), ReadError> {
    if unit.is_empty() {
        return Err(ReadError::BareNumber {
            found: excerpt(text),
            what,
            allowed: allowed(),
        });
    }
    for (index, table) in tables.iter().enumerate() {
        if let Some(found) = table.iter().find(|u| u.name == unit) {
            return Ok((index, found));
        }
    }
    let plain = plain(unit);
    for (index, table) in tables.iter().enumerate() {
        match matching(&plain, table) {
            Match::One(unit) => return Ok((index, unit)),
            Match::Several(readings) => {
                return Err(ReadError::AmbiguousCase {
                    found: excerpt(unit),
                    readings,
                });
            }
            Match::None => {}
        }
    }
    Err(not_found(unit, &plain, what, allowed()))
}

/// Explains a unit that the wanted quantity does not have.
fn not_found(unit: &str, plain: &str, what: &'static str, allowed: Vec<&'static str>) -> ReadError {
    let exact = |table: &[Unit]| {
        table
            .iter()
            .any(|unit| is_spelled(unit, plain, |a, b| a == b))
    };
    let loose = |table: &[Unit]| !matches!(matching(plain, table), Match::None);
    let other = OTHERS
        .iter()
        .find(|(_, table)| exact(table))
        .or_else(|| OTHERS.iter().find(|(_, table)| loose(table)));
    match other {
        Some((it_is, _)) => ReadError::WrongDimension {
            found: excerpt(unit),
            it_is,
            wanted: what,
            allowed,
        },
        None => ReadError::UnknownUnit {
            found: excerpt(unit),
            nearest: nearest(plain, &allowed),
            what,
            allowed,
        },
    }
}

/// Returns the names of the units of a table.
pub(super) fn names(units: &[Unit]) -> Vec<&'static str> {
    units.iter().map(|unit| unit.name).collect()
}

/// Writes a unit in plain letters, without the blanks that carry no meaning.
pub(super) fn plain(unit: &str) -> String {
    let mut plain = String::with_capacity(unit.len());
    for c in unit.trim().chars() {
        match c {
            '\u{b5}' | '\u{3bc}' => plain.push('u'),
            '\u{3a9}' | '\u{2126}' => plain.push_str("ohm"),
            '\u{b2}' => plain.push('2'),
            '\u{ba}' => plain.push('\u{b0}'),
            '/' => {
                plain.truncate(plain.trim_end().len());
                plain.push('/');
            }
            ' ' if plain.ends_with(|last: char| {
                matches!(last, '/' | ' ' | '\u{b0}') || last.is_ascii_digit()
            }) => {}
            other => plain.push(other),
        }
    }
    plain
}

/// What a spelling matches in one table.
pub(super) enum Match<'a> {
    None,
    One(&'a Unit),
    Several(Vec<&'static str>),
}

/// Looks a plain spelling up: letter by letter first, then in any case where one reading is left.
pub(super) fn matching<'a>(plain: &str, units: &'a [Unit]) -> Match<'a> {
    if let Some(unit) = units
        .iter()
        .find(|unit| is_spelled(unit, plain, |a, b| a == b))
    {
        return Match::One(unit);
    }
    let mut found: Vec<&Unit> = units
        .iter()
        .filter(|unit| is_spelled(unit, plain, |a, b| a.eq_ignore_ascii_case(b)))
        .collect();
    // In mixed case the prefix was chosen; all capitals may just be a label's print.
    if found.len() > 1 && plain.contains(|c: char| c.is_ascii_lowercase()) {
        found.retain(|unit| unit.name.chars().next() == plain.chars().next());
    }
    match found.as_slice() {
        [] => Match::None,
        [unit] if unit.milli && plain.starts_with('M') => Match::Several(vec![unit.name]),
        [unit] => Match::One(unit),
        several => Match::Several(several.iter().map(|unit| unit.name).collect()),
    }
}

fn is_spelled(unit: &Unit, plain: &str, same: fn(&char, &char) -> bool) -> bool {
    let equal = |name: &str| {
        let mut letters = plain.chars();
        name.chars()
            .all(|c| letters.next().is_some_and(|letter| same(&c, &letter)))
            && letters.next().is_none()
    };
    // A blank behind a digit, as in ohm/100 m, is not part of the plain spelling.
    let closed = || unit.name.contains(' ') && equal(&unit.name.replace(' ', ""));
    equal(unit.name) || closed() || unit.also.iter().any(|name| equal(name))
}

/// Returns the allowed spelling most like the one found, where any is like it.
pub(super) fn nearest(found: &str, allowed: &[&'static str]) -> Option<&'static str> {
    let lower = found.to_ascii_lowercase();
    if let Some((_, unit)) = WORDS
        .iter()
        .find(|(word, unit)| *word == lower && allowed.contains(unit))
    {
        return Some(unit);
    }
    if lower.len() > 24 {
        return None;
    }
    allowed
        .iter()
        .map(|unit| {
            (
                strsim::damerau_levenshtein(&lower, &unit.to_ascii_lowercase()),
                *unit,
            )
        })
        .filter(|(distance, unit)| {
            *distance <= 2 && *distance < unit.chars().count().min(lower.chars().count())
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, unit)| unit)
}
