//! Why a text is not a value, in words that name what was found and what would do.

use std::fmt;

use super::text::one_of;

/// A text that is not the value that was wanted.
///
/// Every `found` is already an excerpt that is safe to print.
#[derive(Clone, Debug, PartialEq)]
pub enum ReadError {
    /// A number without its unit.
    BareNumber {
        /// The number as typed.
        found: String,
        /// The quantity wanted.
        what: &'static str,
        /// Units that would do.
        allowed: Vec<&'static str>,
    },
    /// A comma inside a number.
    DecimalComma {
        /// The value as typed.
        found: String,
        /// The same with a decimal point.
        corrected: String,
        /// The same without separators, where the comma may have parted thousands.
        whole: Option<String>,
    },
    /// A unit that no table has.
    UnknownUnit {
        /// The unit as typed.
        found: String,
        /// The spelling most like it.
        nearest: Option<&'static str>,
        /// The quantity wanted.
        what: &'static str,
        /// Units that would do.
        allowed: Vec<&'static str>,
    },
    /// A unit of another quantity.
    WrongDimension {
        /// The unit as typed.
        found: String,
        /// The quantity that this unit measures.
        it_is: &'static str,
        /// The quantity wanted.
        wanted: &'static str,
        /// Units that would do.
        allowed: Vec<&'static str>,
    },
    /// Upper and lower case leave it open whether milli or mega is meant.
    AmbiguousCase {
        /// The unit as typed.
        found: String,
        /// The spellings that leave no doubt.
        readings: Vec<&'static str>,
    },
    /// Infinity, not-a-number, or a number beyond what can be computed with.
    NotFinite {
        /// The value as typed.
        found: String,
    },
    /// No number where one is due.
    NotANumber {
        /// The value as typed.
        found: String,
    },
    /// A negative value of a quantity that has none.
    Negative {
        /// The value as typed.
        found: String,
        /// The quantity wanted.
        what: &'static str,
    },
    /// Zero of a quantity that cannot be zero.
    Zero {
        /// The value as typed.
        found: String,
        /// The quantity wanted.
        what: &'static str,
    },
    /// A temperature that cannot be.
    BelowAbsoluteZero {
        /// The value as typed.
        found: String,
    },
    /// More than the program accepts.
    TooLarge {
        /// The value as typed.
        found: String,
        /// The quantity wanted.
        what: &'static str,
        /// The most that is accepted.
        limit: &'static str,
    },
    /// A conductor size beyond the range of sizes.
    OutOfRange {
        /// The value as typed.
        found: String,
        /// The thinnest size.
        least: &'static str,
        /// The thickest size.
        most: &'static str,
    },
    /// A character that steers the terminal or the direction of text.
    ControlCharacter {
        /// The value with each of them replaced.
        found: String,
    },
}

impl ReadError {
    /// Returns the spelling that would be read, where one is near.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::BareNumber { found, allowed, .. } => allowed
                .first()
                .map(|unit| format!("write '{found} {unit}' if that is what is meant")),
            Self::DecimalComma {
                corrected,
                whole: None,
                ..
            } => Some(format!("write '{corrected}'")),
            Self::DecimalComma {
                corrected,
                whole: Some(whole),
                ..
            } => Some(format!(
                "write '{corrected}', or '{whole}' if the comma parts thousands"
            )),
            Self::UnknownUnit {
                nearest: Some(unit),
                ..
            } => Some(format!("did you mean '{unit}'?")),
            Self::AmbiguousCase { readings, .. } => {
                let lines: Vec<String> = readings.iter().map(|unit| meaning(unit)).collect();
                Some(format!("write {}", lines.join(" or ")))
            }
            Self::UnknownUnit { .. }
            | Self::WrongDimension { .. }
            | Self::NotFinite { .. }
            | Self::NotANumber { .. }
            | Self::Negative { .. }
            | Self::Zero { .. }
            | Self::BelowAbsoluteZero { .. }
            | Self::TooLarge { .. }
            | Self::OutOfRange { .. }
            | Self::ControlCharacter { .. } => None,
        }
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::DecimalComma { found, .. } => {
                write!(
                    f,
                    "'{found}' has a comma; numbers have a decimal point and no separators"
                )
            }
            Self::NotFinite { found } => write!(f, "'{found}' is not a finite number"),
            Self::NotANumber { found } if found.is_empty() => {
                f.write_str("'' has no number; a number and its unit are due")
            }
            Self::NotANumber { found } => write!(f, "'{found}' is not a number with a unit"),
            Self::ControlCharacter { found } => {
                write!(
                    f,
                    "'{found}' has a control character; only printable text is allowed"
                )
            }
            Self::AmbiguousCase { found, readings } => {
                let readings = one_of(readings);
                write!(
                    f,
                    "'{found}' may be milli or mega; {readings} leaves no doubt"
                )
            }
            Self::BareNumber { what, allowed, .. }
            | Self::UnknownUnit { what, allowed, .. }
            | Self::WrongDimension {
                wanted: what,
                allowed,
                ..
            } => {
                self.about_unit(f)?;
                write!(f, "; {} is given in {}", a(what), one_of(allowed))
            }
            Self::Negative { .. }
            | Self::Zero { .. }
            | Self::BelowAbsoluteZero { .. }
            | Self::TooLarge { .. }
            | Self::OutOfRange { .. } => self.about_limit(f),
        }
    }
}

impl ReadError {
    /// Prints what is wrong with the unit, without the units that would do.
    fn about_unit(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BareNumber { found, .. } => write!(f, "'{found}' has no unit"),
            Self::WrongDimension { found, it_is, .. } => {
                write!(f, "'{found}' is a unit of {it_is}")
            }
            Self::UnknownUnit { found, .. } => write!(f, "unknown unit '{found}'"),
            _ => Ok(()),
        }
    }

    /// Prints which limit a number passes.
    fn about_limit(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Negative { found, what } => {
                write!(f, "'{found}' is negative; {} is zero or more", a(what))
            }
            Self::Zero { found, what } => {
                write!(f, "'{found}' is zero; {} is more than zero", a(what))
            }
            Self::BelowAbsoluteZero { found } => {
                write!(
                    f,
                    "'{found}' is colder than can be; a temperature is at least '-273.15 C'"
                )
            }
            Self::TooLarge { found, what, limit } => {
                write!(f, "'{found}' is too much; {} is at most '{limit}'", a(what))
            }
            Self::OutOfRange { found, least, most } => {
                write!(
                    f,
                    "'{found}' is out of range; sizes go from '{least}' to '{most}'"
                )
            }
            _ => Ok(()),
        }
    }
}

impl std::error::Error for ReadError {}

fn meaning(unit: &str) -> String {
    let prefix = if unit.starts_with('M') {
        "mega"
    } else {
        "milli"
    };
    format!("'{unit}' for {prefix}")
}

/// Puts the article before a quantity.
fn a(what: &str) -> String {
    let article = if what.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {what}")
}
