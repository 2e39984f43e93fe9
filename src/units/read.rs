//! From text to quantity.

use std::borrow::Cow;

use super::error::ReadError;
use super::measure::{Measure, Sign};
use super::number::split_number;
use super::spelling::{Match, find, matching, names, plain};
use super::tables::{FOOT, INCH};
use super::text::{excerpt, is_unprintable};

/// Whether volts are direct or alternating.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Direct current.
    Dc,
    /// Alternating current.
    Ac,
}

/// Reads a number with its unit.
///
/// # Errors
///
/// The reason why the text is not such a quantity.
pub fn read<Q: Measure>(text: &str) -> Result<Q, ReadError> {
    held(text, base_of::<Q>(text)?)
}

/// Checks a value in SI against all limits of its quantity.
pub(super) fn held<Q: Measure>(text: &str, base: f64) -> Result<Q, ReadError> {
    let quantity = within::<Q>(text, base)?;
    match Q::SIGN {
        Sign::NotNegative | Sign::Positive if base < 0.0 => Err(ReadError::Negative {
            found: excerpt(text),
            what: Q::WHAT,
        }),
        Sign::Positive if base <= 0.0 => Err(ReadError::Zero {
            found: excerpt(text),
            what: Q::WHAT,
        }),
        Sign::NotNegative | Sign::Positive | Sign::Temperature => Ok(quantity),
    }
}

/// Reads a number with its unit that may be negative, as a meter shows it.
///
/// # Errors
///
/// As [`read`], but for the sign.
pub fn read_signed<Q: Measure>(text: &str) -> Result<Q, ReadError> {
    within(text, base_of::<Q>(text)?)
}

/// The value in SI.
fn base_of<Q: Measure>(text: &str) -> Result<f64, ReadError> {
    let tidy = tidy(text)?;
    let (number, unit) = split_number(&tidy)?;
    if let Some(base) = feet_and_inches(number, unit, Q::COMPOUND, &tidy)? {
        return Ok(base);
    }
    let (_, unit) = find(&tidy, unit, Q::WHAT, &[Q::UNITS], || names(Q::UNITS))?;
    Ok(unit.to_base(number))
}

/// Reads one step of the last digit of a value as it is written: `"26.28 V"` is told to 10 mV.
///
/// # Errors
///
/// As [`read_signed`].
pub fn last_digit<Q: Measure>(text: &str) -> Result<Q, ReadError> {
    let tidy = tidy(text)?;
    let unsigned = tidy.trim_start_matches(['-', '+', '\u{2212}']);
    let end = unsigned
        .find(|c: char| !matches!(c, '0'..='9' | '.'))
        .unwrap_or(unsigned.len());
    let (numeral, rest) = unsigned.split_at(end);
    let last = numeral.rfind(|c: char| c.is_ascii_digit());
    let step: String = numeral
        .char_indices()
        .map(|(i, c)| match c {
            '.' => '.',
            _ if Some(i) == last => '1',
            _ => '0',
        })
        .collect();
    read_signed(&format!("{step}{rest}"))
}

/// Reads a value where a bare number takes the given unit, as on a screen that shows the unit.
///
/// # Errors
///
/// As [`read`].
pub fn read_with_default<Q: Measure>(text: &str, default_unit: &str) -> Result<Q, ReadError> {
    match read(text) {
        Err(ReadError::BareNumber { .. }) => read(&format!("{} {default_unit}", text.trim())),
        other => other,
    }
}

/// Returns the kind that volts written as VDC or VAC claim, none for plain volts.
pub fn volts_kind(text: &str) -> Option<Kind> {
    let (_, unit) = split_number(text.trim()).ok()?;
    let unit: String = unit
        .chars()
        .filter(|c| !c.is_whitespace())
        .collect::<String>()
        .to_ascii_lowercase();
    match unit.as_str() {
        "vdc" => Some(Kind::Dc),
        "vac" => Some(Kind::Ac),
        _ => None,
    }
}

/// Checks a value in SI against the limits that hold whatever its sign.
fn within<Q: Measure>(text: &str, base: f64) -> Result<Q, ReadError> {
    if !base.is_finite() {
        return Err(ReadError::NotFinite {
            found: excerpt(text),
        });
    }
    if Q::SIGN == Sign::Temperature && base < 0.0 {
        return Err(ReadError::BelowAbsoluteZero {
            found: excerpt(text),
        });
    }
    match Q::MOST {
        Some((most, limit)) if base.abs() > most => Err(ReadError::TooLarge {
            found: excerpt(text),
            what: Q::WHAT,
            limit,
        }),
        // Adding zero turns -0 into 0.
        Some(_) | None => Ok(Q::from_base(base + 0.0)),
    }
}

/// Trims, and makes every kind of blank a plain one.
pub(super) fn tidy(text: &str) -> Result<Cow<'_, str>, ReadError> {
    if text.bytes().all(|b| matches!(b, b' '..=b'~')) {
        return Ok(Cow::Borrowed(text.trim()));
    }
    if text.chars().any(is_unprintable) {
        return Err(ReadError::ControlCharacter {
            found: excerpt(text),
        });
    }
    Ok(text
        .trim()
        .chars()
        .map(|c| if c.is_whitespace() { ' ' } else { c })
        .collect())
}

/// Reads `12 ft 6 in` from its first number on; none where it is no such pair.
fn feet_and_inches(
    feet: f64,
    rest: &str,
    allowed: bool,
    whole: &str,
) -> Result<Option<f64>, ReadError> {
    let Some(at) = rest.find(|c: char| c.is_ascii_digit()).filter(|_| allowed) else {
        return Ok(None);
    };
    let (unit, tail) = rest.split_at(at);
    if !matches!(matching(&plain(unit), &[FOOT]), Match::One(_)) {
        return Ok(None);
    }
    let (inches, unit) = split_number(tail)
        .map_err(|error| prefixed(error, &whole[..whole.len() - tail.len()], whole))?;
    if !matches!(matching(&plain(unit), &[INCH]), Match::One(_)) || feet.is_sign_negative() {
        return Err(ReadError::NotANumber {
            found: excerpt(whole),
        });
    }
    Ok(Some(INCH.to_base(feet * 12.0 + inches)))
}

/// Completes an error about the inches with the feet before them.
fn prefixed(error: ReadError, head: &str, whole: &str) -> ReadError {
    match error {
        ReadError::DecimalComma { corrected, .. } => ReadError::DecimalComma {
            found: excerpt(whole),
            corrected: format!("{head}{corrected}"),
            whole: None,
        },
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;
    use proptest::prelude::*;
    use rstest::rstest;

    use super::*;
    use crate::units::*;

    fn base<Q: Measure>(text: &str) -> f64 {
        read::<Q>(text)
            .unwrap_or_else(|error| panic!("{text}: {error}"))
            .base()
    }

    #[rstest]
    #[case("180 ft", 54.864)]
    #[case("250ft", 76.2)]
    #[case("12 ft 6 in", 3.81)]
    #[case("12ft6in", 3.81)]
    #[case("12' 6\"", 3.81)]
    #[case("12'6\"", 3.81)]
    #[case("12'", 3.6576)]
    #[case("6\"", 0.1524)]
    #[case("55 m", 55.0)]
    #[case("0.24 in", 0.006_096)]
    #[case("10 FT", 3.048)]
    #[case("2 yd", 1.8288)]
    #[case("3 cm", 0.03)]
    #[case("3 MM", 0.003)]
    #[case("100 km", 1e5)]
    #[case("0 ft", 0.0)]
    #[case("-0 ft", 0.0)]
    #[case(" .5 m ", 0.5)]
    #[case("+5.\u{a0}m", 5.0)]
    #[case("1e3 m", 1000.0)]
    #[case("1E-1m", 0.1)]
    fn lengths_are_read(#[case] text: &str, #[case] metres: f64) {
        assert_relative_eq!(base::<Length>(text), metres, max_relative = 1e-15);
        assert!(base::<Length>(text).is_sign_positive());
    }

    #[rstest]
    #[case(base::<ElectricPotential>("24 V"), 24.0)]
    #[case(base::<ElectricPotential>("24V"), 24.0)]
    #[case(base::<ElectricPotential>("24 v"), 24.0)]
    #[case(base::<ElectricPotential>("24 VDC"), 24.0)]
    #[case(base::<ElectricPotential>("24vac"), 24.0)]
    #[case(base::<ElectricPotential>("24 V dc"), 24.0)]
    #[case(base::<ElectricPotential>("350 mV"), 0.35)]
    #[case(base::<ElectricPotential>("10 kV"), 1e4)]
    #[case(base::<ElectricCurrent>("350 mA"), 0.35)]
    #[case(base::<ElectricCurrent>("350 ma"), 0.35)]
    #[case(base::<ElectricCurrent>("5 \u{b5}A"), 5e-6)]
    #[case(base::<ElectricCurrent>("5 \u{3bc}A"), 5e-6)]
    #[case(base::<ElectricCurrent>("1 KA"), 1e3)]
    #[case(base::<Power>("6 W"), 6.0)]
    #[case(base::<Power>("6 mW"), 6e-3)]
    #[case(base::<ApparentPower>("40 VA"), 40.0)]
    #[case(base::<ApparentPower>("1 kva"), 1e3)]
    #[case(base::<ElectricalResistance>("4.7 kohm"), 4700.0)]
    #[case(base::<ElectricalResistance>("4.7k\u{3a9}"), 4700.0)]
    #[case(base::<ElectricalResistance>("4.7 K\u{2126}"), 4700.0)]
    #[case(base::<ElectricalResistance>("4.7 Kohm"), 4700.0)]
    #[case(base::<ElectricalResistance>("2 mohm"), 2e-3)]
    #[case(base::<ElectricalResistance>("2 Mohm"), 2e6)]
    #[case(base::<ElectricalResistance>("2 MOhm"), 2e6)]
    #[case(base::<ElectricalResistance>("2 M\u{3a9}"), 2e6)]
    #[case(base::<ElectricalResistance>("2 m\u{3a9}"), 2e-3)]
    #[case(base::<ElectricalResistance>("2 \u{b5}\u{3a9}"), 2e-6)]
    #[case(base::<ElectricalResistance>("2 OHM"), 2.0)]
    #[case(base::<ThermodynamicTemperature>("25 C"), 298.15)]
    #[case(base::<ThermodynamicTemperature>("25 \u{b0}C"), 298.15)]
    #[case(base::<ThermodynamicTemperature>("25\u{b0} C"), 298.15)]
    #[case(base::<ThermodynamicTemperature>("77 F"), 298.15)]
    #[case(base::<ThermodynamicTemperature>("-40 F"), 233.15)]
    #[case(base::<ThermodynamicTemperature>("\u{2212}40 c"), 233.15)]
    #[case(base::<ThermodynamicTemperature>("298.15 K"), 298.15)]
    #[case(base::<Ratio>("5 %"), 0.05)]
    #[case(base::<Ratio>("5%"), 0.05)]
    #[case(base::<LinearCapacitance>("30 pF/ft"), 30e-12 / 0.3048)]
    #[case(base::<LinearCapacitance>("30 pF/m"), 30e-12)]
    #[case(base::<LinearCapacitance>("100 nF/km"), 100e-12)]
    #[case(base::<LinearCapacitance>("5.6 nF/100 m"), 56e-12)]
    #[case(base::<LinearResistance>("6.51 ohm/kft"), 6.51 / 304.8)]
    #[case(base::<LinearResistance>("6.51 \u{3a9} / kft"), 6.51 / 304.8)]
    #[case(base::<LinearResistance>("21.4 ohm/km"), 0.0214)]
    #[case(base::<LinearResistance>("9.4 ohm/100 m"), 0.094)]
    #[case(base::<LinearResistance>("9.4ohm/100m"), 0.094)]
    #[case(base::<LinearResistance>("20 mohm/m"), 0.02)]
    #[case(base::<LinearResistance>("0.1 ohm/ft"), 0.1 / 0.3048)]
    #[case(base::<LinearResistance>("0.1 ohm/m"), 0.1)]
    #[case(base::<ElectricCharge>("7 Ah"), 25200.0)]
    #[case(base::<ElectricCharge>("70 mAh"), 252.0)]
    #[case(base::<Time>("50 us"), 50e-6)]
    #[case(base::<Time>("2 min"), 120.0)]
    #[case(base::<Time>("24 h"), 86400.0)]
    #[case(base::<Time>("3 MS"), 3e-3)]
    #[case(base::<Capacitance>("2200 uF"), 2.2e-3)]
    #[case(base::<Capacitance>("30 PF"), 30e-12)]
    #[case(base::<Capacitance>("3 mF"), 3e-3)]
    #[case(base::<Capacitance>("1 F"), 1.0)]
    #[case(base::<Inductance>("0.9 H"), 0.9)]
    #[case(base::<Inductance>("9 mH"), 9e-3)]
    #[case(base::<Frequency>("60 Hz"), 60.0)]
    #[case(base::<Frequency>("1 khz"), 1e3)]
    #[case(base::<Resistivity>("300 ohm m"), 300.0)]
    #[case(base::<Resistivity>("10000 ohm-cm"), 100.0)]
    #[case(base::<BitRate>("9600 bit/s"), 9600.0)]
    #[case(base::<BitRate>("115.2 kbit/s"), 115_200.0)]
    #[case(base::<Time>("50 us"), 50e-6)]
    #[case(base::<PricePerLength>("0.31 /ft"), 0.31 / 0.3048)]
    #[case(base::<PricePerLength>("31 /100 ft"), 0.31 / 0.3048)]
    #[case(base::<PricePerLength>("310/kft"), 0.31 / 0.3048)]
    #[case(base::<PricePerLength>("1.20 /m"), 1.2)]
    #[case(base::<PricePerLength>("120 / 100 m"), 1.2)]
    #[case(base::<PricePerLength>("1200 /km"), 1.2)]
    #[case(base::<PriceEach>("6.50 each"), 6.5)]
    #[case(base::<Area>("1.5 mm\u{b2}"), 1.5e-6)]
    #[case(base::<Area>("1000 cmil"), 0.506_707_479_097_497_8e-6)]
    #[case(base::<Area>("1 kcmil"), 0.506_707_479_097_497_8e-6)]
    fn values_are_read(#[case] found: f64, #[case] expected: f64) {
        assert_relative_eq!(found, expected, max_relative = 1e-14);
    }

    fn refusal<Q: Measure>(text: &str) -> (String, String) {
        let error = read::<Q>(text)
            .err()
            .unwrap_or_else(|| panic!("{text} was read"));
        (error.to_string(), error.hint().unwrap_or_default())
    }

    const LENGTHS: &str = "a length is given in 'ft', 'in', 'yd', 'm', 'cm', 'mm' or 'km'";
    const VOLTS: &str = "a voltage is given in 'V', 'mV' or 'kV'";

    #[rstest]
    #[case(refusal::<Length>("500"), format!("'500' has no unit; {LENGTHS}"), "write '500 ft' if that is what is meant")]
    #[case(refusal::<Length>("5 fet"), format!("unknown unit 'fet'; {LENGTHS}"), "did you mean 'ft'?")]
    #[case(refusal::<Length>("5 miles"), format!("unknown unit 'miles'; {LENGTHS}"), "did you mean 'km'?")]
    #[case(refusal::<ElectricPotential>("24 A"), format!("'A' is a unit of current; {VOLTS}"), "")]
    #[case(refusal::<ElectricPotential>("18 AWG"), format!("'AWG' is a unit of wire gauge; {VOLTS}"), "")]
    #[case(refusal::<ElectricPotential>("11 kV"), "'11 kV' is too much; a voltage is at most '10 kV'".into(), "")]
    #[case(refusal::<ElectricCurrent>("101 kA"), "'101 kA' is too much; a current is at most '100 kA'".into(), "")]
    #[case(refusal::<Length>("101 km"), "'101 km' is too much; a length is at most '100 km'".into(), "")]
    #[case(refusal::<Length>("-1 ft"), "'-1 ft' is negative; a length is zero or more".into(), "")]
    #[case(refusal::<Frequency>("0 Hz"), "'0 Hz' is zero; a frequency is more than zero".into(), "")]
    #[case(refusal::<Length>("NaN ft"), "'NaN ft' is not a finite number".into(), "")]
    #[case(refusal::<Length>("-inf"), "'-inf' is not a finite number".into(), "")]
    #[case(refusal::<Length>("1e999 ft"), "'1e999 ft' is not a finite number".into(), "")]
    #[case(refusal::<Power>("1e308 kW"), "'1e308 kW' is not a finite number".into(), "")]
    #[case(refusal::<Length>(""), "'' has no number; a number and its unit are due".into(), "")]
    #[case(refusal::<Length>("ft"), "'ft' is not a number with a unit".into(), "")]
    #[case(refusal::<Length>("1 250 ft"), "'1 250 ft' is not a number with a unit".into(), "")]
    #[case(refusal::<Length>("1_000 ft"), "'1_000 ft' is not a number with a unit".into(), "")]
    #[case(refusal::<Length>("1.2.3 ft"), "'1.2.3 ft' is not a number with a unit".into(), "")]
    #[case(refusal::<Length>("5\tft"), "'5?ft' has a control character; only printable text is allowed".into(), "")]
    #[case(refusal::<ThermodynamicTemperature>("-300 C"),
        "'-300 C' is colder than can be; a temperature is at least '-273.15 C'".into(), "")]
    #[case(refusal::<ElectricalResistance>("2 MOHM"),
        "'MOHM' may be milli or mega; 'mohm' or 'Mohm' leaves no doubt".into(), "write 'mohm' for milli or 'Mohm' for mega")]
    #[case(refusal::<ElectricCurrent>("350 MA"), "'MA' may be milli or mega; 'mA' leaves no doubt".into(), "write 'mA' for milli")]
    fn refusals_name_found_and_allowed(
        #[case] refusal: (String, String),
        #[case] message: String,
        #[case] hint: &str,
    ) {
        assert_eq!(refusal, (message, hint.to_owned()));
    }

    #[rstest]
    #[case("0,5 ft", "write '0.5 ft'")]
    #[case("-0,5 ft", "write '-0.5 ft'")]
    #[case(",5 ft", "write '0.5 ft'")]
    #[case("12 ft 6,5 in", "write '12 ft 6.5 in'")]
    #[case(
        "1,250 ft",
        "write '1.250 ft', or '1250 ft' if the comma parts thousands"
    )]
    #[case("1.250,5 ft", "write '1250.5 ft'")]
    #[case("1,250.5 ft", "write '1250.5 ft'")]
    #[case("1,250,000 ft", "write '1250000 ft'")]
    fn a_comma_is_corrected(#[case] text: &str, #[case] hint: &str) {
        let error = read::<Length>(text).unwrap_err();
        assert!(matches!(error, ReadError::DecimalComma { .. }));
        assert_eq!(error.hint().unwrap(), hint);
    }

    #[test]
    fn a_field_of_the_screen_lends_its_unit() {
        assert_eq!(read_with_default::<Length>(" 100 ", "ft"), read("100 ft"));
        assert_eq!(read_with_default::<Length>("100 m", "ft"), read("100 m"));
        assert!(matches!(
            read_with_default::<Length>("100", "V"),
            Err(ReadError::WrongDimension { .. })
        ));
    }

    #[test]
    fn a_meter_may_show_less_than_nothing() {
        assert_eq!(
            read_signed::<ElectricPotential>("-0.2 V"),
            Ok(ElectricPotential::from_base(-0.2))
        );
        assert!(matches!(
            read_signed::<ElectricPotential>("-11 kV"),
            Err(ReadError::TooLarge { .. })
        ));
    }

    #[rstest]
    #[case("26.28 V", 0.01)]
    #[case("-26.3 V", 0.1)]
    #[case("\u{2212}0.2V", 0.1)]
    #[case("230. mV", 1e-3)]
    #[case("12 VDC", 1.0)]
    #[case(".075 kV", 1.0)]
    #[case("1.20e1 V", 0.1)]
    fn the_last_digit_is_what_a_meter_tells(#[case] text: &str, #[case] volts: f64) {
        let digit = last_digit::<ElectricPotential>(text).unwrap().base();
        assert_relative_eq!(digit, volts, max_relative = 1e-12);
    }

    #[test]
    fn what_is_no_value_has_no_last_digit() {
        for text in ["", "V", "12", "1,5 V", "NaN V"] {
            assert!(last_digit::<ElectricPotential>(text).is_err(), "{text}");
        }
    }

    #[rstest]
    #[case("24 VDC", Some(Kind::Dc))]
    #[case("24vac", Some(Kind::Ac))]
    #[case("24 V AC", Some(Kind::Ac))]
    #[case("24 V", None)]
    #[case("VDC", None)]
    fn volts_may_state_their_kind(#[case] text: &str, #[case] kind: Option<Kind>) {
        assert_eq!(volts_kind(text), kind);
    }

    proptest! {
        #[test]
        fn reading_never_panics(text in "\\PC*", head in "-?[0-9.,' ]{0,6}[a-zA-Z/0-9 '\"\u{b2}\u{3a9}]{0,8}") {
            for text in [&text, &head, &format!("1 {text}")] {
                let _ = read::<Length>(text);
                let _ = read::<ElectricalResistance>(text);
                let _ = read::<PricePerLength>(text);
                let _ = volts_kind(text);
                let _ = last_digit::<ElectricPotential>(text);
                let _ = read_gauge(text);
                if let Err(error) = read_draw(text) {
                    let words = format!("{error} {:?}", error.hint());
                    prop_assert!(!words.chars().any(is_unprintable));
                }
            }
        }
    }
}
