//! From quantity to text: rounded for people, or exact for files.

use super::measure::{Digits, Measure, Step, System, Unit};
use super::{ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Ratio};

/// What stands where a number cannot be shown.
const NO_NUMBER: &str = "n/a";

/// Shows a quantity with a unit of the system and as many digits as serve a person.
pub fn show<Q: Measure>(quantity: Q, system: System) -> String {
    let base = quantity.base();
    // Zero has no size of its own: it takes the plain unit.
    let size = if base == 0.0 { 1.0 } else { base.abs() };
    let steps = Q::steps(system);
    let step = steps.iter().find(|step| size >= step.from).or(steps.last());
    let Some((step, unit)) = step.and_then(|step| Some((step, unit_named::<Q>(step.unit)?))) else {
        return NO_NUMBER.to_owned();
    };
    let written = unit.from_base(base);
    if !written.is_finite() {
        return NO_NUMBER.to_owned();
    }
    format!("{} {}", rounded(written, step), unit.name)
}

/// Writes a quantity in the given unit so that reading it gives the same value.
///
/// A unit that the quantity does not have is replaced by its first one.
pub fn spell<Q: Measure>(quantity: Q, unit: &str) -> String {
    let Some(unit) = unit_named::<Q>(unit).or(Q::UNITS.first()) else {
        return NO_NUMBER.to_owned();
    };
    let base = quantity.base();
    let written = unit.from_base(base);
    if !written.is_finite() {
        return NO_NUMBER.to_owned();
    }
    // Conversion may leave a tail of digits; the shortest number that reads back as the same wins.
    let short = (0..17)
        .filter_map(|digits| format!("{written:.digits$e}").parse::<f64>().ok())
        .find(|number| unit.to_base(*number).to_bits() == base.to_bits())
        .unwrap_or(written);
    format!("{} {}", plain_number(short), unit.name)
}

/// Shows volts with so many decimals.
pub fn volts(quantity: ElectricPotential, decimals: usize) -> String {
    format!("{} V", fixed(quantity.value, decimals))
}

/// Shows amperes with so many decimals.
pub fn amps(quantity: ElectricCurrent, decimals: usize) -> String {
    format!("{} A", fixed(quantity.value, decimals))
}

/// Shows watts with so many decimals.
pub fn watts(quantity: Power, decimals: usize) -> String {
    format!("{} W", fixed(quantity.value, decimals))
}

/// Shows ohms with so many decimals.
pub fn ohms(quantity: ElectricalResistance, decimals: usize) -> String {
    format!("{} ohm", fixed(quantity.value, decimals))
}

/// Shows a share in percent with so many decimals.
pub fn percent(quantity: Ratio, decimals: usize) -> String {
    format!("{} %", fixed(quantity.value * 100.0, decimals))
}

/// Writes a number with so many decimals, never as a negative zero.
pub fn fixed(number: f64, decimals: usize) -> String {
    if !number.is_finite() {
        return NO_NUMBER.to_owned();
    }
    let text = format!("{number:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.bytes().all(|byte| matches!(byte, b'0' | b'.')) => digits.to_owned(),
        _ => text,
    }
}

fn unit_named<Q: Measure>(name: &str) -> Option<&'static Unit> {
    Q::UNITS.iter().find(|unit| unit.name == name)
}

fn rounded(written: f64, step: &Step) -> String {
    match step.digits {
        Digits::Fixed(decimals) => fixed(written, decimals),
        Digits::Significant(digits) => significant(written, digits),
        Digits::Trimmed(digits) => {
            let text = significant(written, digits);
            if text.contains('.') {
                text.trim_end_matches('0').trim_end_matches('.').to_owned()
            } else {
                text
            }
        }
    }
}

/// Rounds to so many significant digits, but keeps every digit before the point.
fn significant(number: f64, digits: usize) -> String {
    let most = digits + 12;
    let mut decimals = digits.saturating_sub(1);
    let size = number.abs();
    let mut limit = 1.0;
    while size < limit && size > 0.0 && decimals < most {
        limit /= 10.0;
        decimals += 1;
    }
    limit = 10.0;
    // Half a unit of the last digit decides: 9.996 is shown as 10.0.
    while decimals > 0 && size + 0.5 * 10f64.powi(-count(decimals)) >= limit {
        limit *= 10.0;
        decimals -= 1;
    }
    fixed(number, decimals)
}

fn count(decimals: usize) -> i32 {
    i32::try_from(decimals).unwrap_or(i32::MAX)
}

/// Writes a number in full, with an exponent only where zeros would hide it.
pub(super) fn plain_number(number: f64) -> String {
    if number == 0.0 {
        return "0".to_owned();
    }
    if (1e-9..1e15).contains(&number.abs()) {
        format!("{number}")
    } else {
        format!("{number:e}")
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use rstest::rstest;

    use super::*;
    use crate::units::*;

    fn us<Q: Measure>(text: &str) -> String {
        show(read_signed::<Q>(text).unwrap(), System::Us)
    }

    fn si<Q: Measure>(text: &str) -> String {
        show(read_signed::<Q>(text).unwrap(), System::Si)
    }

    #[rstest]
    #[case(us::<Length>("180 ft"), "180 ft")]
    #[case(si::<Length>("180 ft"), "54.9 m")]
    #[case(us::<Length>("1234.4 ft"), "1234 ft")]
    #[case(us::<Length>("0.24 in"), "0.24 in")]
    #[case(us::<Length>("0 m"), "0 ft")]
    #[case(si::<Length>("9.996 m"), "10 m")]
    #[case(us::<ElectricPotential>("21.2 V"), "21.20 V")]
    #[case(us::<ElectricPotential>("-1 mV"), "0.00 V")]
    #[case(us::<ElectricPotential>("-0.2 V"), "-0.20 V")]
    #[case(si::<ElectricCurrent>("553 mA"), "0.553 A")]
    #[case(si::<ElectricCurrent>("83.4 mA"), "83 mA")]
    #[case(si::<ElectricCurrent>("4.25 A"), "4.25 A")]
    #[case(si::<ElectricCurrent>("12.34 A"), "12.3 A")]
    #[case(si::<ElectricCurrent>("9.996 A"), "10.0 A")]
    #[case(si::<Power>("13.44 W"), "13.4 W")]
    #[case(si::<Power>("6 W"), "6 W")]
    #[case(si::<ElectricalResistance>("4.7 kohm"), "4.7 kohm")]
    #[case(si::<ElectricalResistance>("0.0123 ohm"), "12.3 mohm")]
    #[case(si::<ElectricalResistance>("0 ohm"), "0 ohm")]
    #[case(us::<LinearResistance>("21.4 ohm/km"), "6.52 ohm/kft")]
    #[case(si::<LinearResistance>("6.51 ohm/kft"), "21.4 ohm/km")]
    #[case(us::<ThermodynamicTemperature>("25 C"), "77 F")]
    #[case(si::<ThermodynamicTemperature>("77 F"), "25 C")]
    #[case(si::<ThermodynamicTemperature>("32 F"), "0 C")]
    #[case(si::<Ratio>("0.5 %"), "0.5 %")]
    #[case(si::<PricePerLength>("0.31 /ft"), "1.02 /m")]
    #[case(us::<PriceEach>("6.5 each"), "6.50 each")]
    #[case(us::<Area>("250 kcmil"), "250 kcmil")]
    #[case(us::<Capacitance>("2200 uF"), "2200 uF")]
    fn quantities_are_shown_for_people(#[case] shown: String, #[case] expected: &str) {
        assert_eq!(shown, expected);
    }

    #[test]
    fn fixed_decimals_never_show_a_negative_zero() {
        assert_eq!(volts(ElectricPotential::from_base(-0.004), 2), "0.00 V");
        assert_eq!(volts(ElectricPotential::from_base(21.2), 2), "21.20 V");
        assert_eq!(fixed(-0.0, 0), "0");
        assert_eq!(fixed(f64::NAN, 2), "n/a");
        assert_eq!(percent(Ratio::from_base(0.05), 1), "5.0 %");
        assert_eq!(amps(ElectricCurrent::from_base(-0.5), 3), "-0.500 A");
    }

    #[rstest]
    #[case(spell(read::<Length>("180 ft").unwrap(), "ft"), "180 ft")]
    #[case(spell(read::<ThermodynamicTemperature>("25 C").unwrap(), "C"), "25 C")]
    #[case(spell(read::<PricePerLength>("31 /100 ft").unwrap(), "/100 ft"), "31 /100 ft")]
    #[case(spell(read::<ElectricCurrent>("350 mA").unwrap(), "A"), "0.35 A")]
    #[case(spell(read::<ElectricCurrent>("350 mA").unwrap(), "no such"), "0.35 A")]
    fn a_spelling_is_the_shortest(#[case] spelled: String, #[case] expected: &str) {
        assert_eq!(spelled, expected);
    }

    /// Spells a number of each unit and reads it again.
    fn there_and_back<Q: Measure + std::fmt::Debug>(written: f64) {
        for unit in Q::UNITS {
            let base = unit.to_base(written);
            if Q::MOST.is_some_and(|(most, _)| base > most) {
                continue;
            }
            let text = spell(Q::from_base(base), unit.name);
            let back = read::<Q>(&text)
                .unwrap_or_else(|error| panic!("{text}: {error}"))
                .base();
            assert!(
                (back - base).abs() <= 1e-12 * base.abs(),
                "{text}: {back} for {base}"
            );
            for system in [System::Us, System::Si] {
                let shown = show(Q::from_base(base), system);
                // What is too small to show is shown as zero, which some quantities cannot be.
                let read_back = read::<Q>(&shown);
                assert!(
                    matches!(
                        read_back,
                        Ok(_) | Err(ReadError::Zero { .. } | ReadError::TooLarge { .. })
                    ),
                    "{shown}"
                );
            }
        }
    }

    proptest! {
        #[test]
        fn every_spelling_reads_back(mantissa in 1.0f64..10.0, exponent in -6i32..7) {
            let written = mantissa * 10f64.powi(exponent);
            there_and_back::<Length>(written);
            there_and_back::<ElectricPotential>(written);
            there_and_back::<ElectricCurrent>(written);
            there_and_back::<Power>(written);
            there_and_back::<ApparentPower>(written);
            there_and_back::<ElectricalResistance>(written);
            // Near absolute zero the shift of the scale costs digits, and wiring is never there.
            there_and_back::<ThermodynamicTemperature>(written + 100.0);
            there_and_back::<Ratio>(written);
            there_and_back::<Capacitance>(written);
            there_and_back::<Inductance>(written);
            there_and_back::<Time>(written);
            there_and_back::<ElectricCharge>(written);
            there_and_back::<Frequency>(written);
            there_and_back::<Resistivity>(written);
            there_and_back::<BitRate>(written);
            there_and_back::<LinearResistance>(written);
            there_and_back::<LinearCapacitance>(written);
            there_and_back::<PricePerLength>(written);
            there_and_back::<PriceEach>(written);
            there_and_back::<Area>(written);
        }
    }
}
