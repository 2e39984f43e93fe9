//! Every key of the format, by the table it stands in: what the reader allows, what the editor
//! offers and what help says come from here.

mod answers;
mod battery;
mod bid;
mod nest;
mod record;
mod signal;
mod switched;
mod things;
mod whole;
mod wire;

pub use answers::answers;
pub use battery::{BATTERY, CHEMISTRIES, SOLAR};
pub use bid::{ALTERNATE, LABOUR, PART, WIRE};
pub use nest::{Inner, at, groups, inner, is_list, is_thing};
pub use record::{ACCEPTED, CASE, EXCLUSIVE, METER, OHMS_OF, READING};
pub use signal::{BUS, LOOP, SURGE, WIEGAND};
pub use switched::{
    AT_BOOT, CLAMPS, CONTACT_MATERIALS, DOES, DOOR, INPUT, RACEWAY, RELAY, WITHOUT_POWER,
};
pub use things::{BOXES, DEVICE, EARTH, FUSE, JUNCTION, OUTPUT, PLACE, POE, SUPPLY};
pub use whole::{DESIGN, ROUTE, SITE, SIZING};
pub use wire::{CABLE, RUN};

/// What a key holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// A number with its unit; the unit that a bare number takes on the screen (US, SI).
    Quantity(&'static str, &'static str),
    /// A draw: amps, watts, ohms, VA, a label or `off`.
    Draw,
    /// Free text.
    Text,
    /// true or false.
    Flag,
    /// true or false, or the name of a part of a thing.
    FlagOrReference,
    /// A whole number.
    Count,
    /// A bare number with a decimal point.
    Number,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// One of these words, or several.
    Choices(&'static [&'static str]),
    /// The name of a cable.
    Cable,
    /// Names of cables.
    Cables,
    /// The name of a thing, or of a part of it.
    Reference,
    /// Names of things or of their parts.
    References,
    /// A pair of volts and amps.
    Pair,
    /// Two volts, the lower first.
    Window,
    /// A table of its own.
    Table,
}

/// One key of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field {
    /// The key.
    pub key: &'static str,
    /// What it holds.
    pub holds: Holds,
    /// What it means, in a few words.
    pub help: &'static str,
    /// The table cannot do without it: a value as one would write it.
    pub needed: Option<&'static str>,
    /// Words that stand in place of a value.
    pub also: &'static [&'static str],
}

impl Field {
    /// The same with words that may stand in place of its value.
    const fn or(mut self, words: &'static [&'static str]) -> Self {
        self.also = words;
        self
    }
}

const fn field(key: &'static str, holds: Holds, help: &'static str) -> Field {
    Field {
        key,
        holds,
        help,
        needed: None,
        also: &[],
    }
}

/// A key that its table cannot do without, with an example of its value.
const fn needed(
    key: &'static str,
    holds: Holds,
    help: &'static str,
    example: &'static str,
) -> Field {
    Field {
        key,
        holds,
        help,
        needed: Some(example),
        also: &[],
    }
}

const VOLTS: Holds = Holds::Quantity("V", "V");
const AMPS: Holds = Holds::Quantity("A", "A");
const OHMS: Holds = Holds::Quantity("ohm", "ohm");
const GAUGE: Holds = Holds::Quantity("AWG", "mm2");
const PERCENT: Holds = Holds::Quantity("%", "%");
const LENGTH: Holds = Holds::Quantity("ft", "m");
const DEGREES: Holds = Holds::Quantity("F", "C");
const PER_LENGTH: Holds = Holds::Quantity("ohm/kft", "ohm/km");

/// Kinds of device.
pub const DEVICE_KINDS: &[&str] = &[
    "hub",
    "reader",
    "keypad",
    "electromagnetic lock",
    "electric strike",
    "operator",
    "photo eye",
    "edge",
    "vehicle loop",
    "button",
    "door contact",
    "heater",
    "light",
    "camera",
    "intercom",
    "panel",
    "controller",
    "node",
    "sensor",
    "router",
    "other",
];
/// How a device on ac makes its own dc.
pub const RECTIFIERS: &[&str] = &["none", "half wave", "bridge", "unknown"];
/// How a supply limits its current.
pub const LIMITS: &[&str] = &["none", "hard", "foldback", "hiccup"];
/// What a run may carry.
pub const CARRIES: &[&str] = &[
    "power", "wiegand", "rs485", "data", "loop", "contact", "ethernet", "bond",
];
/// Where a run may lie.
pub const ROUTES: &[&str] = &["indoor", "outdoor", "buried", "overhead"];
/// Conductor materials.
pub const MATERIALS: &[&str] = &[
    "copper",
    "tinned copper",
    "copper-clad aluminum",
    "aluminum",
];
/// Ways of stranding.
pub const STRANDINGS: &[&str] = &["solid", "stranded", "fine"];

/// The draw of any state.
pub const DRAW: Field = field(
    "draw",
    Holds::Draw,
    "amps, watts, ohms, or as on the label: 0.5 A at 12 V",
);

/// What anything may hold beside its own keys.
const ANSWERS: Field = field(
    "answers",
    Holds::Table,
    "yes or no to what is asked of it, by the code of the question",
);

/// Tables of a site file.
pub const TOP: &[Field] = &[
    needed(
        "format",
        Holds::Count,
        "number of the format, 1",
        "1, as the first line",
    ),
    field("site", Holds::Table, "name, units, code edition, currency"),
    field(
        "design",
        Holds::Table,
        "temperatures and allowances of the whole site",
    ),
    field("cable", Holds::Table, "cables of the site's own"),
    field("supply", Holds::Table, "supplies"),
    field("device", Holds::Table, "devices"),
    field("junction", Holds::Table, "splice boxes and terminal blocks"),
    field("fuse", Holds::Table, "fuses and breakers"),
    field("earth", Holds::Table, "rods, bars and bonded metal"),
    field("bus", Holds::Table, "two-wire buses over several runs"),
    field("surge", Holds::Table, "surge parts on runs"),
    field("place", Holds::Table, "places with properties"),
    field("door", Holds::Table, "doors and gates as people use them"),
    field("raceway", Holds::Table, "pipes and ducts"),
    field("run", Holds::Table, "runs of cable"),
    field("case", Holds::Table, "what happens at once"),
    field(
        "exclusive",
        Holds::Table,
        "states that never stand together",
    ),
    field("sizing", Holds::Table, "cables to choose from"),
    field("labour", Holds::Table, "price of an hour of work"),
    field("part", Holds::Table, "items of the bid as entered"),
    field("alternate", Holds::Table, "other designs of the same site"),
    field("meter", Holds::Table, "meters and clamps, and their errors"),
    field("reading", Holds::Table, "readings taken on site"),
    field("accepted", Holds::Table, "findings that somebody accepted"),
    ANSWERS,
];

/// The field of a table that has a key.
pub fn find(fields: &'static [Field], key: &str) -> Option<&'static Field> {
    fields.iter().find(|f| f.key == key)
}
