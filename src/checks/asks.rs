//! What is asked: one finding for a thing, with everything that is missing there.

use std::collections::HashMap;

use crate::checks::{Check, Finding};
use crate::diagnostic::Severity;
use crate::site::Thing;

/// The questions of one group of checks.
pub(crate) struct Asks {
    check: Check,
    found: Vec<Finding>,
    /// Where the finding of each subject stands.
    by_subject: HashMap<String, usize>,
}

impl Asks {
    /// No question yet; they will be findings of this check.
    pub(crate) fn of(check: Check) -> Self {
        Self {
            check,
            found: Vec::new(),
            by_subject: HashMap::new(),
        }
    }

    /// Asks for one more input of a thing, in words that say how to get it; the same is asked once.
    pub(crate) fn add(&mut self, subject: &str, thing: Option<Thing>, words: &str) {
        if let Some(at) = self.by_subject.get(subject) {
            let ask = &mut self.found[*at];
            if !ask.message().contains(words) {
                ask.reword(|known| format!("{known}; {words}"));
            }
            return;
        }
        let message = format!("{subject} does not state {words}");
        let mut ask = self.check.finding(Severity::Ask, subject, message);
        ask.thing = thing;
        self.by_subject.insert(subject.to_owned(), self.found.len());
        self.found.push(ask);
    }

    /// The questions as findings.
    pub(crate) fn into_findings(self) -> Vec<Finding> {
        self.found
    }
}
