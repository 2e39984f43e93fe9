//! Keys of what stands on a site: supplies, devices, junctions, fuses, earths, places.

use super::{
    AMPS, ANSWERS, DEVICE_KINDS, Field, Holds, LENGTH, OHMS, PERCENT, RECTIFIERS, VOLTS, field,
};

/// Keys of `[supply.X]`.
pub const SUPPLY: &[Field] = &[
    field("place", Holds::Text, "where it stands"),
    field(
        "kind",
        Holds::Choice(&["dc", "ac"]),
        "direct or alternating",
    ),
    field("frequency", Holds::Quantity("Hz", "Hz"), "of an ac supply"),
    field("voltage", VOLTS, "with no load"),
    field(
        "rated_voltage",
        VOLTS,
        "of a transformer at rated load; instead of voltage",
    ),
    field("rating", Holds::Quantity("VA", "VA"), "of a transformer"),
    field(
        "regulation",
        PERCENT,
        "of a transformer: how far its volts rise without load",
    ),
    field("tolerance", PERCENT, "spread of the volts, each way"),
    field("lowest", VOLTS, "least volts, instead of the tolerance"),
    field("highest", VOLTS, "most volts, instead of the tolerance"),
    field("resistance", OHMS, "of the source itself"),
    field(
        "loaded",
        Holds::Pair,
        "volts and amps of one loaded reading, from which the resistance follows",
    ),
    field("current", AMPS, "rated, continuous"),
    field("peak", AMPS, "for inrush cases"),
    field(
        "class",
        Holds::Choice(&["class 2", "class 3"]),
        "power-limited class that it is listed as",
    ),
    field(
        "negative_earthed",
        Holds::Flag,
        "its negative is tied to its earth terminal",
    ),
    field(
        "fed_by",
        Holds::Reference,
        "the device whose output this is",
    ),
    field(
        "efficiency",
        PERCENT,
        "share of that device's power that arrives",
    ),
    field(
        "isolated",
        Holds::Flag,
        "with fed_by: its negative is its own",
    ),
    field(
        "on",
        Holds::Reference,
        "sits on the terminals of another thing",
    ),
    field("output", Holds::Table, "protected outputs"),
    field(
        "poe",
        Holds::Table,
        "its ports, where it is a network switch",
    ),
    field("battery", Holds::Table, "the battery behind it"),
    field("solar", Holds::Table, "the panel that charges its battery"),
    ANSWERS,
];

/// Keys of `[supply.X.poe]`.
pub const POE: &[Field] = &[
    field("class", Holds::Count, "class of its ports, 0 to 8"),
    field("pairs", Holds::Count, "pairs with power, 2 or 4"),
    field("budget", Holds::Quantity("W", "W"), "of all ports together"),
];

/// Keys of `[supply.X.output.Y]`.
pub const OUTPUT: &[Field] = &[
    field("current", AMPS, "rated"),
    field("resistance", OHMS, "in the positive leg"),
    field("poe_class", Holds::Count, "class of this port, 0 to 8"),
];

/// Keys of `[device.X]`.
pub const DEVICE: &[Field] = &[
    field("kind", Holds::Choice(DEVICE_KINDS), "what it is"),
    field("like", Holds::Text, "row of the built-in device table"),
    field("place", Holds::Text, "where it stands"),
    field("lowest", VOLTS, "least volts at its own terminals"),
    field("highest", VOLTS, "most volts at its own terminals"),
    field("draw", Holds::Table, "what it draws by state"),
    field(
        "power_factor",
        Holds::Number,
        "of its VA and W draws, lagging",
    ),
    field(
        "rectifier",
        Holds::Choice(RECTIFIERS),
        "on ac: how it makes its own dc",
    ),
    field(
        "diode_drop",
        VOLTS,
        "volts lost in one diode of its rectifier",
    ),
    field(
        "reservoir",
        Holds::Quantity("uF", "uF"),
        "capacitor behind its rectifier",
    ),
    field("dc_lowest", VOLTS, "least dc volts behind its rectifier"),
    field("dc_highest", VOLTS, "most dc volts behind its rectifier"),
    field(
        "negative_earthed",
        Holds::Flag,
        "its negative is tied to its earth terminal",
    ),
    field(
        "on",
        Holds::Reference,
        "sits on the terminals of another thing",
    ),
    field("relay", Holds::Table, "its relays"),
    field(
        "tie",
        OHMS,
        "between its data common and its negative; isolated where an isolator sits",
    )
    .or(&["isolated"]),
    field("poe_class", Holds::Count, "class that it asks for, 0 to 8"),
    field("safety", Holds::Flag, "protects people from the gate"),
    ANSWERS,
];

/// Keys of `[device.X.relay.Y]`.
pub const RELAY: &[Field] = &[
    field("resistance", OHMS, "of the closed contact"),
    field("current", AMPS, "rated"),
    field("voltage", VOLTS, "rated"),
    field(
        "contact",
        Holds::Choice(&["changeover", "normally open", "normally closed"]),
        "kind of contact",
    ),
];

/// Keys of `[junction.X]`.
pub const JUNCTION: &[Field] = &[
    field("place", Holds::Text, "where it stands"),
    field(
        "on",
        Holds::Reference,
        "sits on the terminals of another thing",
    ),
    ANSWERS,
];

/// Keys of `[fuse.X]`.
pub const FUSE: &[Field] = &[
    field("place", Holds::Text, "where it stands"),
    field("current", AMPS, "rated"),
    field(
        "kind",
        Holds::Choice(&["fuse", "breaker", "resettable", "electronic"]),
        "what it is",
    ),
    field("resistance", OHMS, "of the closed fuse"),
    ANSWERS,
];

/// Keys of `[earth.X]`.
pub const EARTH: &[Field] = &[
    field("place", Holds::Text, "where it stands"),
    field(
        "kind",
        Holds::Choice(&["rod", "building", "bar", "metal"]),
        "what it is",
    ),
    field("resistance", OHMS, "to remote earth"),
    field(
        "soil",
        Holds::Quantity("ohm m", "ohm m"),
        "with length and diameter, instead of resistance",
    ),
    field("length", LENGTH, "of the rod in the soil"),
    field("diameter", Holds::Quantity("in", "mm"), "of the rod"),
    ANSWERS,
];

/// Keys of `[place.X]`.
pub const PLACE: &[Field] = &[
    field("wet", Holds::Flag, "it gets wet"),
    field("wet_contact", Holds::Flag, "people touch it with wet skin"),
    field("building", Holds::Text, "the building that it is part of"),
];
