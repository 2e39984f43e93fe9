//! The schema that the program prints, under a validator of general purpose, and against the
//! program's own reader.

use std::path::Path;
use std::sync::LazyLock;

use farend::site::fields::{self, Field, Holds, Inner};
use farend::units::{self, Measure};
use farend::{demo, report, site};
use jsonschema::Validator;
use proptest::prelude::*;
use rstest::rstest;
use serde_json::{Value, json};

fn schema() -> Value {
    serde_json::from_str(&report::schema().unwrap()).unwrap()
}

fn validator() -> &'static Validator {
    static VALIDATOR: LazyLock<Validator> =
        LazyLock::new(|| jsonschema::draft202012::new(&schema()).unwrap());
    &VALIDATOR
}

/// A site file as the tree that a validator looks at.
fn tree(text: &str) -> Value {
    let table: toml::Table = text.parse().unwrap_or_else(|e| panic!("{e}\n{text}"));
    serde_json::to_value(table).unwrap()
}

#[track_caller]
fn accepted(validator: &Validator, text: &str) {
    let tree = tree(text);
    let errors: Vec<String> = validator
        .iter_errors(&tree)
        .map(|e| format!("{}: {e}", e.instance_path()))
        .collect();
    assert!(errors.is_empty(), "{}\n{text}", errors.join("\n"));
}

#[test]
fn the_schema_is_one() {
    assert!(jsonschema::draft202012::meta::is_valid(&schema()));
}

#[test]
fn every_demo_and_the_readme_example_are_accepted() {
    let validator = validator();
    for demo in demo::ALL {
        accepted(validator, demo.text);
    }
    let readme =
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    let blocks: Vec<&str> = readme
        .split("```toml\n")
        .skip(1)
        .filter_map(|rest| rest.split("```").next())
        .collect();
    assert!(blocks.len() >= 3);
    for block in blocks {
        // A part of a file lacks the first line.
        let head = if block.starts_with("format = 1") {
            ""
        } else {
            "format = 1\n"
        };
        accepted(validator, &format!("{head}{block}"));
    }
    accepted(validator, crate::screens::YARD);
}

/// Every kind of mistake that the form of a file can show.
#[rstest]
#[case("average-is-no-state", true)] // states are the program's alone
#[case("bare-number", false)]
#[case("bare-number-in-quotes", false)]
#[case("battery-capacity-in-amps", false)]
#[case("battery-is-no-table", false)]
#[case("battery-unknown-chemistry", false)]
#[case("battery-unknown-key", false)]
#[case("battery-without-capacity", false)]
#[case("cable-without-size", false)]
#[case("decimal-comma", false)]
#[case("dot-in-name", false)]
#[case("draw-in-a-unit-of-length", false)]
#[case("flag-in-quotes", false)]
#[case("format-2", false)]
#[case("format-missing", false)]
#[case("format-text", false)]
#[case("gauge-between", true)] // which gauges are made is the program's alone
#[case("kind-is-no-table", false)]
#[case("list-of-tables-wanted", false)]
#[case("not-a-number-in-quotes", false)]
#[case("reading-without-value", false)]
#[case("run-without-cable", false)]
#[case("run-without-end", false)]
#[case("run-without-length", false)]
#[case("solar-unknown-key", false)]
#[case("sun-in-hours", false)]
#[case("table-where-text", false)]
#[case("unknown-carries", false)]
#[case("unknown-class", false)]
#[case("unknown-key", false)]
#[case("unknown-kind", false)]
#[case("unknown-reference", true)]
#[case("unknown-route", false)]
#[case("unknown-table", false)]
#[case("unknown-unit", false)]
#[case("unknown-units", false)]
#[case("wire-without-use", false)]
#[case("wrong-dimension", false)]
#[case("bus-none-there", true)]
#[case("bus-not-carried", true)]
#[case("bus-rate-bare", false)]
#[case("bus-rate-in-hertz", false)]
#[case("bus-terminator-is-no-device", true)]
#[case("bus-unknown", true)]
#[case("bus-unknown-key", false)]
#[case("earth-rod-too-thick", true)]
#[case("earth-soil-in-ohms", false)]
#[case("meter-name-with-a-dot", false)]
#[case("meter-unknown-key", false)]
#[case("reading-set-in-words", false)]
#[case("reading-unknown-kind", false)]
#[case("reading-unknown-meter", true)]
#[case("shield-unknown-end", false)]
#[case("supervised-not-carried", true)]
#[case("supervised-spread-over-the-whole", true)]
#[case("supervised-unknown-words", false)]
#[case("supervised-window-of-one", false)]
#[case("supervised-window-upside-down", false)]
#[case("surge-earth-is-no-earth", false)]
#[case("surge-on-a-bond", true)]
#[case("surge-on-nothing", false)]
#[case("surge-unknown-key", false)]
#[case("surge-without-line", false)]
#[case("tie-in-words", false)]
#[case("wiegand-is-no-table", false)]
#[case("wiegand-levels-crossed", false)]
#[case("wiegand-not-carried", true)]
#[case("wiegand-pulse-bare", false)]
#[case("wiegand-sender-elsewhere", true)]
#[case("wiegand-unknown-key", false)]
fn broken_files(#[case] name: &str, #[case] accepted: bool) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/broken/{name}.toml"));
    let text = std::fs::read_to_string(path).unwrap();
    assert!(site::read(&text).is_err());
    let Ok(table) = text.parse::<toml::Table>() else {
        panic!("{name} is no TOML: no schema sees it");
    };
    let tree = serde_json::to_value(table).unwrap();
    assert_eq!(validator().is_valid(&tree), accepted, "{name}");
}

/// Every table of the format with just the keys that it cannot do without, one group of them each.
const LEAST: &[(&str, &str)] = &[
    ("", "format = 1\n"),
    ("supply", "format = 1\n[supply.a]\nvoltage = \"12 V\"\n"),
    (
        "supply",
        "format = 1\n[supply.a]\nrated_voltage = \"24 V\"\n",
    ),
    (
        "surge",
        "format = 1\n[junction.a]\n[junction.b]\n[run.c]\nfrom = \"a\"\nto = \"b\"\nresistance = \"1 ohm\"\n[surge.d]\nline = \"c\"\n",
    ),
    (
        "supply.battery",
        "format = 1\n[supply.a]\nvoltage = \"12 V\"\n[supply.a.battery]\ncapacity = \"7 Ah\"\n",
    ),
    (
        "run",
        "format = 1\n[junction.a]\n[junction.b]\n[run.c]\nfrom = \"a\"\nto = \"b\"\ncable = \"18/2\"\nlength = \"1 m\"\n",
    ),
    (
        "run",
        "format = 1\n[junction.a]\n[junction.b]\n[run.c]\nfrom = \"a\"\nto = \"b\"\ncable = \"18/2\"\nmeasured = \"1 m\"\n",
    ),
    (
        "run",
        "format = 1\n[junction.a]\n[junction.b]\n[run.c]\nfrom = \"a\"\nto = \"b\"\nresistance = \"1 ohm\"\n",
    ),
    (
        "run",
        "format = 1\n[junction.a]\n[junction.b]\n[run.d]\nfrom = \"a\"\nto = \"b\"\ncable = \"18/2\"\nlength = \"1 m\"\n[run.c]\nfrom = \"a\"\nto = \"b\"\nshares = \"d\"\n",
    ),
    (
        "run.wire",
        "format = 1\n[junction.a]\n[junction.b]\n[run.c]\nfrom = \"a\"\nto = \"b\"\nresistance = \"1 ohm\"\n[[run.c.wire]]\nuse = \"plus\"\n",
    ),
    (
        "cable",
        "format = 1\n[cable.a]\nsize = \"18 AWG\"\nconductors = 2\n",
    ),
    (
        "cable",
        "format = 1\n[cable.a]\nparts = [\"18/2\", \"22/6\"]\n",
    ),
    (
        "surge",
        "format = 1\n[junction.a]\n[junction.b]\n[run.c]\nfrom = \"a\"\nto = \"b\"\nresistance = \"1 ohm\"\n[surge.d]\nline = \"c\"\n",
    ),
    ("part", "format = 1\n[[part]]\nitem = \"box\"\n"),
    (
        "reading",
        "format = 1\n[junction.a]\n[[reading]]\nat = \"a\"\nvalue = \"1 V\"\n",
    ),
    (
        "accepted",
        "format = 1\n[[accepted]]\nfinding = \"x\"\nsubject = \"y\"\n",
    ),
];

/// Schema and reader agree on what is needed: with any line of these files left out, both refuse.
#[test]
fn needed_keys_are_those_of_the_reader() {
    let validator = validator();
    for (table, text) in LEAST {
        site::read(text).unwrap_or_else(|e| panic!("{table}: {e:?}"));
        accepted(validator, text);
        let lines: Vec<&str> = text.lines().collect();
        for (i, line) in lines.iter().enumerate() {
            // The keys of the last table, and the format.
            let last = lines.iter().rposition(|l| l.starts_with('[')).unwrap_or(0);
            if line.starts_with('[') || (i < last && !line.starts_with("format")) {
                continue;
            }
            let mut less = lines.clone();
            less.remove(i);
            let less = less.join("\n") + "\n";
            assert!(site::read(&less).is_err(), "{table}: read without '{line}'");
            assert!(
                !validator.is_valid(&tree(&less)),
                "{table}: valid without '{line}'"
            );
        }
    }
    for (path, fields) in all_tables() {
        let needs = fields.iter().any(|f| f.needed.is_some()) || !fields::groups(&path).is_empty();
        assert_eq!(
            needs,
            LEAST.iter().any(|(table, _)| *table == path),
            "'{path}'"
        );
    }
}

/// Every table of the format with its keys, from the file itself down.
fn all_tables() -> Vec<(String, &'static [Field])> {
    let mut found = vec![(String::new(), fields::TOP)];
    let mut at = 0;
    while at < found.len() {
        let (path, fields) = found[at].clone();
        for field in fields {
            let below = match fields::inner(&path, field.key) {
                Some(
                    Inner::One(f)
                    | Inner::Named(f)
                    | Inner::Titled(f)
                    | Inner::Worded(_, f)
                    | Inner::List(f),
                ) => f,
                Some(Inner::Draws | Inner::States | Inner::Values) | None => continue,
            };
            let inner = format!("{path}.{}", field.key);
            found.push((inner.trim_start_matches('.').to_owned(), below));
        }
        at += 1;
    }
    found
}

/// A key that holds a table says what is below it, and no other does.
#[test]
fn every_table_of_the_list_of_keys_is_known() {
    let mut tables = 0;
    for (path, fields) in all_tables() {
        for field in fields {
            let is_table = field.holds == Holds::Table;
            assert_eq!(
                fields::inner(&path, field.key).is_some(),
                is_table,
                "{path}.{}",
                field.key
            );
            tables += usize::from(is_table);
        }
    }
    assert!(tables > 20);
}

/// Every quantity of the list of keys has its units.
#[test]
fn every_quantity_has_a_pattern() {
    for (path, fields) in all_tables() {
        for field in fields {
            if let Holds::Quantity(us, si) = field.holds {
                let written =
                    units::written(us).unwrap_or_else(|| panic!("{path}.{}: {us}", field.key));
                assert!(written.units.contains(&si), "{path}.{}: {si}", field.key);
                for text in [format!("1 {us}"), format!("1 {si}")] {
                    assert!(matches(&written.pattern, &text), "{text}");
                }
                assert!(!matches(&written.pattern, "1"), "{path}.{}", field.key);
            }
        }
    }
}

fn matches(pattern: &str, text: &str) -> bool {
    of_pattern(pattern).is_valid(&json!(text))
}

/// What a quantity reads in every unit, spelling and letter case, its pattern matches.
fn agrees<Q: Measure>() {
    let pattern = units::written(Q::UNITS[0].name).unwrap().pattern;
    let validator = of_pattern(&pattern);
    let mut read = 0;
    for unit in Q::UNITS {
        for name in std::iter::once(&unit.name).chain(unit.also) {
            for name in [(*name).to_owned(), name.to_lowercase(), name.to_uppercase()] {
                for text in [
                    format!("2 {name}"),
                    format!("2{name}"),
                    format!("-1.5e1 {name} "),
                ] {
                    if units::read_signed::<Q>(&text).is_ok() {
                        assert!(
                            validator.is_valid(&json!(text)),
                            "'{text}' against {pattern}"
                        );
                        read += 1;
                    }
                }
            }
        }
    }
    assert!(read >= 2 * Q::UNITS.len());
    for text in ["2", "", "two", "2,5 V", "2 parsec", "V"] {
        assert!(
            !validator.is_valid(&json!(text)),
            "'{text}' against {pattern}"
        );
    }
}

#[test]
fn patterns_match_what_is_read() {
    agrees::<units::Length>();
    agrees::<units::ElectricPotential>();
    agrees::<units::ElectricCurrent>();
    agrees::<units::Power>();
    agrees::<units::ApparentPower>();
    agrees::<units::ElectricalResistance>();
    agrees::<units::ThermodynamicTemperature>();
    agrees::<units::Ratio>();
    agrees::<units::Capacitance>();
    agrees::<units::Inductance>();
    agrees::<units::Time>();
    agrees::<units::ElectricCharge>();
    agrees::<units::Frequency>();
    agrees::<units::LinearResistance>();
    agrees::<units::LinearCapacitance>();
    agrees::<units::PricePerLength>();
    agrees::<units::PriceEach>();
    agrees::<units::SunHours>();
    agrees::<units::VoltsPerDegree>();
}

fn of_pattern(pattern: &str) -> Validator {
    jsonschema::draft202012::new(&json!({ "pattern": pattern })).unwrap()
}

static SIZE: LazyLock<Validator> =
    LazyLock::new(|| of_pattern(&units::written("AWG").unwrap().pattern));
static LENGTH: LazyLock<Validator> =
    LazyLock::new(|| of_pattern(&units::written("ft").unwrap().pattern));
static DRAW: LazyLock<Validator> = LazyLock::new(|| of_pattern(&units::draw_pattern()));

proptest! {
    /// No text that is read as a draw, a length or a size is refused.
    #[test]
    fn nothing_that_is_read_is_refused(
        text in "[-+]?[0-9]{1,3}[.]?[0-9]{0,2}(e[0-9])?[ ]?(ft|FT|'|m|in|\"|W|mW|A|ma|mA|VA|ohm|Ω|kohm|AWG|awg|/0 AWG|mm2|mm²)( ?[0-9]{1,2} ?(in|\"|ft)| at [0-9]{1,2} ?(V|VDC))?"
    ) {
        if units::read_draw(&text).is_ok() {
            prop_assert!(DRAW.is_valid(&json!(text)));
        }
        if units::read_signed::<units::Length>(&text).is_ok() {
            prop_assert!(LENGTH.is_valid(&json!(text)));
        }
        if units::read_size(&text).is_ok() {
            prop_assert!(SIZE.is_valid(&json!(text)));
        }
    }
}
