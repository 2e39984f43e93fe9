//! Keys of a supply's battery and of the panel that charges it.

use super::{DEGREES, Field, Holds, OHMS, PERCENT, VOLTS, field, needed};

const HOURS: Holds = Holds::Quantity("h", "h");

/// Chemistries of batteries; typical figures stand in for silent keys of the first alone.
pub const CHEMISTRIES: &[&str] = &["lead-acid", "lithium iron phosphate", "other"];

/// Keys of `[supply.X.battery]`.
pub const BATTERY: &[Field] = &[
    needed(
        "capacity",
        Holds::Quantity("Ah", "Ah"),
        "at its rate and 25 C, new",
        "\"35 Ah\"",
    ),
    field("chemistry", Holds::Choice(CHEMISTRIES), "what it is"),
    field("rate", HOURS, "hours over which the capacity is stated"),
    field("cells", Holds::Count, "in series"),
    field("coldest", DEGREES, "of the battery itself"),
    field(
        "cold_capacity",
        PERCENT,
        "share of the capacity at its coldest",
    ),
    field("aged", PERCENT, "share of the capacity when it is old"),
    field("usable", PERCENT, "share of it that may be drawn"),
    field(
        "peukert",
        Holds::Number,
        "exponent by which it gives less when more is drawn, from 1 to 2",
    ),
    field("full", VOLTS, "at rest, full"),
    field("empty", VOLTS, "at rest, empty"),
    field("resistance", OHMS, "of the battery itself"),
    field("disconnect", VOLTS, "at which it is switched off"),
    field("reconnect", VOLTS, "at which it is switched on again"),
    field("charge", VOLTS, "on charge at 25 C"),
    field(
        "charge_slope",
        Holds::Text,
        "rise of the charge volts for each degree colder: 18 mV/C, or 3 mV/C/cell",
    ),
    field(
        "fuse",
        Holds::Text,
        "at its post: amps, the name of a fuse, or none",
    ),
    field("hours", HOURS, "that it must bridge"),
];

/// Keys of `[supply.X.solar]`.
pub const SOLAR: &[Field] = &[
    field("panel", Holds::Quantity("W", "W"), "rated power"),
    field(
        "sun",
        Holds::Quantity("h/day", "h/day"),
        "hours of full sun in the worst month",
    ),
    field(
        "efficiency",
        PERCENT,
        "share of the panel's power that arrives",
    ),
    field(
        "controller_draw",
        Holds::Draw,
        "what the charge controller itself takes",
    ),
    field("dark_days", Holds::Number, "days without sun to bridge"),
];
