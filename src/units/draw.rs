//! What a device draws: the unit is the law.

use super::error::ReadError;
use super::measure::Measure;
use super::number::split_number;
use super::read::{held, read, tidy};
use super::spelling::find;
use super::text::excerpt;
use super::{ApparentPower, ElectricCurrent, ElectricPotential, ElectricalResistance, Power};

const WHAT: &str = "draw";
const ALLOWED: [&str; 5] = ["A", "mA", "W", "ohm", "VA"];

/// How much is drawn, and by which law it follows the volts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Draw {
    /// Nothing.
    Off,
    /// The same current at any volts.
    Current(ElectricCurrent),
    /// The same power at any volts.
    Power(Power),
    /// The same apparent power at any volts, on ac.
    Apparent(ApparentPower),
    /// A plain resistance.
    Resistance(ElectricalResistance),
}

/// Reads a draw: `350 mA`, `6 W`, `40 VA`, `24 ohm`, `off`, or a label such as `0.5 A at 12 V`.
///
/// A label is a resistance, because it states one pair of volts and amperes of a coil or heater.
///
/// # Errors
///
/// `Zero` for 0 ohm, else the reason why the text is no draw.
pub fn read_draw(text: &str) -> Result<Draw, ReadError> {
    let tidy = tidy(text)?;
    if tidy.eq_ignore_ascii_case("off") {
        return Ok(Draw::Off);
    }
    if let Some((draw, at)) = split_label(&tidy) {
        return label(draw, at, &tidy);
    }
    let (number, unit) = split_number(&tidy)?;
    let tables = [
        ElectricCurrent::UNITS,
        Power::UNITS,
        ApparentPower::UNITS,
        ElectricalResistance::UNITS,
    ];
    let (table, unit) = find(&tidy, unit, WHAT, &tables, || ALLOWED.to_vec())?;
    let base = unit.to_base(number);
    match table {
        0 => held(&tidy, base).map(Draw::Current),
        1 => held(&tidy, base).map(Draw::Power),
        2 => held(&tidy, base).map(Draw::Apparent),
        _ => resistance(held::<ElectricalResistance>(&tidy, base)?.value, &tidy),
    }
}

/// Parts a label at its word `at`.
fn split_label(text: &str) -> Option<(&str, &str)> {
    let mut words = text.as_bytes().windows(4);
    let at = words.position(|word| word.eq_ignore_ascii_case(b" at "))?;
    Some((&text[..at], &text[at + 4..]))
}

fn label(draw: &str, at: &str, whole: &str) -> Result<Draw, ReadError> {
    let (_, unit) = split_number(draw.trim())?;
    let (table, _) = find(
        draw.trim(),
        unit,
        WHAT,
        &[ElectricCurrent::UNITS, Power::UNITS],
        || vec!["A", "mA", "W"],
    )?;
    let volts = read::<ElectricPotential>(at)?.value;
    let (drawn, ohms) = if table == 0 {
        let amps = read::<ElectricCurrent>(draw)?.value;
        (amps, volts / amps)
    } else {
        let watts = read::<Power>(draw)?.value;
        (watts, volts * volts / watts)
    };
    if drawn == 0.0 && volts > 0.0 {
        return Ok(Draw::Off);
    }
    resistance(ohms, whole)
}

fn resistance(ohms: f64, text: &str) -> Result<Draw, ReadError> {
    if ohms == 0.0 || ohms.is_nan() {
        return Err(ReadError::Zero {
            found: excerpt(text),
            what: "draw in ohms",
        });
    }
    if !ohms.is_finite() {
        return Err(ReadError::NotFinite {
            found: excerpt(text),
        });
    }
    Ok(Draw::Resistance(ElectricalResistance::from_base(ohms)))
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;
    use rstest::rstest;

    use super::*;

    #[rstest]
    #[case("0.5 A at 12 V", 24.0)]
    #[case("10 W at 24 V", 57.6)]
    #[case("10W AT 24VDC", 57.6)]
    #[case("500 mA at 12 V", 24.0)]
    #[case("24 ohm", 24.0)]
    #[case("1 k\u{3a9}", 1000.0)]
    fn labels_and_ohms_are_resistive(#[case] text: &str, #[case] ohms: f64) {
        let Ok(Draw::Resistance(resistance)) = read_draw(text) else {
            panic!("{text}: {:?}", read_draw(text))
        };
        assert_relative_eq!(resistance.value, ohms, max_relative = 1e-14);
    }

    #[rstest]
    #[case("350 mA", Draw::Current(ElectricCurrent::from_base(0.35)))]
    #[case("6 W", Draw::Power(Power::from_base(6.0)))]
    #[case("40 VA", Draw::Apparent(ApparentPower::from_base(40.0)))]
    #[case("0 A", Draw::Current(ElectricCurrent::from_base(0.0)))]
    #[case("0 W", Draw::Power(Power::from_base(0.0)))]
    #[case("off", Draw::Off)]
    #[case(" Off", Draw::Off)]
    #[case("0 A at 12 V", Draw::Off)]
    fn the_unit_is_the_law(#[case] text: &str, #[case] draw: Draw) {
        assert_eq!(read_draw(text), Ok(draw));
    }

    #[rstest]
    #[case("0 ohm", "'0 ohm' is zero; a draw in ohms is more than zero")]
    #[case(
        "0.5 A at 0 V",
        "'0.5 A at 0 V' is zero; a draw in ohms is more than zero"
    )]
    #[case("0 A at 0 V", "'0 A at 0 V' is zero; a draw in ohms is more than zero")]
    #[case("-1 A", "'-1 A' is negative; a current is zero or more")]
    #[case("-1 ohm", "'-1 ohm' is negative; a resistance is zero or more")]
    #[case(
        "24 V",
        "'V' is a unit of voltage; a draw is given in 'A', 'mA', 'W', 'ohm' or 'VA'"
    )]
    #[case(
        "6",
        "'6' has no unit; a draw is given in 'A', 'mA', 'W', 'ohm' or 'VA'"
    )]
    #[case(
        "40 VA at 24 V",
        "'VA' is a unit of apparent power; a draw is given in 'A', 'mA' or 'W'"
    )]
    #[case(
        "1 A at 12",
        "'12' has no unit; a voltage is given in 'V', 'mV' or 'kV'"
    )]
    #[case("on", "'on' is not a number with a unit")]
    fn other_draws_are_explained(#[case] text: &str, #[case] message: &str) {
        assert_eq!(read_draw(text).unwrap_err().to_string(), message);
    }
}
