//! What differs between two files of one site, say the one that was bid and the one as built.
//!
//! Values are held against one another as what they mean: `"70 m"` is `"7000 cm"`. What keeps a
//! record of the site as built (readings, meters, accepted findings) or belongs to the bid alone
//! (alternates, sizing) is left out, and so is the name of the site.

use std::collections::BTreeSet;

use toml::de::DeTable;

use crate::site::fields::{Inner, inner};
use crate::site::value::{Kind, Table, Value};
use crate::units::{
    self, Capacitance, ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance,
    Frequency, Inductance, Length, LinearResistance, Measure, Power, Ratio,
    ThermodynamicTemperature, Time,
};

/// Tables that are no part of what was bid or built.
const BESIDE: [&str; 6] = [
    "format",
    "reading",
    "meter",
    "accepted",
    "alternate",
    "sizing",
];

/// One thing, or one table of the file, that is not the same in both.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// Its kind, as the file calls it: `run`, `design`.
    pub kind: String,
    /// Its name, where it has one.
    pub name: Option<String>,
    /// How it differs.
    pub what: Differs,
}

/// How a thing differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Differs {
    /// It stands in the first file alone.
    Gone,
    /// It stands in the second file alone.
    New,
    /// Some of its values, as typed: the key, then the first file's and the second's.
    Values(Vec<(String, [Option<String>; 2])>),
}

/// What differs from one text to another; both are texts of sites. In the order of the second, what
/// it has not at the end of each kind.
pub fn differences(first: &str, second: &str) -> Vec<Difference> {
    let [(first, _), (second, _)] = [first, second].map(DeTable::parse_recoverable);
    let [first, second] = [&first, &second].map(|table| Table::of_text(table.get_ref(), None));
    let kinds = second.entries.iter().chain(&first.entries);
    let mut seen = BTreeSet::new();
    let kinds = kinds.map(|entry| entry.key.as_ref());
    let kinds = kinds.filter(|kind| !BESIDE.contains(kind) && seen.insert(*kind));
    let mut found = Vec::new();
    for kind in kinds {
        let both = [&first, &second].map(|top| top.entry(kind).map(|entry| &entry.value));
        if matches!(inner("", kind), Some(Inner::Named(_) | Inner::Titled(_))) {
            things(kind, both, &mut found);
        } else {
            found.extend(one((kind, None), both));
        }
    }
    found
}

/// Each thing of a kind.
fn things(kind: &str, both: [Option<&Value<'_>>; 2], found: &mut Vec<Difference>) {
    let [first, second] = both.map(table_of);
    let names = |table: Option<&Table<'_>>| -> Vec<String> {
        let entries = table.map_or(&[][..], |table| &table.entries);
        entries.iter().map(|entry| entry.key.to_string()).collect()
    };
    let mut all = names(second);
    all.extend(
        names(first)
            .into_iter()
            .filter(|name| !names(second).contains(name)),
    );
    for name in all {
        let both = [first, second].map(|table| Some(&table?.entry(&name)?.value));
        found.extend(one((kind, Some(&name)), both));
    }
}

/// One table of both files.
fn one((kind, name): (&str, Option<&str>), both: [Option<&Value<'_>>; 2]) -> Option<Difference> {
    let what = match both {
        [Some(first), Some(second)] => {
            let mut typed = [Vec::new(), Vec::new()];
            flatten(first, String::new(), &mut typed[0]);
            flatten(second, String::new(), &mut typed[1]);
            let changed = changed(&typed, kind == "site");
            if changed.is_empty() {
                return None;
            }
            Differs::Values(changed)
        }
        [Some(_), None] => Differs::Gone,
        [None, Some(_)] => Differs::New,
        [None, None] => return None,
    };
    Some(Difference {
        kind: kind.to_owned(),
        name: name.map(str::to_owned),
        what,
    })
}

type Typed = Vec<(String, String)>;

/// The keys of which the values differ; a site's own name is none of them.
fn changed([first, second]: &[Typed; 2], of_site: bool) -> Vec<(String, [Option<String>; 2])> {
    let value = |of: &Typed, key: &str| {
        let found = of.iter().find(|(own, _)| own == key);
        found.map(|(_, value)| value.clone())
    };
    let mut seen = BTreeSet::new();
    let keys = second.iter().chain(first).map(|(key, _)| key);
    keys.filter(|key| seen.insert(key.as_str()) && !(of_site && *key == "name"))
        .filter_map(|key| {
            let both = [value(first, key), value(second, key)];
            let same = match &both {
                [Some(a), Some(b)] => a == b || mean_the_same(a, b),
                _ => false,
            };
            (!same).then(|| (key.clone(), both))
        })
        .collect()
}

/// Every value below one, by the words that lead to it.
fn flatten(value: &Value<'_>, key: String, out: &mut Typed) {
    let below = |word: &str| {
        if key.is_empty() {
            word.to_owned()
        } else {
            format!("{key} {word}")
        }
    };
    let text = match &value.kind {
        Kind::Table(table) => {
            for entry in &table.entries {
                flatten(&entry.value, below(&entry.key), out);
            }
            return;
        }
        Kind::List(list)
            if list
                .iter()
                .any(|value| matches!(value.kind, Kind::Table(_))) =>
        {
            for (i, value) in list.iter().enumerate() {
                flatten(value, below(&(i + 1).to_string()), out);
            }
            return;
        }
        Kind::List(list) => {
            let mut inner = Typed::new();
            for value in list {
                flatten(value, String::new(), &mut inner);
            }
            let words: Vec<String> = inner.into_iter().map(|(_, text)| text).collect();
            words.join(", ")
        }
        Kind::Text(text) | Kind::Number(text) => text.to_string(),
        Kind::Flag(flag) => flag.to_string(),
        Kind::Date => "a date".to_owned(),
    };
    out.push((key, text));
}

fn table_of<'v, 'a>(value: Option<&'v Value<'a>>) -> Option<&'v Table<'a>> {
    match &value?.kind {
        Kind::Table(table) => Some(table),
        _ => None,
    }
}

/// Whether two texts are the same quantity in other units.
fn mean_the_same(a: &str, b: &str) -> bool {
    same::<Length>(a, b)
        || same::<ElectricPotential>(a, b)
        || same::<ElectricCurrent>(a, b)
        || same::<ElectricalResistance>(a, b)
        || same::<LinearResistance>(a, b)
        || same::<Power>(a, b)
        || same::<Ratio>(a, b)
        || same::<ThermodynamicTemperature>(a, b)
        || same::<Time>(a, b)
        || same::<Capacitance>(a, b)
        || same::<ElectricCharge>(a, b)
        || same::<Inductance>(a, b)
        || same::<Frequency>(a, b)
}

fn same<Q: Measure>(a: &str, b: &str) -> bool {
    match (units::read_signed::<Q>(a), units::read_signed::<Q>(b)) {
        (Ok(a), Ok(b)) => {
            let (a, b) = (a.base(), b.base());
            (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BID: &str = "format = 1\n[site]\nname = \"bid\"\n[supply.psu]\nvoltage = \"24 V\"\n\
        [device.hub]\ndraw = { idle = \"1 W\" }\n[run.W1]\nfrom = \"psu\"\nto = \"hub\"\ncable = \"18/2\"\nlength = \"70 m\"\n\
        [run.W2]\nfrom = \"psu\"\nto = \"hub\"\ncable = \"18/2\"\nlength = \"5 m\"\n";

    fn changes(built: &str) -> Vec<(String, Differs)> {
        let found = differences(BID, built).into_iter();
        found
            .map(|d| (format!("{} {}", d.kind, d.name.unwrap_or_default()), d.what))
            .collect()
    }

    #[test]
    fn other_spellings_and_records_are_no_difference() {
        let same = BID
            .replace("\"70 m\"", "\"7000 cm\"")
            .replace("name = \"bid\"", "name = \"as built\"")
            + "[meter.M1]\nvolts = \"1 digit\"\n[[reading]]\nat = \"psu\"\nvalue = \"24.0 V\"\n";
        assert_eq!(changes(&same), []);
    }

    #[test]
    fn values_and_things_that_differ_are_told() {
        let built = BID
            .replace("length = \"70 m\"", "length = \"78 m\"\nsplices = 1")
            .replace("idle = \"1 W\"", "idle = \"1 W\", active = \"2 W\"")
            .replace("[run.W2]", "[run.W3]");
        let text = |text: &str| Some(text.to_owned());
        let values = |key: &str, both| (key.to_owned(), both);
        assert_eq!(
            changes(&built),
            [
                (
                    "device hub".to_owned(),
                    Differs::Values(vec![values("draw active", [None, text("2 W")])])
                ),
                (
                    "run W1".to_owned(),
                    Differs::Values(vec![
                        values("length", [text("70 m"), text("78 m")]),
                        values("splices", [None, text("1")])
                    ])
                ),
                ("run W3".to_owned(), Differs::New),
                ("run W2".to_owned(), Differs::Gone),
            ]
        );
    }
}
