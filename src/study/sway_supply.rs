//! The hard ends of what a supply, its battery and its panel leave out.

use crate::site::Supply;
use crate::study::Assumption;
use crate::units::{
    Draw, ElectricCurrent, ElectricalResistance, Measure, Ratio, ThermodynamicTemperature, spell,
};

/// Puts one silent input of a supply at the hard end of its range, and says what that is.
///
/// # Source
/// Common practice, no source: accessory terminals sag 8 % at rated current, mains moves the volts
/// 10 %, converters give 85 %, an output's fuse holder has 0.1 ohm; a battery is as cold as its
/// conductors, goes no deeper than 80 % and has twice its resistance in the cold; exponents to 1.25
/// are typical, a controller takes 10 mA (from memory).
pub(super) fn supply_end(
    supply: &mut Supply,
    assumption: &Assumption,
    cold: Option<ThermodynamicTemperature>,
) -> Option<String> {
    let ohms = ElectricalResistance::from_base;
    let share = |percent: f64| Ratio::from_base(percent / 100.0);
    let output = assumption.subject.split('.').nth(1);
    let end = match (assumption.key, output) {
        ("resistance", Some(name)) => {
            let outputs = &mut supply.outputs;
            outputs.iter_mut().find(|o| o.name == name)?.resistance = Some(ohms(0.1));
            "0.1 ohm".to_owned()
        }
        ("resistance", None) => {
            let amps = supply.current.map(Measure::base).filter(|a| *a > 0.0)?;
            // Three digits: it is a guess.
            let guess = 0.08 * supply.voltage.base() / amps;
            let guess = format!("{guess:.2e}").parse().unwrap_or(guess);
            supply.resistance = Some(ohms(guess));
            spell(ohms(guess), "ohm")
        }
        ("tolerance", _) => {
            supply.tolerance = Some(share(10.0));
            "10 %".to_owned()
        }
        ("efficiency", _) => {
            supply.efficiency = Some(share(85.0));
            "85 %".to_owned()
        }
        _ => battery_end(supply, assumption.key, cold)?,
    };
    Some(end)
}

fn battery_end(
    supply: &mut Supply,
    key: &str,
    cold: Option<ThermodynamicTemperature>,
) -> Option<String> {
    let text = match (key, supply.battery.as_mut(), supply.solar.as_mut()) {
        ("battery.coldest", Some(battery), _) => {
            *battery = battery.clone().at(cold?);
            spell(cold?, "C")
        }
        ("battery.usable", Some(battery), _) => {
            battery.usable = Ratio::from_base(0.8);
            "80 %".to_owned()
        }
        ("battery.peukert", Some(battery), _) => {
            battery.peukert = battery.peukert.max(1.25);
            "1.25".to_owned()
        }
        ("battery.resistance", Some(battery), _) => {
            battery.resistance *= 2.0;
            spell(battery.resistance, "ohm")
        }
        ("solar.controller_draw", _, Some(solar)) => {
            solar.controller_draw = Draw::Current(ElectricCurrent::from_base(0.01));
            "10 mA".to_owned()
        }
        _ => return None,
    };
    Some(text)
}
