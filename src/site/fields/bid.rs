//! Keys that only a bid asks for.

use super::{Field, Holds, field, needed};

/// Keys of `[labour]`.
pub const LABOUR: &[Field] = &[field(
    "rate",
    Holds::Quantity("/h", "/h"),
    "price of an hour, used only where hours are given",
)];

/// Keys of `[[part]]`.
pub const PART: &[Field] = &[
    needed("item", Holds::Text, "what it is", "\"splice kit, wet\""),
    field(
        "count",
        Holds::Count,
        "how many; silent: as many as the take-off counts",
    ),
    field("place", Holds::Text, "where it goes"),
    field("price", Holds::Quantity("each", "each"), "of one"),
    field("hours", Holds::Quantity("h", "h"), "of work on one"),
];

/// Keys of `[[run.X.wire]]`.
pub const WIRE: &[Field] = &[
    needed(
        "use",
        Holds::Text,
        "what the conductor does, as plus",
        "\"plus\"",
    ),
    field("colour", Holds::Text, "of its insulation"),
    field("from", Holds::Text, "terminal at the from end"),
    field("to", Holds::Text, "terminal at the other end"),
    field("label", Holds::Text, "mark at both ends"),
];

/// Keys of `[alternate.X]`.
pub const ALTERNATE: &[Field] = &[
    field("set", Holds::Table, "NAME.key = value, for what differs"),
    field(
        "broken",
        Holds::References,
        "conductors that are open in every case",
    ),
    field("fitted", Holds::References, "runs that it connects"),
];
