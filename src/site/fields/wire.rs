//! Keys of cables and runs.

use super::{
    AMPS, ANSWERS, CARRIES, DEGREES, Field, Holds, LENGTH, MATERIALS, OHMS, PER_LENGTH, ROUTES,
    STRANDINGS, field, needed,
};

/// Keys of `[cable.X]`.
pub const CABLE: &[Field] = &[
    field("size", Holds::Quantity("AWG", "mm2"), "of one conductor"),
    field("conductors", Holds::Count, "how many"),
    field("stranding", Holds::Choice(STRANDINGS), "of one conductor"),
    field("material", Holds::Choice(MATERIALS), "of one conductor"),
    field("shielded", Holds::Flag, "has a shield"),
    field(
        "resistance",
        PER_LENGTH,
        "of one conductor, instead of the table",
    ),
    field(
        "resistance_at",
        DEGREES,
        "temperature of the stated resistance",
    ),
    field(
        "reactance",
        PER_LENGTH,
        "ac only: of one conductor at 60 Hz",
    ),
    field("current", AMPS, "limit stated for one conductor"),
    field(
        "capacitance",
        Holds::Quantity("pF/ft", "pF/m"),
        "between conductors",
    ),
    field("diameter", Holds::Quantity("in", "mm"), "outside"),
    field(
        "rated",
        Holds::References,
        "what it is rated for: wet, burial, sunlight and the like",
    ),
    field("price", Holds::Quantity("/ft", "/m"), "per length"),
    field(
        "parts",
        Holds::Cables,
        "cables in one jacket, instead of size and conductors",
    ),
    field(
        "spools",
        Holds::References,
        "lengths that it is sold on; silent: cut to length",
    ),
    field("colours", Holds::References, "of its conductors, in order"),
];

/// How an end of a run is written.
const AN_END: &str = "\"NAME\" of a supply, output, device or junction";

/// Keys of `[run.X]`.
pub const RUN: &[Field] = &[
    needed("from", Holds::Reference, "first end", AN_END),
    needed("to", Holds::Reference, "other end", AN_END),
    field("cable", Holds::Cable, "GAUGE/COUNT or the name of a cable"),
    field("length", LENGTH, "one way, electrical"),
    field("resistance", OHMS, "each leg, instead of cable and length"),
    field("carries", Holds::Choices(CARRIES), "power, data and so on"),
    field("parallel", Holds::Count, "conductors per leg"),
    field(
        "minus_parallel",
        Holds::Count,
        "conductors in the negative leg; 0: none",
    ),
    field(
        "through",
        Holds::References,
        "fuses and contacts in the positive leg",
    ),
    field("splices", Holds::Count, "in each leg"),
    field("splice", OHMS, "one of this run's splices"),
    field("common", Holds::Flag, "has a data common of its own"),
    field(
        "temperature",
        DEGREES,
        "of its conductors in the corner nominal",
    ),
    field("hot", DEGREES, "of its conductors in the corner low"),
    field(
        "cold",
        DEGREES,
        "of its conductors in the corners high and heavy",
    ),
    field("route", Holds::Choice(ROUTES), "where it lies"),
    field("raceway", Holds::Text, "raceway in which it lies"),
    field("fitted", Holds::Flag, "false: drawn, not connected"),
    field(
        "shield",
        Holds::Choice(&["from", "to", "both", "none"]),
        "where the shield is bonded",
    ),
    field("shield_resistance", PER_LENGTH, "of the shield"),
    field("choices", Holds::Cables, "cables to choose from"),
    field(
        "shares",
        Holds::Reference,
        "run in whose jacket it lies: its cable, length, route and raceway",
    ),
    field("part", Holds::Count, "which cable of the jacket it uses"),
    field(
        "measured",
        LENGTH,
        "instead of length: what was measured, without risers",
    ),
    field("risers", LENGTH, "over the measured length"),
    field(
        "signal_wires",
        Holds::Count,
        "conductors for signals beside what it carries",
    ),
    field("wire", Holds::Table, "its conductors as marked"),
    field("bus", Holds::Reference, "the bus that it is part of"),
    field("wiegand", Holds::Table, "both ends of its Wiegand line"),
    field("loop", Holds::Table, "its supervised loop"),
    ANSWERS,
];
