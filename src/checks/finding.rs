//! What a check found, and in which words.

use std::borrow::Cow;
use std::cmp::Ordering;

use crate::checks::runs::Loss;
use crate::checks::{Check, questions};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::practice;
use crate::results::Row;
use crate::site::{Site, Thing};
use crate::tables::Question;

/// Which way a finding's value gets worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worse {
    /// A smaller value is worse.
    Lower,
    /// A greater value is worse.
    Higher,
}

/// What a check found about one subject, at its worst case and corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Code of the check.
    pub code: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// Name of what it is about.
    pub subject: String,
    /// The thing it is about, where that has a place in the network.
    pub thing: Option<Thing>,
    /// Index of the case.
    pub case: Option<usize>,
    /// The corner.
    pub corner: Option<Corner>,
    /// The value found, in `unit`.
    pub value: Option<f64>,
    /// The limit that it is held against, in `unit`.
    pub limit: Option<f64>,
    /// SI unit of value and limit.
    pub unit: Option<&'static str>,
    formula: &'static str,
    words: Words,
    /// Where formula and limit come from, citations of the code not yet filled in.
    source: Cow<'static, str>,
    /// Which way the value gets worse.
    pub worse: Worse,
}

/// The words of a finding.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Words {
    /// What is the matter, in one sentence, and the numbers put in.
    Written {
        /// The sentence.
        message: String,
        /// The numbers.
        numbers: String,
    },
    /// What is lost in a run: every run has one, so they are written when somebody reads them.
    Lost(Loss),
    /// The open questions of a thing, written when somebody reads them.
    Open(Vec<&'static Question>),
}

impl Check {
    /// A finding of this check without value or place.
    pub(crate) fn finding(&self, severity: Severity, subject: &str, message: String) -> Finding {
        let numbers = String::new();
        self.worded(severity, subject, Words::Written { message, numbers })
    }

    /// The same with words of another kind.
    pub(super) fn worded(&self, severity: Severity, subject: &str, words: Words) -> Finding {
        Finding {
            code: self.code,
            severity,
            subject: subject.to_owned(),
            thing: None,
            case: None,
            corner: None,
            value: None,
            limit: None,
            unit: None,
            formula: self.formula,
            words,
            source: Cow::Borrowed(self.source),
            worse: Worse::Higher,
        }
    }
}

impl Finding {
    /// Gravest first, then by subject and code.
    pub fn order(&self, other: &Self) -> Ordering {
        (self.severity, &self.subject, self.code).cmp(&(other.severity, &other.subject, other.code))
    }

    /// The thing that is its subject, or that its subject is a part of; `None` where it is about
    /// something beside the network or the whole site, whatever thing it points at.
    pub fn own_thing(&self, site: &Site) -> Option<Thing> {
        self.thing.filter(|thing| {
            let rest = self.subject.strip_prefix(site.name_of(*thing));
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        })
    }

    /// What is the matter, in one sentence.
    pub fn message(&self) -> Cow<'_, str> {
        match &self.words {
            Words::Written { message, .. } => Cow::Borrowed(message),
            Words::Lost(loss) => Cow::Owned(loss.message(&self.subject)),
            Words::Open(list) => Cow::Owned(questions::message(&self.subject, list)),
        }
    }

    /// The formula with the numbers put in.
    pub fn worked(&self) -> String {
        let numbers = match &self.words {
            Words::Written { numbers, .. } => Cow::Borrowed(numbers.as_str()),
            Words::Lost(loss) => Cow::Owned(loss.numbers()),
            Words::Open(list) => Cow::Owned(format!("{} without", list.len())),
        };
        if numbers.is_empty() {
            self.formula.to_owned()
        } else {
            format!("{}; {numbers}", self.formula)
        }
    }

    /// Where formula and limit come from, by the edition of the code that is on the site's file.
    pub fn source(&self, site: &Site) -> String {
        practice::source(site, &self.source)
    }

    /// Says which thing it is about.
    pub(crate) fn about(mut self, thing: Thing) -> Self {
        self.thing = Some(thing);
        self
    }

    /// Says in which case and corner it is worst.
    pub(crate) fn at(mut self, row: &Row) -> Self {
        self.case = Some(row.case);
        self.corner = Some(row.corner);
        self
    }

    /// Gives value, limit and their unit.
    pub(crate) fn measured(mut self, value: f64, limit: f64, unit: &'static str) -> Self {
        self.value = Some(value);
        self.limit = Some(limit);
        self.unit = Some(unit);
        self
    }

    /// Puts numbers into the formula.
    pub(crate) fn put_in(mut self, more: impl Into<String>) -> Self {
        if let Words::Written { numbers, .. } = &mut self.words {
            let more = more.into();
            match (numbers.as_str(), more.as_str()) {
                (_, "") => {}
                ("", _) => *numbers = more,
                _ => *numbers = format!("{numbers}; {more}"),
            }
        }
        self
    }

    /// Writes the message anew.
    pub(crate) fn reword(&mut self, write: impl FnOnce(&str) -> String) {
        if let Words::Written { message, .. } = &mut self.words {
            *message = write(message);
        }
    }

    /// Says where formula and limit come from, where that is not what the check says.
    pub(crate) fn by(mut self, source: impl Into<Cow<'static, str>>) -> Self {
        self.source = source.into();
        self
    }

    /// A smaller value is worse.
    pub(crate) fn lower_is_worse(mut self) -> Self {
        self.worse = Worse::Lower;
        self
    }
}
