//! Every key of the format, by the table it stands in: what the reader allows, what the editor
//! offers and what help says come from here.

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
}

const fn field(key: &'static str, holds: Holds, help: &'static str) -> Field {
    Field { key, holds, help }
}

const VOLTS: Holds = Holds::Quantity("V", "V");
const AMPS: Holds = Holds::Quantity("A", "A");
const OHMS: Holds = Holds::Quantity("ohm", "ohm");
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

/// Tables of a site file.
pub const TOP: &[Field] = &[
    field("format", Holds::Count, "number of the format, 1"),
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
    field("place", Holds::Table, "places with properties"),
    field("run", Holds::Table, "runs of cable"),
    field("case", Holds::Table, "what happens at once"),
    field(
        "exclusive",
        Holds::Table,
        "states that never stand together",
    ),
    field("sizing", Holds::Table, "cables to choose from"),
    field("reading", Holds::Table, "readings taken on site"),
    field("accepted", Holds::Table, "findings that somebody accepted"),
];

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
];

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
];

/// Keys of `[supply.X.output.Y]`.
pub const OUTPUT: &[Field] = &[
    field("current", AMPS, "rated"),
    field("resistance", OHMS, "in the positive leg"),
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
    ),
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
];

/// Keys of `[place.X]`.
pub const PLACE: &[Field] = &[
    field("wet", Holds::Flag, "it gets wet"),
    field("wet_contact", Holds::Flag, "people touch it with wet skin"),
];

/// Keys of `[run.X]`.
pub const RUN: &[Field] = &[
    field("from", Holds::Reference, "first end"),
    field("to", Holds::Reference, "other end"),
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
];

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

/// Keys of `[sizing]`.
pub const SIZING: &[Field] = &[field("choices", Holds::Cables, "cables to choose from")];

/// Keys of `[[reading]]`.
pub const READING: &[Field] = &[
    field("at", Holds::Reference, "where"),
    field("to", Holds::Reference, "the other lead"),
    field("value", Holds::Text, "what the meter showed"),
    field("case", Holds::Text, "in which case"),
    field("meter", Holds::Text, "the meter's error"),
];

/// Keys of `[[accepted]]`.
pub const ACCEPTED: &[Field] = &[
    field("finding", Holds::Text, "code of the check"),
    field("subject", Holds::Text, "what it is about"),
    field("case", Holds::Text, "in which case; absent: all"),
    field("value", Holds::Text, "holds while it is no worse"),
    field("by", Holds::Text, "who"),
    field("why", Holds::Text, "why"),
    field("on", Holds::Text, "when"),
];

/// The field of a table that has a key.
pub fn find(fields: &'static [Field], key: &str) -> Option<&'static Field> {
    fields.iter().find(|f| f.key == key)
}
