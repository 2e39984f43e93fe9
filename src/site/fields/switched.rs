//! Keys of relays, of the inputs that they close, of doors and of raceways.

use super::{AMPS, Field, Holds, LENGTH, OHMS, VOLTS, field};
use crate::tables::{Cover, RacewayKind};

const SECONDS: Holds = Holds::Quantity("s", "s");
const INCHES: Holds = Holds::Quantity("in", "mm");

/// Words for what takes up a coil's current.
pub const CLAMPS: &[&str] = &[
    "none",
    "diode",
    "diode and zener",
    "varistor",
    "two-way",
    "rc",
    "unknown",
];
/// What an input may do.
pub const DOES: &[&str] = &[
    "open",
    "close",
    "stop",
    "step",
    "hold open",
    "safety",
    "bypass",
    "reset",
    "release",
    "other",
];
/// What contacts are made of.
pub const CONTACT_MATERIALS: &[&str] = &["silver", "gold", "solid state"];
/// How a relay may stand while its device starts.
pub const AT_BOOT: &[&str] = &["rest", "pulled", "unknown"];
/// What a lock may do without power.
pub const WITHOUT_POWER: &[&str] = &["unlocked", "locked", "unknown"];

/// Keys of `[device.X.relay.Y]`.
pub const RELAY: &[Field] = &[
    field("resistance", OHMS, "of the closed contact"),
    field("current", AMPS, "rated"),
    field("voltage", VOLTS, "rated, dc"),
    field("ac_voltage", VOLTS, "rated, ac"),
    field(
        "contact",
        Holds::Choice(&["changeover", "normally open", "normally closed"]),
        "kind of contact",
    ),
    field(
        "material",
        Holds::Choice(CONTACT_MATERIALS),
        "of the contact",
    ),
    field(
        "at_boot",
        Holds::Choice(AT_BOOT),
        "how it stands while its device starts",
    ),
    field("pulse", SECONDS, "how long it stays pulled"),
    field("life", Holds::Count, "operations at its rating"),
];

/// Keys of `[device.X.input.Y]` and `[supply.X.input.Y]`.
pub const INPUT: &[Field] = &[
    field("does", Holds::Choice(DOES), "what it makes its device do"),
    field("voltage", VOLTS, "that it puts on the open contact"),
    field("current", AMPS, "that it drives through the closed contact"),
    field(
        "dry",
        Holds::Flag,
        "supplies its own volts and bears no others",
    ),
    field("shortest", SECONDS, "shortest pulse that it sees"),
    field("longest", SECONDS, "longest pulse that it takes for one"),
];

/// Keys of `[door.X]`.
pub const DOOR: &[Field] = &[
    field(
        "for",
        Holds::Choice(&["people", "vehicles"]),
        "whom it is for",
    ),
    field(
        "way_out",
        Holds::Flag,
        "people may have to leave by it; silent: counts as yes",
    ),
    field(
        "hand_release",
        Holds::Flag,
        "a handle on the inside opens it by hand alone",
    ),
    field(
        "sensor",
        Holds::Flag,
        "a sensor on the inside unlocks it for whoever comes near",
    ),
    field(
        "button",
        Holds::Flag,
        "a button beside it cuts the lock's power by itself",
    ),
    field("button_height", INCHES, "over the floor"),
    field("button_distance", LENGTH, "from the door"),
    field("button_holds", SECONDS, "how long it keeps it unlocked"),
    field(
        "fire_release",
        Holds::FlagOrReference,
        "the alarm cuts the lock's supply in hardware; or the relay of the alarm that does",
    ),
    field(
        "control_distance",
        LENGTH,
        "from what moves to the nearest control",
    ),
];

/// Keys of `[raceway.X]`.
pub const RACEWAY: &[Field] = &[
    field("kind", Holds::Choice(RacewayKind::WORDS), "what it is"),
    field(
        "size",
        Holds::Text,
        "trade size: 1/2, 3/4, 1, 1-1/4, 1-1/2, 2",
    ),
    field("inside", INCHES, "inside diameter, instead of the table"),
    field("length", LENGTH, "of the raceway"),
    field("wet", Holds::Flag, "it gets wet inside"),
    field("cover", INCHES, "ground between its top and the surface"),
    field("under", Holds::Choice(Cover::WORDS), "what lies over it"),
    field("mains_inside", Holds::Flag, "mains lie in it, too"),
    field("barrier", Holds::Flag, "a barrier parts the two"),
    field(
        "bends",
        Holds::Count,
        "degrees of all bends between two pull points",
    ),
    field(
        "sealed",
        Holds::Flag,
        "closed against air where it turns warm",
    ),
    field("drained", Holds::Flag, "water runs out at its lowest point"),
    field("bonded", Holds::Flag, "metal: bonded at both ends"),
    field("price", Holds::Quantity("/ft", "/m"), "per length"),
];
