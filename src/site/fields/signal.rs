//! Keys of what lines carry besides power, and of surge parts.

use super::{AMPS, ANSWERS, Field, Holds, OHMS, PERCENT, VOLTS, field, needed};

const MICROSECONDS: Holds = Holds::Quantity("us", "us");

/// Keys of `[run.X.wiegand]`.
pub const WIEGAND: &[Field] = &[
    field("sender", Holds::Reference, "the device that sends"),
    field("voltage", VOLTS, "to which the data is pulled up"),
    field("pull_up", OHMS, "of each data conductor"),
    field(
        "pull_up_at",
        Holds::Reference,
        "the device that has it; silent: the receiver",
    ),
    field("low_out", VOLTS, "most volts of a low at the sender"),
    field(
        "low_in",
        VOLTS,
        "most volts that the receiver takes for low",
    ),
    field(
        "high_in",
        VOLTS,
        "least volts that the receiver takes for high",
    ),
    field("drive", AMPS, "amps that the sender can sink"),
    field("pulse", MICROSECONDS, "length of a pulse as sent"),
    field("gap", MICROSECONDS, "between two pulses as sent"),
    field(
        "twisted_together",
        Holds::Flag,
        "the two data conductors are one twisted pair",
    ),
];

/// Keys of `[run.X.loop]`.
pub const LOOP: &[Field] = &[
    field("voltage", VOLTS, "behind the pull-up"),
    field("pull_up", OHMS, "between those volts and the input"),
    field("end", OHMS, "the end resistor"),
    field("trip", OHMS, "the resistor that the contact switches"),
    field(
        "layout",
        Holds::Choice(&["series", "parallel"]),
        "series: the contact lies across trip; parallel: contact and trip lie across end",
    ),
    field(
        "end_at",
        Holds::Choice(&["device", "hub"]),
        "where the end resistor sits",
    ),
    field("contact", OHMS, "of the closed contact"),
    field("tolerance", PERCENT, "spread of all resistors, each way"),
    field("leakage", OHMS, "least across the cable when it is wet"),
    field("short", Holds::Window, "volts of a shorted cable"),
    field("normal", Holds::Window, "volts of the normal state"),
    field("active", Holds::Window, "volts when something happens"),
    field("open", Holds::Window, "volts of a cut cable"),
];

/// Keys of `[bus.X]`.
pub const BUS: &[Field] = &[
    field(
        "rate",
        Holds::Quantity("bit/s", "bit/s"),
        "bits in a second",
    ),
    field(
        "terminators",
        Holds::References,
        "devices that have a terminator",
    ),
    field("terminator", OHMS, "one terminator"),
    field("bias", OHMS, "each of the two bias resistors"),
    field(
        "bias_at",
        Holds::References,
        "the device that has them, or all that have a pair",
    ),
    field("bias_voltage", VOLTS, "across bias resistors and line"),
    field(
        "driver",
        VOLTS,
        "of a loaded driver, between the conductors",
    ),
    field(
        "holds_idle",
        Holds::Flag,
        "all receivers take an idle line for a one by themselves",
    ),
    field(
        "units",
        Holds::Number,
        "unit loads of all receivers together",
    ),
    ANSWERS,
];

/// Keys of `[surge.X]`.
pub const SURGE: &[Field] = &[
    needed(
        "line",
        Holds::Reference,
        "the run that it sits on",
        "\"W1\"",
    ),
    field(
        "end",
        Holds::Choice(&["from", "to"]),
        "the end at which it sits",
    ),
    field("working", VOLTS, "most volts at which it does nothing"),
    field("resistance", OHMS, "in each leg"),
    field("earth", Holds::Reference, "the earth that it leads to"),
];
