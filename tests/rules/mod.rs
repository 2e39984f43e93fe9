//! What relays, doors and raceways are judged by: both sides of every limit, by hand.

mod bundled;
mod egress;
mod fire;
mod raceway;
mod relay;
mod release;
mod rest;
mod way;

use crate::battery::Solved;

/// How grave a finding of a site is, by code and subject; `None` where there is none.
#[track_caller]
pub(crate) fn grade(text: &str, code: &str, subject: &str) -> Option<String> {
    finding(text, code, subject).map(|f| f["severity"].as_str().unwrap().to_owned())
}

/// The finding of a code about a subject.
#[track_caller]
pub(crate) fn finding(text: &str, code: &str, subject: &str) -> Option<serde_json::Value> {
    let solved = Solved::of(text);
    let all = solved.0["findings"].as_array().unwrap().clone();
    all.into_iter()
        .find(|f| f["code"] == code && f["subject"] == subject)
}

/// Whether a finding asks in these words.
#[track_caller]
pub(crate) fn asks(text: &str, code: &str, subject: &str, words: &str) -> bool {
    finding(text, code, subject).is_some_and(|f| {
        assert_eq!(f["severity"], "ask");
        f["message"].as_str().unwrap().contains(words)
    })
}
