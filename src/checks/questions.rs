//! What no number answers: a no is a finding of its own, and what nobody answered is asked, all of
//! one thing at once.

use crate::checks::finding::Words;
use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::practice::{Asked, Subject, asked_among, cited};
use crate::tables::Question;

pub(crate) const OPEN: Check = Check {
    code: "open-questions",
    question: "What has to be looked at here that no number answers?",
    formula: "every question that applies has its answer",
    source: "tables/questions.toml; unknown never passes",
};

/// A question as a check: its code is that of the finding where the answer is no.
pub(crate) fn check_of(question: &'static Question) -> Check {
    Check {
        code: &question.code,
        question: &question.question,
        formula: "answered with yes by whoever looked",
        source: &question.source,
    }
}

pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let mut open: Vec<Asked> = Vec::new();
    for one in asked_among(look.site, &look.scope) {
        match one.answer {
            Some(true) => {}
            Some(false) => found.push(no(look, one)),
            None => {
                if open.last().is_some_and(|last| last.subject != one.subject) {
                    found.push(ask(look, &open));
                    open.clear();
                }
                open.push(one);
            }
        }
    }
    if !open.is_empty() {
        found.push(ask(look, &open));
    }
}

fn about(mut finding: Finding, subject: Subject) -> Finding {
    if let Subject::Thing(thing) = subject {
        finding.thing = Some(thing);
    }
    finding
}

fn no(look: &Look<'_>, one: Asked) -> Finding {
    let (name, question) = (one.subject.name(look.site), one.question);
    let message = format!(
        "{name}: no to '{}' {}",
        question.question,
        cited(look.site, &question.caution)
    );
    let finding = check_of(question).finding(question.no, name, message);
    about(finding, one.subject).put_in(format!("answers.{} = false", question.code))
}

/// What is open at a thing, in words.
pub(super) fn message(name: &str, open: &[&Question]) -> String {
    let list: Vec<String> = open
        .iter()
        .map(|question| format!("{}: {}", question.code, question.question))
        .collect();
    format!(
        "{name} has {} open question{}: {} Answer on the screen with A, or write answers = {{ {} = true }}",
        open.len(),
        if open.len() == 1 { "" } else { "s" },
        list.join(" "),
        open.first().map_or("code", |first| first.code.as_str())
    )
}

/// One finding for all that is open at a subject; it is as grave as the gravest of them.
fn ask(look: &Look<'_>, open: &[Asked]) -> Finding {
    let subject = open[0].subject;
    let name = subject.name(look.site);
    let gravest = open.iter().map(|one| one.question.unknown).min();
    let words = Words::Open(open.iter().map(|one| one.question).collect());
    let finding = OPEN.worded(gravest.unwrap_or(Severity::Ask), name, words);
    let mut finding = about(finding, subject);
    finding.value = Some(f64::from(u32::try_from(open.len()).unwrap_or(u32::MAX)));
    finding.limit = Some(0.0);
    finding
}
