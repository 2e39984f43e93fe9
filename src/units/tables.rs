//! The closed tables of units, and what each quantity is.

use std::f64::consts::PI;
use std::marker::PhantomData;

use uom::si::Quantity;

use super::measure::Digits::{Fixed, Significant, Trimmed};
use super::measure::{Digits, Measure, Sign, Step, System, Unit};
use super::{
    ApparentPower, Area, BitRate, Capacitance, ElectricCharge, ElectricCurrent, ElectricPotential,
    ElectricalResistance, Frequency, Inductance, Length, LinearCapacitance, LinearResistance,
    Power, PriceEach, PricePerHour, PricePerLength, Ratio, Resistivity, SunHours,
    ThermodynamicTemperature, Time, VoltsPerDegree,
};

/// Square metres in a circular mil, a circle of 0.0254 mm across, times 1e6.
const CIRCULAR_MIL_MM2: f64 = PI / 4.0 * 0.0254 * 0.0254;

const fn unit(name: &'static str, also: &'static [&'static str], times: f64, over: f64) -> Unit {
    Unit {
        name,
        also,
        shift: 0.0,
        times,
        over,
        milli: false,
    }
}

const fn milli(name: &'static str) -> Unit {
    Unit {
        name,
        also: &[],
        shift: 0.0,
        times: 1.0,
        over: 1e3,
        milli: true,
    }
}

const fn degrees(
    name: &'static str,
    also: &'static [&'static str],
    shift: f64,
    times: f64,
    over: f64,
) -> Unit {
    Unit {
        name,
        also,
        shift,
        times,
        over,
        milli: false,
    }
}

const fn step(from: f64, unit: &'static str, digits: Digits) -> Step {
    Step { from, unit, digits }
}

/// The foot, which inches may follow.
pub(super) const FOOT: Unit = unit("ft", &["'", "\u{2032}"], 3048.0, 1e4);
/// The inch.
pub(super) const INCH: Unit = unit("in", &["\"", "\u{2033}"], 254.0, 1e4);

const LENGTH: &[Unit] = &[
    FOOT,
    INCH,
    unit("yd", &[], 9144.0, 1e4),
    unit("m", &[], 1.0, 1.0),
    unit("cm", &[], 1.0, 1e2),
    unit("mm", &[], 1.0, 1e3),
    unit("km", &[], 1e3, 1.0),
];
const VOLTS: &[Unit] = &[
    unit("V", &["VDC", "VAC", "V DC", "V AC"], 1.0, 1.0),
    milli("mV"),
    unit("kV", &[], 1e3, 1.0),
];
const AMPS: &[Unit] = &[
    unit("A", &[], 1.0, 1.0),
    milli("mA"),
    unit("uA", &[], 1.0, 1e6),
    unit("kA", &[], 1e3, 1.0),
];
const WATTS: &[Unit] = &[
    unit("W", &[], 1.0, 1.0),
    milli("mW"),
    unit("kW", &[], 1e3, 1.0),
];
const VOLT_AMPERES: &[Unit] = &[
    unit("VA", &[], 1.0, 1.0),
    milli("mVA"),
    unit("kVA", &[], 1e3, 1.0),
];
const OHMS: &[Unit] = &[
    unit("ohm", &[], 1.0, 1.0),
    milli("mohm"),
    unit("kohm", &[], 1e3, 1.0),
    unit("Mohm", &[], 1e6, 1.0),
    unit("uohm", &[], 1.0, 1e6),
];
const TEMPERATURE: &[Unit] = &[
    degrees("C", &["\u{b0}C", "\u{2103}"], 273.15, 1.0, 1.0),
    degrees("F", &["\u{b0}F", "\u{2109}"], 459.67, 5.0, 9.0),
    degrees("K", &[], 0.0, 1.0, 1.0),
];
const SHARE: &[Unit] = &[unit("%", &[], 1.0, 1e2)];
const FARADS: &[Unit] = &[
    unit("uF", &[], 1.0, 1e6),
    unit("nF", &[], 1.0, 1e9),
    unit("pF", &[], 1.0, 1e12),
    milli("mF"),
    unit("F", &[], 1.0, 1.0),
];
const HENRIES: &[Unit] = &[
    unit("H", &[], 1.0, 1.0),
    milli("mH"),
    unit("uH", &[], 1.0, 1e6),
];
const TIME: &[Unit] = &[
    unit("s", &[], 1.0, 1.0),
    unit("ms", &[], 1.0, 1e3),
    unit("us", &[], 1.0, 1e6),
    unit("min", &[], 60.0, 1.0),
    unit("h", &[], 3600.0, 1.0),
];
const CHARGE: &[Unit] = &[
    unit("Ah", &[], 3600.0, 1.0),
    Unit {
        name: "mAh",
        also: &[],
        shift: 0.0,
        times: 3.6,
        over: 1.0,
        milli: true,
    },
];
const SUN: &[Unit] = &[unit("h/day", &["h/d", "hours/day"], 1.0, 1.0)];
const SLOPE: &[Unit] = &[
    Unit {
        name: "mV/C",
        also: &["mV/K", "mV/\u{b0}C"],
        shift: 0.0,
        times: 1.0,
        over: 1e3,
        milli: true,
    },
    unit("V/C", &["V/K", "V/\u{b0}C"], 1.0, 1.0),
];
const FREQUENCY: &[Unit] = &[unit("Hz", &[], 1.0, 1.0), unit("kHz", &[], 1e3, 1.0)];
const OHMS_PER_LENGTH: &[Unit] = &[
    unit("ohm/kft", &["ohm/1000ft"], 10.0, 3048.0),
    unit("ohm/km", &["ohm/1000m"], 1.0, 1e3),
    unit("ohm/m", &[], 1.0, 1.0),
    unit("ohm/ft", &[], 1e4, 3048.0),
    unit("ohm/100 m", &[], 1.0, 1e2),
    milli("mohm/m"),
];
const OHM_METRES: &[Unit] = &[
    unit("ohm m", &["ohm-m"], 1.0, 1.0),
    unit("ohm cm", &["ohm-cm"], 1.0, 1e2),
];
const BITS: &[Unit] = &[
    unit("bit/s", &["bits/s"], 1.0, 1.0),
    unit("kbit/s", &["kbits/s"], 1e3, 1.0),
    unit("Mbit/s", &["Mbits/s"], 1e6, 1.0),
];
const FARADS_PER_LENGTH: &[Unit] = &[
    unit("pF/ft", &[], 1.0, 0.3048e12),
    unit("pF/m", &[], 1.0, 1e12),
    unit("nF/km", &[], 1.0, 1e12),
    unit("nF/100 m", &[], 1.0, 1e11),
];
const PRICE_PER_LENGTH: &[Unit] = &[
    unit("/ft", &[], 1e4, 3048.0),
    unit("/100 ft", &[], 1e2, 3048.0),
    unit("/kft", &["/1000ft"], 10.0, 3048.0),
    unit("/m", &[], 1.0, 1.0),
    unit("/100 m", &[], 1.0, 1e2),
    unit("/km", &["/1000m"], 1.0, 1e3),
];
const PRICE_PER_TIME: &[Unit] = &[unit("/h", &["/hour"], 1.0, 3600.0)];
const EACH: &[Unit] = &[unit("each", &[], 1.0, 1.0)];
const AREA: &[Unit] = &[
    unit("mm2", &[], 1.0, 1e6),
    unit("cmil", &[], CIRCULAR_MIL_MM2, 1e6),
    unit("kcmil", &[], CIRCULAR_MIL_MM2, 1e3),
];
/// The wire gauge stands here for messages only: a gauge has no linear unit.
pub(super) const GAUGE: &[Unit] = &[unit("AWG", &[], 1.0, 1.0)];

/// All units by what they measure, to name the quantity of a unit in the wrong place.
pub(super) const OTHERS: &[(&str, &[Unit])] = &[
    (Length::WHAT, LENGTH),
    (ElectricPotential::WHAT, VOLTS),
    (ElectricCurrent::WHAT, AMPS),
    (Power::WHAT, WATTS),
    (ApparentPower::WHAT, VOLT_AMPERES),
    (ElectricalResistance::WHAT, OHMS),
    (ThermodynamicTemperature::WHAT, TEMPERATURE),
    (Ratio::WHAT, SHARE),
    (Capacitance::WHAT, FARADS),
    (Inductance::WHAT, HENRIES),
    (Time::WHAT, TIME),
    (ElectricCharge::WHAT, CHARGE),
    (SunHours::WHAT, SUN),
    (VoltsPerDegree::WHAT, SLOPE),
    (Frequency::WHAT, FREQUENCY),
    (LinearResistance::WHAT, OHMS_PER_LENGTH),
    (Resistivity::WHAT, OHM_METRES),
    (BitRate::WHAT, BITS),
    (LinearCapacitance::WHAT, FARADS_PER_LENGTH),
    (PricePerLength::WHAT, PRICE_PER_LENGTH),
    (PricePerHour::WHAT, PRICE_PER_TIME),
    (PriceEach::WHAT, EACH),
    (Area::WHAT, AREA),
    ("wire gauge", GAUGE),
];

/// Words for which a unit is offered, though they are not read.
pub(super) const WORDS: &[(&str, &str)] = &[
    ("feet", "ft"),
    ("foot", "ft"),
    ("inch", "in"),
    ("inches", "in"),
    ("yard", "yd"),
    ("yards", "yd"),
    ("meter", "m"),
    ("meters", "m"),
    ("metre", "m"),
    ("metres", "m"),
    ("mi", "km"),
    ("mile", "km"),
    ("miles", "km"),
    ("volt", "V"),
    ("volts", "V"),
    ("amp", "A"),
    ("amps", "A"),
    ("ampere", "A"),
    ("amperes", "A"),
    ("watt", "W"),
    ("watts", "W"),
    ("ohms", "ohm"),
    ("celsius", "C"),
    ("fahrenheit", "F"),
    ("percent", "%"),
    ("mfd", "uF"),
    ("sec", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("minutes", "min"),
    ("hr", "h"),
    ("hrs", "h"),
    ("hour", "h"),
    ("hours", "h"),
    ("hertz", "Hz"),
    ("bps", "bit/s"),
    ("baud", "bit/s"),
    ("kbps", "kbit/s"),
    ("sqmm", "mm2"),
    ("mm^2", "mm2"),
    ("ea", "each"),
];

/// Implements `Measure` from one row: type, name, units, sign, what else, steps in us and in si.
macro_rules! measures {
    ($($quantity:ty, $what:literal, $units:ident, $sign:ident, { $($more:tt)* }, $make:expr, $base:expr,
       $us:expr, $si:expr;)*) => {
        $(impl Measure for $quantity {
            const WHAT: &'static str = $what;
            const UNITS: &'static [Unit] = $units;
            const SIGN: Sign = Sign::$sign;
            $($more)*

            fn from_base(base: f64) -> Self {
                ($make)(base)
            }

            fn base(self) -> f64 {
                ($base)(self)
            }

            fn steps(system: System) -> &'static [Step] {
                match system {
                    System::Us => const { $us },
                    System::Si => const { $si },
                }
            }
        })*
    };
}

/// Makes a quantity of the units library, whose value is the SI number.
fn si<D: uom::si::Dimension + ?Sized, U: uom::si::Units<f64> + ?Sized>(
    value: f64,
) -> Quantity<D, U, f64> {
    Quantity {
        dimension: PhantomData,
        units: PhantomData,
        value,
    }
}

measures! {
    Length, "length", LENGTH, NotNegative,
        { const MOST: Option<(f64, &'static str)> = Some((1e5, "100 km")); const COMPOUND: bool = true; },
        si, |q: Self| q.value,
        &[step(0.3048, "ft", Trimmed(3)), step(0.0, "in", Trimmed(3))],
        &[step(1.0, "m", Trimmed(3)), step(0.0, "mm", Trimmed(3))];
    ElectricPotential, "voltage", VOLTS, NotNegative,
        { const MOST: Option<(f64, &'static str)> = Some((1e4, "10 kV")); },
        si, |q: Self| q.value, &[step(0.0, "V", Fixed(2))], &[step(0.0, "V", Fixed(2))];
    ElectricCurrent, "current", AMPS, NotNegative,
        { const MOST: Option<(f64, &'static str)> = Some((1e5, "100 kA")); },
        si, |q: Self| q.value,
        &[step(0.1, "A", Significant(3)), step(1e-4, "mA", Trimmed(2)), step(0.0, "uA", Trimmed(2))],
        &[step(0.1, "A", Significant(3)), step(1e-4, "mA", Trimmed(2)), step(0.0, "uA", Trimmed(2))];
    Power, "power", WATTS, NotNegative, {}, si, |q: Self| q.value,
        &[step(0.1, "W", Trimmed(3)), step(0.0, "mW", Trimmed(2))],
        &[step(0.1, "W", Trimmed(3)), step(0.0, "mW", Trimmed(2))];
    ApparentPower, "apparent power", VOLT_AMPERES, NotNegative, {},
        |volt_amperes| Self { volt_amperes }, |q: Self| q.volt_amperes,
        &[step(0.1, "VA", Trimmed(3)), step(0.0, "mVA", Trimmed(2))],
        &[step(0.1, "VA", Trimmed(3)), step(0.0, "mVA", Trimmed(2))];
    ElectricalResistance, "resistance", OHMS, NotNegative, {}, si, |q: Self| q.value,
        &[step(1e6, "Mohm", Trimmed(3)), step(1e3, "kohm", Trimmed(3)), step(1.0, "ohm", Trimmed(3)),
          step(1e-3, "mohm", Trimmed(3)), step(0.0, "uohm", Trimmed(3))],
        &[step(1e6, "Mohm", Trimmed(3)), step(1e3, "kohm", Trimmed(3)), step(1.0, "ohm", Trimmed(3)),
          step(1e-3, "mohm", Trimmed(3)), step(0.0, "uohm", Trimmed(3))];
    ThermodynamicTemperature, "temperature", TEMPERATURE, Temperature, {}, si, |q: Self| q.value,
        &[step(0.0, "F", Trimmed(3))], &[step(0.0, "C", Trimmed(3))];
    Ratio, "percentage", SHARE, NotNegative, {}, si, |q: Self| q.value,
        &[step(0.0, "%", Trimmed(3))], &[step(0.0, "%", Trimmed(3))];
    Capacitance, "capacitance", FARADS, NotNegative, {}, si, |q: Self| q.value,
        &[step(1.0, "F", Trimmed(3)), step(1e-6, "uF", Trimmed(3)), step(1e-9, "nF", Trimmed(3)), step(0.0, "pF", Trimmed(3))],
        &[step(1.0, "F", Trimmed(3)), step(1e-6, "uF", Trimmed(3)), step(1e-9, "nF", Trimmed(3)), step(0.0, "pF", Trimmed(3))];
    Inductance, "inductance", HENRIES, NotNegative, {}, si, |q: Self| q.value,
        &[step(0.1, "H", Trimmed(3)), step(1e-3, "mH", Trimmed(3)), step(0.0, "uH", Trimmed(3))],
        &[step(0.1, "H", Trimmed(3)), step(1e-3, "mH", Trimmed(3)), step(0.0, "uH", Trimmed(3))];
    Time, "time", TIME, NotNegative, {}, si, |q: Self| q.value,
        &[step(3600.0, "h", Trimmed(3)), step(60.0, "min", Trimmed(3)), step(1.0, "s", Trimmed(3)),
          step(1e-3, "ms", Trimmed(3)), step(0.0, "us", Trimmed(3))],
        &[step(3600.0, "h", Trimmed(3)), step(60.0, "min", Trimmed(3)), step(1.0, "s", Trimmed(3)),
          step(1e-3, "ms", Trimmed(3)), step(0.0, "us", Trimmed(3))];
    ElectricCharge, "charge", CHARGE, NotNegative, {}, si, |q: Self| q.value,
        &[step(0.0, "Ah", Trimmed(3))], &[step(0.0, "Ah", Trimmed(3))];
    SunHours, "number of sun hours", SUN, NotNegative,
        { const MOST: Option<(f64, &'static str)> = Some((24.0, "24 h/day")); },
        |hours_per_day| Self { hours_per_day }, |q: Self| q.hours_per_day,
        &[step(0.0, "h/day", Trimmed(3))], &[step(0.0, "h/day", Trimmed(3))];
    VoltsPerDegree, "change of volts with temperature", SLOPE, NotNegative, {},
        |volts_per_kelvin| Self { volts_per_kelvin }, |q: Self| q.volts_per_kelvin,
        &[step(0.0, "mV/C", Trimmed(3))], &[step(0.0, "mV/C", Trimmed(3))];
    Frequency, "frequency", FREQUENCY, Positive, {}, si, |q: Self| q.value,
        &[step(1e3, "kHz", Trimmed(3)), step(0.0, "Hz", Trimmed(3))],
        &[step(1e3, "kHz", Trimmed(3)), step(0.0, "Hz", Trimmed(3))];
    LinearResistance, "resistance per length", OHMS_PER_LENGTH, NotNegative, {}, si, |q: Self| q.value,
        &[step(0.0, "ohm/kft", Trimmed(3))], &[step(0.0, "ohm/km", Trimmed(3))];
    Resistivity, "resistivity", OHM_METRES, Positive, {}, si, |q: Self| q.value,
        &[step(0.0, "ohm m", Trimmed(3))], &[step(0.0, "ohm m", Trimmed(3))];
    BitRate, "bit rate", BITS, Positive, {},
        |bits_per_second| Self { bits_per_second }, |q: Self| q.bits_per_second,
        &[step(1e6, "Mbit/s", Trimmed(4)), step(1e3, "kbit/s", Trimmed(4)), step(0.0, "bit/s", Trimmed(4))],
        &[step(1e6, "Mbit/s", Trimmed(4)), step(1e3, "kbit/s", Trimmed(4)), step(0.0, "bit/s", Trimmed(4))];
    LinearCapacitance, "capacitance per length", FARADS_PER_LENGTH, NotNegative, {}, si, |q: Self| q.value,
        &[step(0.0, "pF/ft", Trimmed(3))], &[step(0.0, "pF/m", Trimmed(3))];
    PricePerLength, "price per length", PRICE_PER_LENGTH, NotNegative, {},
        |per_metre| Self { per_metre }, |q: Self| q.per_metre,
        &[step(0.0, "/ft", Fixed(2))], &[step(0.0, "/m", Fixed(2))];
    PricePerHour, "price per hour", PRICE_PER_TIME, NotNegative, {},
        |per_second| Self { per_second }, |q: Self| q.per_second,
        &[step(0.0, "/h", Fixed(2))], &[step(0.0, "/h", Fixed(2))];
    PriceEach, "price", EACH, NotNegative, {}, |each| Self { each }, |q: Self| q.each,
        &[step(0.0, "each", Fixed(2))], &[step(0.0, "each", Fixed(2))];
    Area, "area", AREA, Positive, {}, si, |q: Self| q.value,
        &[step(CIRCULAR_MIL_MM2 * 1e-3, "kcmil", Trimmed(3)), step(0.0, "cmil", Trimmed(3))],
        &[step(0.0, "mm2", Trimmed(3))];
}
