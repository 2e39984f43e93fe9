//! Each table file by itself: it loads, names its source, and its figures run one way.

use farend::tables::pedigrees;
use rstest::rstest;
use toml::{Table, Value};

/// Reads one file of the top-level `tables/` folder, with nothing else.
fn load(name: &str) -> Table {
    let path = format!("{}/tables/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap().parse().unwrap()
}

/// Collects every inline row of a file, of all groups, in file order.
fn rows(name: &str) -> Vec<Table> {
    fn walk(value: &Value, found: &mut Vec<Table>) {
        match value {
            Value::Table(table) => {
                for (key, value) in table {
                    match (key.as_str(), value) {
                        ("row", Value::Array(rows)) => {
                            found.extend(rows.iter().map(|row| row.as_table().unwrap().clone()));
                        }
                        _ => walk(value, found),
                    }
                }
            }
            Value::Array(values) => values.iter().for_each(|value| walk(value, found)),
            _ => {}
        }
    }
    let mut found = Vec::new();
    walk(&Value::Table(load(name)), &mut found);
    found
}

fn number(row: &Table, key: &str) -> f64 {
    match &row[key] {
        Value::Integer(n) => i32::try_from(*n).unwrap().into(),
        value => value.as_float().unwrap(),
    }
}

#[test]
fn every_file_of_the_folder_has_a_pedigree() {
    let folder = format!("{}/tables", env!("CARGO_MANIFEST_DIR"));
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".toml"))
        .collect();
    names.sort();
    let known: Vec<_> = pedigrees().iter().map(|(name, _)| *name).collect();
    assert_eq!(names, known);
}

#[test]
fn each_file_states_source_edition_table_conditions_and_check() {
    for (name, pedigree) in pedigrees() {
        let file = load(name);
        for key in ["source", "edition", "table", "conditions", "checked"] {
            let text = file["head"][key].as_str().unwrap();
            assert!(!text.trim().is_empty(), "{name}: {key} is empty");
        }
        assert_eq!(
            file["head"]["checked"].as_str(),
            Some(pedigree.checked.as_str()),
            "{name}"
        );
    }
}

#[test]
fn rows_hold_numbers_alone() {
    for (name, _) in pedigrees() {
        for row in rows(name) {
            assert!(
                row.values().all(|v| v.is_integer() || v.is_float()),
                "{name}: {row}"
            );
        }
    }
}

#[rstest]
#[case::solid(true)]
#[case::stranded(false)]
fn table_8_grows_with_its_gauge(#[case] solid: bool) {
    let rows: Vec<_> = rows("nec-chapter9-table8.toml")
        .into_iter()
        .filter(|row| (number(row, "strands") < 2.0) == solid)
        .collect();
    for pair in rows.windows(2) {
        assert!(number(&pair[1], "awg") < number(&pair[0], "awg"));
        for key in ["area_mm2", "area_cmil"] {
            assert!(
                number(&pair[1], key) > number(&pair[0], key),
                "{key}: {}",
                pair[1]
            );
        }
        for metal in ["copper", "coated", "aluminum"] {
            let key = format!("{metal}_ohm_per_kft");
            assert!(
                number(&pair[1], &key) < number(&pair[0], &key),
                "{key}: {}",
                pair[1]
            );
        }
    }
}

/// The book rounds each column by itself, to 3 or 4 digits; its own rows differ by up to 0.72 %.
#[test]
fn table_8_has_the_same_ohms_in_feet_and_in_metres() {
    for row in rows("nec-chapter9-table8.toml") {
        for metal in ["copper", "coated", "aluminum"] {
            let kft = number(&row, &format!("{metal}_ohm_per_kft"));
            let km = number(&row, &format!("{metal}_ohm_per_km"));
            assert!((kft / 0.3048 / km - 1.0).abs() < 0.0075, "{metal}: {row}");
        }
        // 1 cmil = 5.067075e-4 mm2
        let cmil = number(&row, "area_cmil") * 5.067_075e-4;
        assert!(
            (cmil / number(&row, "area_mm2") - 1.0).abs() < 0.004,
            "{row}"
        );
    }
}

#[test]
fn iec_60228_falls_with_its_section_and_rises_with_tin_and_fineness() {
    let rows = rows("iec-60228.toml");
    for pair in rows.windows(2) {
        assert!(number(&pair[1], "area_mm2") > number(&pair[0], "area_mm2"));
    }
    let columns = [
        "plain_ohm_per_km",
        "coated_ohm_per_km",
        "fine_plain_ohm_per_km",
        "fine_coated_ohm_per_km",
    ];
    for key in columns {
        assert!(
            rows.windows(2)
                .all(|pair| number(&pair[1], key) < number(&pair[0], key)),
            "{key}"
        );
    }
    for row in &rows {
        assert!(
            columns
                .windows(2)
                .all(|pair| number(row, pair[0]) < number(row, pair[1])),
            "{row}"
        );
    }
}

/// Annealed copper's resistivity, the printed area, 1.02 stranded and the rise from 20 to 75 C
/// rebuild the copper column within 0.3 % and half of its last printed digit.
#[test]
fn physics_rebuilds_the_copper_column_of_table_8() {
    let rise = (234.5 + 75.0) / (234.5 + 20.0);
    for row in rows("nec-chapter9-table8.toml") {
        let stranding = if number(&row, "strands") < 2.0 {
            1.0
        } else {
            1.02
        };
        let area = number(&row, "area_cmil") * 5.067_075e-4;
        let computed = 304.8 / 58.0 / area * stranding * rise;
        let printed = number(&row, "copper_ohm_per_kft");
        // 3 digits, and never more than 4 places.
        let last_digit = 10_f64
            .powf((printed.log10().floor() - 2.0).max(-4.0))
            .min(0.01);
        let allowed = 0.003 * printed + 0.5 * last_digit;
        assert!(
            (computed - printed).abs() <= allowed,
            "{computed} for {row}"
        );
    }
}
