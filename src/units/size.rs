//! Conductor sizes: a wire gauge or a metric cross-section.

use std::f64::consts::PI;
use std::fmt;

use serde::Deserialize;

use super::Area;
use super::error::ReadError;
use super::measure::Measure;
use super::number::split_number;
use super::read::tidy;
use super::show::plain_number;
use super::spelling::{find, plain};
use super::tables::GAUGE;
use super::text::excerpt;

/// Thickest gauge, 4/0.
const AWG_THICKEST: i32 = -3;
/// Thinnest gauge.
const AWG_THINNEST: i32 = 40;
/// Thinnest and thickest metric size.
const MM2_RANGE: std::ops::RangeInclusive<f64> = 0.05..=300.0;
const ALLOWED: [&str; 2] = ["AWG", "mm2"];
const WHAT: &str = "conductor size";

/// The size of one conductor, as it is sold.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq)]
pub enum Size {
    /// American wire gauge; 1/0 is 0, 2/0 is -1, 3/0 is -2 and 4/0 is -3.
    #[serde(rename = "awg")]
    Awg(i32),
    /// Nominal cross-section in mm2.
    #[serde(rename = "mm2")]
    Mm2(f64),
}

impl Size {
    /// Returns the cross-section: of a gauge the solid wire's, of a metric size the nominal one.
    ///
    /// # Source
    ///
    /// ASTM B258: the diameter is 0.127 mm x 92^((36 - gauge) / 39).
    pub fn area(self) -> Area {
        match self {
            Self::Awg(gauge) => {
                let diameter_mm = 0.127 * 92f64.powf(f64::from(36 - gauge) / 39.0);
                Area::from_base(PI / 4.0 * diameter_mm * diameter_mm / 1e6)
            }
            Self::Mm2(area_mm2) => Area::from_base(area_mm2 / 1e6),
        }
    }
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Awg(gauge) if *gauge <= 0 => write!(f, "{}/0 AWG", 1 - gauge),
            Self::Awg(gauge) => write!(f, "{gauge} AWG"),
            Self::Mm2(area_mm2) => write!(f, "{} mm2", plain_number(*area_mm2)),
        }
    }
}

/// Reads a conductor size with its unit: `18 AWG`, `4/0 AWG`, `0.75 mm2`.
///
/// # Errors
///
/// `OutOfRange` for a size that is not made, else the reason why the text is no size.
pub fn read_size(text: &str) -> Result<Size, ReadError> {
    let tidy = tidy(text)?;
    let (zeros, rest) = leading_zeros(&tidy);
    if let Some(zeros) = zeros {
        find(&tidy, rest, WHAT, &[GAUGE], || vec!["AWG"])?;
        return zeros
            .and_then(in_gauge_range)
            .ok_or_else(|| out_of_gauges(&tidy));
    }
    let (number, unit) = split_number(&tidy)?;
    // The first unit of area is mm2; sizes are sold in no other.
    let metric = Area::UNITS.get(..1).unwrap_or_default();
    let (table, _) = find(&tidy, unit, WHAT, &[GAUGE, metric], || ALLOWED.to_vec())?;
    if table == 0 {
        gauge(number, &tidy)
    } else {
        metric_size(number, &tidy)
    }
}

/// Reads the gauge of a cable name, where a bare number is a wire gauge: `18`, `1/0`, `1.5mm2`.
///
/// # Errors
///
/// As [`read_size`].
pub fn read_gauge(text: &str) -> Result<Size, ReadError> {
    match read_size(text) {
        Err(ReadError::BareNumber { .. }) => read_size(&format!("{} AWG", text.trim())),
        other => other,
    }
}

/// Takes `4/0` or `0000` off the head of a size.
///
/// The outer option tells whether the text has that form, the inner one holds the gauge if the
/// count of zeros is a small number.
fn leading_zeros(text: &str) -> (Option<Option<i32>>, &str) {
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len());
    let (digits, rest) = text.split_at(end);
    if let Some(unit) = rest
        .strip_prefix("/0")
        .filter(|unit| !unit.starts_with(|c: char| c.is_ascii_digit() || c == '.'))
        && !digits.is_empty()
    {
        let count = digits.parse::<i32>().ok().filter(|count| *count >= 1);
        return (Some(count.map(|count| 1 - count)), unit.trim());
    }
    let is_gauge = plain(rest).eq_ignore_ascii_case("AWG") || rest.is_empty();
    if is_gauge && digits.len() > 1 && digits.bytes().all(|byte| byte == b'0') {
        return (
            Some(i32::try_from(digits.len()).ok().map(|count| 1 - count)),
            rest.trim(),
        );
    }
    (None, text)
}

fn gauge(number: f64, text: &str) -> Result<Size, ReadError> {
    (0..=AWG_THINNEST)
        .find(|gauge| (f64::from(*gauge) - number).abs() < 1e-9 && number.is_sign_positive())
        .map(Size::Awg)
        .ok_or_else(|| {
            if number.fract() == 0.0 {
                out_of_gauges(text)
            } else {
                no_such_gauge(text)
            }
        })
}

fn metric_size(number: f64, text: &str) -> Result<Size, ReadError> {
    if MM2_RANGE.contains(&number) {
        return Ok(Size::Mm2(number));
    }
    Err(ReadError::OutOfRange {
        found: excerpt(text),
        least: "0.05 mm2",
        most: "300 mm2",
    })
}

fn in_gauge_range(gauge: i32) -> Option<Size> {
    (AWG_THICKEST..=AWG_THINNEST)
        .contains(&gauge)
        .then_some(Size::Awg(gauge))
}

fn out_of_gauges(text: &str) -> ReadError {
    ReadError::OutOfRange {
        found: excerpt(text),
        least: "40 AWG",
        most: "4/0 AWG",
    }
}

fn no_such_gauge(text: &str) -> ReadError {
    ReadError::NotANumber {
        found: excerpt(text),
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;
    use rstest::rstest;

    use super::*;

    #[rstest]
    #[case("18 AWG", Size::Awg(18), "18 AWG")]
    #[case("18AWG", Size::Awg(18), "18 AWG")]
    #[case("18 awg", Size::Awg(18), "18 AWG")]
    #[case("4/0 AWG", Size::Awg(-3), "4/0 AWG")]
    #[case("1/0AWG", Size::Awg(0), "1/0 AWG")]
    #[case("0 AWG", Size::Awg(0), "1/0 AWG")]
    #[case("0000 AWG", Size::Awg(-3), "4/0 AWG")]
    #[case("40 AWG", Size::Awg(40), "40 AWG")]
    #[case("0.75 mm2", Size::Mm2(0.75), "0.75 mm2")]
    #[case("0.75mm\u{b2}", Size::Mm2(0.75), "0.75 mm2")]
    #[case("1.50 mm2", Size::Mm2(1.5), "1.5 mm2")]
    #[case("300 mm2", Size::Mm2(300.0), "300 mm2")]
    #[case("0.05 mm2", Size::Mm2(0.05), "0.05 mm2")]
    fn sizes_are_read(#[case] text: &str, #[case] size: Size, #[case] shown: &str) {
        assert_eq!(read_size(text), Ok(size));
        assert_eq!(size.to_string(), shown);
        assert_eq!(read_size(shown), Ok(size));
    }

    #[rstest]
    #[case("18", Size::Awg(18))]
    #[case("1/0", Size::Awg(0))]
    #[case("1/0 AWG", Size::Awg(0))]
    #[case("1.5mm2", Size::Mm2(1.5))]
    fn a_cable_name_may_leave_the_gauge_bare(#[case] text: &str, #[case] size: Size) {
        assert_eq!(read_gauge(text), Ok(size));
    }

    #[rstest]
    #[case("41 AWG")]
    #[case("5/0 AWG")]
    #[case("99999999999/0 AWG")]
    #[case("0/0 AWG")]
    #[case("-1 AWG")]
    #[case("0.04 mm2")]
    #[case("301 mm2")]
    #[case("-1 mm2")]
    fn sizes_that_are_not_made_are_out_of_range(#[case] text: &str) {
        assert!(
            matches!(read_size(text), Err(ReadError::OutOfRange { .. })),
            "{:?}",
            read_size(text)
        );
    }

    #[rstest]
    #[case("18.5 AWG", "'18.5 AWG' is not a number with a unit")]
    #[case("18", "'18' has no unit; a conductor size is given in 'AWG' or 'mm2'")]
    #[case("1/0", "'1/0' has no unit; a conductor size is given in 'AWG'")]
    #[case(
        "3 ft",
        "'ft' is a unit of length; a conductor size is given in 'AWG' or 'mm2'"
    )]
    #[case(
        "250 kcmil",
        "'kcmil' is a unit of area; a conductor size is given in 'AWG' or 'mm2'"
    )]
    fn other_texts_are_explained(#[case] text: &str, #[case] message: &str) {
        assert_eq!(read_size(text).unwrap_err().to_string(), message);
    }

    // Diameters 0.0403 in, 0.1019 in and 0.4600 in of ASTM B258, squared: circular mils.
    #[rstest]
    #[case(18, 1620.0)]
    #[case(10, 10380.0)]
    #[case(-3, 211_600.0)]
    fn a_gauge_has_its_area(#[case] gauge: i32, #[case] circular_mils: f64) {
        let area_mm2 = Size::Awg(gauge).area().value * 1e6;
        assert_relative_eq!(area_mm2, circular_mils * 5.067_075e-4, max_relative = 5e-3);
    }
}
