//! Sites on alternating current.

mod checks;
mod meeting;
mod phase;
mod rectified;

use farend::report;
use farend::site;
use farend::solve::Solver;
use farend::study::Study;
use serde_json::Value;

/// The results of a site, as JSON; `body` follows the head of the file.
fn solved(body: &str) -> Value {
    let text = format!("format = 1\n[site]\nname = \"ac\"\nunits = \"si\"\n{body}");
    let site = site::read(&text).unwrap_or_else(|e| panic!("{e:#?}\n{text}"));
    let study = Study::of(&site, &mut Solver::new());
    serde_json::from_str(&report::json("ac", &site, &study, &[]).unwrap()).unwrap()
}

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

fn finding<'v>(json: &'v Value, code: &str, subject: &str) -> Option<&'v Value> {
    let all = json["findings"].as_array().unwrap();
    all.iter()
        .find(|f| f["code"] == code && f["subject"] == subject)
}

/// The severity of a finding, or nothing.
fn severity(json: &Value, code: &str, subject: &str) -> Option<String> {
    finding(json, code, subject).map(|f| f["severity"].as_str().unwrap().to_owned())
}
