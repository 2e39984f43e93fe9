//! What stands below a key that holds a table, so that reading, editing, help and the schema know
//! the way to every key.

use super::answers::answers_below;
use super::{
    ACCEPTED, ALTERNATE, BATTERY, BUS, CABLE, CASE, DESIGN, DEVICE, DOOR, EARTH, EXCLUSIVE, FUSE,
    Field, INPUT, JUNCTION, LABOUR, LOOP, METER, OUTPUT, PART, PLACE, POE, RACEWAY, READING, RELAY,
    ROUTE, ROUTES, RUN, SITE, SIZING, SOLAR, SUPPLY, SURGE, TOP, WIEGAND, WIRE, find,
};

/// What a key that holds a table has below it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inner {
    /// One table with these keys.
    One(&'static [Field]),
    /// Tables with these keys by names of things: letters, digits, blanks, `-` and `_`.
    Named(&'static [Field]),
    /// Tables with these keys by any text.
    Titled(&'static [Field]),
    /// Tables with these keys by some of these words.
    Worded(&'static [&'static str], &'static [Field]),
    /// A list of tables with these keys.
    List(&'static [Field]),
    /// A draw by state.
    Draws,
    /// A state by device or relay.
    States,
    /// Any value by `NAME.key`.
    Values,
}

/// What stands below a key of a table; the table is called by its keys, as `supply.output`, and
/// the file itself is the empty text.
pub fn inner(table: &str, key: &str) -> Option<Inner> {
    Some(match (table, key) {
        (table, "answers") => Inner::One(answers_below(table)?),
        ("", "site") => Inner::One(SITE),
        ("", "design") => Inner::One(DESIGN),
        ("", "cable") => Inner::Titled(CABLE),
        ("", "supply") => Inner::Named(SUPPLY),
        ("", "device") => Inner::Named(DEVICE),
        ("", "junction") => Inner::Named(JUNCTION),
        ("", "fuse") => Inner::Named(FUSE),
        ("", "earth") => Inner::Named(EARTH),
        ("", "place") => Inner::Titled(PLACE),
        ("", "door") => Inner::Named(DOOR),
        ("", "raceway") => Inner::Titled(RACEWAY),
        ("", "bus") => Inner::Named(BUS),
        ("", "surge") => Inner::Named(SURGE),
        ("", "run") => Inner::Named(RUN),
        ("", "case") => Inner::Titled(CASE),
        ("", "exclusive") => Inner::List(EXCLUSIVE),
        ("", "sizing") => Inner::One(SIZING),
        ("", "labour") => Inner::One(LABOUR),
        ("", "part") => Inner::List(PART),
        ("", "alternate") => Inner::Titled(ALTERNATE),
        ("", "meter") => Inner::Named(METER),
        ("", "reading") => Inner::List(READING),
        ("", "accepted") => Inner::List(ACCEPTED),
        ("design", "route") => Inner::Worded(ROUTES, ROUTE),
        ("supply", "output") => Inner::Named(OUTPUT),
        ("supply", "battery") => Inner::One(BATTERY),
        ("supply", "poe") => Inner::One(POE),
        ("supply", "solar") => Inner::One(SOLAR),
        ("device", "draw") => Inner::Draws,
        ("device", "relay") => Inner::Named(RELAY),
        ("device" | "supply", "input") => Inner::Named(INPUT),
        ("run", "wiegand") => Inner::One(WIEGAND),
        ("run", "loop") => Inner::One(LOOP),
        ("run", "wire") => Inner::List(WIRE),
        ("case", "states") => Inner::States,
        ("alternate", "set") => Inner::Values,
        _ => return None,
    })
}

/// Keys of which a table needs all of one group, where no single key is always needed.
pub fn groups(table: &str) -> &'static [&'static [&'static str]] {
    match table {
        "supply" => &[&["voltage"], &["rated_voltage"]],
        "cable" => &[&["size", "conductors"], &["parts"]],
        "run" => &[
            &["cable", "length"],
            &["cable", "measured"],
            &["resistance"],
            &["shares"],
        ],
        _ => &[],
    }
}

/// The field at the end of a path through the file, names of things included.
pub fn at<'w>(path: impl IntoIterator<Item = &'w str>) -> Option<&'static Field> {
    let (mut table, mut fields) = (String::new(), TOP);
    let mut words = path.into_iter();
    let mut found = None;
    while let Some(word) = words.next() {
        let field = find(fields, word)?;
        found = Some(field);
        let Some(below) = inner(&table, word) else {
            continue;
        };
        if !table.is_empty() {
            table.push('.');
        }
        table += word;
        fields = match below {
            Inner::One(fields) => fields,
            Inner::Named(fields)
            | Inner::Titled(fields)
            | Inner::Worded(_, fields)
            | Inner::List(fields) => {
                words.next();
                fields
            }
            Inner::Draws => return words.next().map_or(found, |_| Some(&super::DRAW)),
            Inner::States | Inner::Values => return None,
        };
    }
    found
}

/// Whether a path through the file, names of things included, ends at a list of tables.
pub fn is_list(path: &[&str]) -> bool {
    steps(path).any(|(below, left)| matches!(below, Some(Inner::List(_))) && left == 0)
}

/// Whether a path through the file ends at a thing, or at a named part of one: that is there even
/// where nothing is said of it.
pub fn is_thing(path: &[&str]) -> bool {
    steps(path).any(|(below, left)| {
        let named = matches!(
            below,
            Some(Inner::Named(_) | Inner::Titled(_) | Inner::List(_))
        );
        named && left <= 1
    })
}

/// What stands below each key of a path, and how many words follow that key, the name of what
/// stands below it among them.
fn steps<'p>(path: &'p [&str]) -> impl Iterator<Item = (Option<Inner>, usize)> + 'p {
    let mut table = String::new();
    let mut words = path.iter();
    std::iter::from_fn(move || {
        let word = words.next()?;
        let below = inner(&table, word);
        if !table.is_empty() {
            table.push('.');
        }
        table += word;
        let left = words.len();
        if let Some(Inner::Named(_) | Inner::Titled(_) | Inner::Worded(..) | Inner::List(_)) = below
        {
            words.next();
        }
        Some((below, left))
    })
}
