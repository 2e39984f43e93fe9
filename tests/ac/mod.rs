//! Sites on alternating current.

mod checks;
mod meeting;
mod phase;
mod rectified;

use serde_json::Value;

use crate::judged::{finding, severity, solved};

/// The first case in a corner.
fn row<'v>(json: &'v Value, corner: &str) -> &'v Value {
    let rows = json["cases"].as_array().unwrap();
    rows.iter().find(|r| r["corner"] == corner).unwrap()
}

/// One number of a row: `["devices", "hub", "volts"]`.
#[track_caller]
fn number(row: &Value, [list, id, field]: [&str; 3]) -> f64 {
    let things = row[list].as_array().unwrap();
    let thing = things.iter().find(|t| t["id"] == id).unwrap();
    let found = field.split('.').fold(thing, |at, key| &at[key]);
    found
        .as_f64()
        .unwrap_or_else(|| panic!("{id} has no {field}: {thing}"))
}
