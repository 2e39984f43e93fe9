//! Keys of what is noted: cases, exclusions, readings, accepted findings.

use super::{AMPS, DEGREES, Field, Holds, OHMS, field, needed};

/// Keys of `[case.X]`.
pub const CASE: &[Field] = &[
    field(
        "states",
        Holds::Table,
        "state of each device or relay that is not idle",
    ),
    field("broken", Holds::References, "conductors that are open"),
    field("fitted", Holds::References, "runs that this case connects"),
    field(
        "temperature",
        DEGREES,
        "replaces all conductor temperatures",
    ),
];

/// Keys of `[[exclusive]]`.
pub const EXCLUSIVE: &[Field] = &[field(
    "states",
    Holds::References,
    "device.state, never together",
)];

/// Keys of `[meter.X]`.
pub const METER: &[Field] = &[
    field("volts", Holds::Text, "its error in volts: 0.5 % + 2 digits"),
    field("amps", Holds::Text, "its error in amps: 1.5 % + 5 digits"),
    field("ohms", Holds::Text, "its error in ohms: 0.8 % + 3 digits"),
    field("floor", AMPS, "a clamp: the least amps that it tells"),
];

/// What ohms were read of.
pub const OHMS_OF: &[&str] = &["loop", "insulation"];

/// Keys of `[[reading]]`.
pub const READING: &[Field] = &[
    needed(
        "at",
        Holds::Reference,
        "where: volts at a supply, device, junction or terminal; amps or loop ohms of a run",
        "\"NAME\" of a supply, device, junction or run",
    ),
    field(
        "to",
        Holds::Reference,
        "the other lead, from terminal to terminal",
    ),
    needed(
        "value",
        Holds::Text,
        "what the meter showed, with all its digits",
        "\"10.9 V\"",
    ),
    field("case", Holds::Text, "in which case"),
    field(
        "meter",
        Holds::Text,
        "name of a meter, or its error: 0.5 % + 2 digits",
    ),
    field(
        "set",
        Holds::Count,
        "one number for all that was read within the same minute",
    ),
    field("time", Holds::Text, "when"),
    field("by", Holds::Text, "who read it"),
    field("temperature", DEGREES, "of the conductors at that time"),
    field(
        "leads",
        OHMS,
        "ohms of the meter's own leads, taken off the value",
    ),
    field(
        "kind",
        Holds::Choice(OHMS_OF),
        "what ohms were read of; silent: loop",
    ),
    field(
        "end",
        Holds::Choice(&["from", "to"]),
        "the end of the run at which its ohms were read",
    ),
];

/// Keys of `[[accepted]]`.
pub const ACCEPTED: &[Field] = &[
    needed("finding", Holds::Text, "code of the check", "\"...\""),
    needed("subject", Holds::Text, "what it is about", "\"...\""),
    field("case", Holds::Text, "in which case; absent: all"),
    field("value", Holds::Text, "holds while it is no worse"),
    field("by", Holds::Text, "who accepts it"),
    field("why", Holds::Text, "why it may stay as it is"),
    field("on", Holds::Text, "when: year-month-day"),
];
