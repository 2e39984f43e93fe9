//! A site in a few lines, solved and judged, and its findings by code and subject.

use farend::report;
use farend::site;
use farend::solve::Solver;
use farend::study::Study;
use serde_json::Value;

/// The results of a site, as JSON; `body` follows the head of the file.
#[track_caller]
pub(crate) fn solved(body: &str) -> Value {
    let text = format!("format = 1\n[site]\nname = \"judged\"\nunits = \"si\"\n{body}");
    let site = site::read(&text).unwrap_or_else(|e| panic!("{e:#?}\n{text}"));
    let study = Study::of(&site, &mut Solver::new());
    serde_json::from_str(&report::json("judged", &site, &study, &[]).unwrap()).unwrap()
}

/// The finding of a check and subject; there is one at most.
#[track_caller]
pub(crate) fn finding<'v>(json: &'v Value, code: &str, subject: &str) -> Option<&'v Value> {
    let all = json["findings"].as_array().unwrap();
    let mut own = all
        .iter()
        .filter(|f| f["code"] == code && f["subject"] == subject);
    let first = own.next();
    assert!(own.next().is_none(), "{code} of {subject} twice");
    first
}

/// The severity of a finding, or nothing.
#[track_caller]
pub(crate) fn severity(json: &Value, code: &str, subject: &str) -> Option<String> {
    finding(json, code, subject).map(|f| f["severity"].as_str().unwrap().to_owned())
}

/// The value of a finding, which must be there.
#[track_caller]
pub(crate) fn value(json: &Value, code: &str, subject: &str) -> f64 {
    let found = finding(json, code, subject);
    let found = found.unwrap_or_else(|| panic!("no {code} of {subject}: {}", json["findings"]));
    found["value"].as_f64().unwrap()
}

/// The message of a finding, which must be there.
#[track_caller]
pub(crate) fn message<'v>(json: &'v Value, code: &str, subject: &str) -> &'v str {
    let found = finding(json, code, subject);
    let found = found.unwrap_or_else(|| panic!("no {code} of {subject}: {}", json["findings"]));
    found["message"].as_str().unwrap()
}
