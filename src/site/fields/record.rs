//! Keys of what is noted: cases, exclusions, readings, accepted findings.

use super::{DEGREES, Field, Holds, field, needed};

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

/// Keys of `[[reading]]`.
pub const READING: &[Field] = &[
    needed(
        "at",
        Holds::Reference,
        "where",
        "\"NAME\" of a supply, device, junction or run",
    ),
    field("to", Holds::Reference, "the other lead"),
    needed("value", Holds::Text, "what the meter showed", "\"10.9 V\""),
    field("case", Holds::Text, "in which case"),
    field("meter", Holds::Text, "the meter's error"),
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
