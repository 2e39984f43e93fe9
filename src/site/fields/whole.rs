//! Keys that hold for the whole site.

use super::{DEGREES, Field, Holds, LENGTH, OHMS, PERCENT, field};

/// Keys of `[site]`.
pub const SITE: &[Field] = &[
    field("name", Holds::Text, "title of the site"),
    field(
        "units",
        Holds::Choice(&["us", "si"]),
        "how results are shown",
    ),
    field("code", Holds::Text, "code edition that cautions cite"),
    field("currency", Holds::Text, "currency of the prices"),
];

/// Keys of `[design]`.
pub const DESIGN: &[Field] = &[
    field(
        "temperature",
        DEGREES,
        "of conductors in the corner nominal",
    ),
    field("hot", DEGREES, "of conductors in the corner low"),
    field(
        "cold",
        DEGREES,
        "of conductors in the corners high and heavy",
    ),
    field("draw_tolerance", PERCENT, "spread of draws, each way"),
    field(
        "reserve",
        PERCENT,
        "warn where volts are this close to lowest",
    ),
    field(
        "spare",
        PERCENT,
        "warn where amps are this close to the rating",
    ),
    field("splice", OHMS, "one splice, in each leg that has it"),
    field("slack", LENGTH, "take-off only: per end of a run"),
    field("waste", PERCENT, "take-off only: share added"),
    field("route", Holds::Table, "temperatures by route"),
];

/// Keys of `[design.route.X]`.
pub const ROUTE: &[Field] = &[
    field("temperature", DEGREES, "in the corner nominal"),
    field("hot", DEGREES, "in the corner low"),
    field("cold", DEGREES, "in the corners high and heavy"),
];

/// Keys of `[sizing]`.
pub const SIZING: &[Field] = &[field("choices", Holds::Cables, "cables to choose from")];
