//! How the values of a quantity are written, as a regular expression for other programs.

use std::fmt::Write;

use super::measure::Unit;
use super::spelling::names;
use super::tables::OTHERS;

/// A number as it is read: a sign, digits with a point, an exponent.
const NUMBER: &str = "[-+\u{2212}]?(?:[0-9]+\\.?[0-9]*|\\.[0-9]+)(?:[eE][-+]?[0-9]+)?";

/// A quantity as other programs may know it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// What it is called.
    pub what: &'static str,
    /// Its units, as the program writes them.
    pub units: Vec<&'static str>,
    /// What every text that is read matches; some that are not read match as well.
    pub pattern: String,
}

/// Returns how the quantity that has a unit is written; none for a unit that no quantity has.
pub fn written(unit: &str) -> Option<Written> {
    if unit == "AWG" {
        return Some(gauge());
    }
    let has = |units: &&[Unit]| units.iter().any(|u| u.name == unit);
    let (what, units) = OTHERS.iter().find(|(_, units)| has(units))?;
    let mut body = format!("{NUMBER}\\s*(?:{})", spellings(units));
    if unit == "ft" {
        // Inches may follow feet.
        body = format!("(?:{NUMBER}\\s*(?:{})\\s*)?{body}", spellings(&units[..1]));
    }
    Some(Written {
        what,
        units: names(units),
        pattern: format!("^\\s*{body}\\s*$"),
    })
}

/// Returns what every draw matches: amps, watts, ohms, VA, a label or `off`.
pub fn draw_pattern() -> String {
    let of = |unit: &str| {
        let has = |(_, units): &&(&str, &[Unit])| units.iter().any(|u| u.name == unit);
        OTHERS
            .iter()
            .find(has)
            .map_or(String::new(), |(_, units)| spellings(units))
    };
    let [amps, watts, ohms, va, volts] = ["A", "W", "ohm", "VA", "V"].map(of);
    format!(
        "^\\s*(?:[oO][fF][fF]|{NUMBER}\\s*(?:{amps}|{watts}|{ohms}|{va})|{NUMBER}\\s*(?:{amps}|{watts})\\s+[aA][tT]\\s+{NUMBER}\\s*(?:{volts}))\\s*$"
    )
}

fn gauge() -> Written {
    Written {
        what: "conductor size",
        units: vec!["AWG", "mm2"],
        pattern: format!(
            "^\\s*(?:(?:[0-9]+\\s*/\\s*0|{NUMBER})\\s*[aA][wW][gG]|{NUMBER}\\s*[mM][mM][2\u{b2}])\\s*$"
        ),
    }
}

/// All spellings of some units, each in any letter case that may be read.
fn spellings(units: &[Unit]) -> String {
    let all = units.iter().flat_map(|unit| {
        let also = unit.also.iter().copied();
        std::iter::once(unit.name)
            .chain(also)
            .map(|name| spelling(name, unit.milli))
    });
    all.collect::<Vec<_>>().join("|")
}

/// One spelling: blanks where they carry no meaning, signs that stand for letters, any case but
/// for the m of milli.
fn spelling(name: &str, milli: bool) -> String {
    let mut pattern = String::new();
    let mut rest = name;
    while let Some(c) = rest.chars().next() {
        if let Some(after) = rest.strip_prefix("ohm") {
            pattern += "(?:[oO][hH][mM]|\u{3a9}|\u{2126})";
            rest = after;
            continue;
        }
        let first = rest.len() == name.len();
        match c {
            'm' if first && milli => pattern.push('m'),
            'u' => pattern += "[uU\u{b5}\u{3bc}]",
            '2' => pattern += "[2\u{b2}]",
            '/' => pattern += "\\s*/\\s*",
            ' ' => pattern += "\\s*",
            '\u{b0}' => pattern += "[\u{b0}\u{ba}]\\s*",
            c if c.is_ascii_digit() => {
                // Writing to a string cannot fail.
                let _ = write!(pattern, "{c}\\s*");
            }
            c if c.is_ascii_alphabetic() => {
                let (small, large) = (c.to_ascii_lowercase(), c.to_ascii_uppercase());
                let _ = write!(pattern, "[{small}{large}]");
            }
            '"' | '\'' | '%' => pattern.push(c),
            other => pattern.push(other),
        }
        rest = &rest[c.len_utf8()..];
    }
    pattern
}
