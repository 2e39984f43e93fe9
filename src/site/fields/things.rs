//! Keys of what stands on a site: supplies, devices, junctions, fuses, earths, places.

use super::{
    AMPS, ANSWERS, CLAMPS, DEVICE_KINDS, Field, GAUGE, Holds, LENGTH, LIMITS, OHMS, PERCENT,
    RECTIFIERS, VOLTS, WITHOUT_POWER, field,
};

/// What a box may be made of.
pub const BOXES: &[&str] = &["metal", "plastic"];

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
    field("limit", Holds::Choice(LIMITS), "how it limits its current"),
    field(
        "limit_current",
        AMPS,
        "where it limits; else at the peak, else at the rated current",
    ),
    field("one_way", VOLTS, "lost in the diode at its output"),
    field(
        "max_gauge",
        GAUGE,
        "thickest conductor that its terminals take",
    ),
    field(
        "wires_per_terminal",
        Holds::Count,
        "conductors that go under one screw",
    ),
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
    field("input", Holds::Table, "its inputs for contacts"),
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
        "capacitor behind its rectifier, on dc at its terminals",
    ),
    field("dc_lowest", VOLTS, "least dc volts behind its rectifier"),
    field("dc_highest", VOLTS, "most dc volts behind its rectifier"),
    field("cutoff", VOLTS, "under these volts it is off"),
    field("restart", VOLTS, "over these volts it starts again"),
    field(
        "max_gauge",
        GAUGE,
        "thickest conductor that its terminals take",
    ),
    field(
        "wires_per_terminal",
        Holds::Count,
        "conductors that go under one screw",
    ),
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
    field("door", Holds::Reference, "the door or gate that it is on"),
    field(
        "without_power",
        Holds::Choice(WITHOUT_POWER),
        "what the lock does without power",
    ),
    field(
        "coil",
        Holds::Choice(&["dc", "ac"]),
        "what its coil is made for",
    ),
    field(
        "clamp",
        Holds::Choice(CLAMPS),
        "what takes up the coil's current when it is switched off",
    ),
    field(
        "clamp_at",
        Holds::Choice(&["load", "contact"]),
        "where that sits",
    ),
    field("clamp_voltage", VOLTS, "across the clamp while it works"),
    field("inductance", Holds::Quantity("H", "H"), "of its coil"),
    field("release_current", AMPS, "at which the coil lets go"),
    field(
        "on_time",
        Holds::Quantity("s", "s"),
        "longest time that the coil may be energised",
    ),
    field("cycles", Holds::Count, "how often it is switched in a day"),
    field(
        "duty",
        PERCENT,
        "share of the time that the coil may be energised",
    ),
    field("input", Holds::Table, "its inputs for contacts"),
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
    field("sun", Holds::Flag, "the sun shines on it"),
    field("corrosive", Holds::Flag, "salt, ammonia or chlorine"),
    field("box", Holds::Choice(BOXES), "what its box is made of"),
    field(
        "box_size",
        Holds::References,
        "width, height and depth of its box",
    ),
];
