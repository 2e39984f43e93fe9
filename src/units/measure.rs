//! What every quantity tells of itself: its units, its limits and how it is shown.

/// Which values a quantity can have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// Zero or more.
    NotNegative,
    /// More than zero.
    Positive,
    /// Anything from absolute zero up: negative in some units.
    Temperature,
}

/// The units in which results are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum System {
    /// Feet, degrees Fahrenheit, ohms per thousand feet.
    Us,
    /// Metres, degrees Celsius, ohms per kilometre.
    Si,
}

/// One unit that people write: base value = (written + shift) x times / over.
///
/// Two whole factors instead of one scale keep round values exact: 350 mA is 0.35 A.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// The spelling in which the program writes it.
    pub name: &'static str,
    /// Other spellings that are read.
    pub also: &'static [&'static str],
    /// Added to the written number first; 0 except for temperatures.
    pub shift: f64,
    /// Factor to the SI unit.
    pub times: f64,
    /// Divisor to the SI unit.
    pub over: f64,
    /// Its leading m is milli, so that a capital M would mean mega.
    pub milli: bool,
}

impl Unit {
    /// Turns a number written in this unit into SI.
    pub fn to_base(&self, written: f64) -> f64 {
        (written + self.shift) * self.times / self.over
    }

    /// Turns an SI number into this unit.
    pub fn from_base(&self, base: f64) -> f64 {
        base * self.over / self.times - self.shift
    }
}

/// How many digits are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Digits {
    /// Always so many decimals.
    Fixed(usize),
    /// At least so many significant digits; whole numbers are never rounded.
    Significant(usize),
    /// As `Significant`, without trailing zeros.
    Trimmed(usize),
}

/// From which size on a quantity is shown in which unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Smallest SI magnitude for which the step serves.
    pub from: f64,
    /// Name of the unit.
    pub unit: &'static str,
    /// Digits in that unit.
    pub digits: Digits,
}

/// A quantity that people write with a unit.
pub trait Measure: Copy + PartialEq + Sized + 'static {
    /// What it is called in messages, as in "a length is given in ...".
    const WHAT: &'static str;
    /// Units that are read; the first is the one that hints offer.
    const UNITS: &'static [Unit];
    /// Which values it can have.
    const SIGN: Sign;
    /// The most that is accepted, in SI and in words.
    const MOST: Option<(f64, &'static str)> = None;
    /// Feet may be followed by inches.
    const COMPOUND: bool = false;

    /// Makes it from a number in SI.
    fn from_base(base: f64) -> Self;
    /// Returns it as a number in SI.
    fn base(self) -> f64;
    /// Returns how it is shown, largest step first.
    fn steps(system: System) -> &'static [Step];
}
