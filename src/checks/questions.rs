//! What no number answers: a no is a finding of its own, and what nobody answered is asked, all of
//! one thing at once.

use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::practice::{Asked, Subject, asked, cited};
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
    for one in asked(look.site) {
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

/// One finding for all that is open at a subject; it is as grave as the gravest of them.
fn ask(look: &Look<'_>, open: &[Asked]) -> Finding {
    let subject = open[0].subject;
    let name = subject.name(look.site);
    let gravest = open.iter().map(|one| one.question.unknown).min();
    let list: Vec<String> = open
        .iter()
        .map(|one| format!("{}: {}", one.question.code, one.question.question))
        .collect();
    let (count, s) = match open.len() {
        1 => ("1".to_owned(), ""),
        n => (n.to_string(), "s"),
    };
    let message = format!(
        "{name} has {count} open question{s}: {} Answer on the screen with A, or write answers = {{ {} = true }}",
        list.join(" "),
        open[0].question.code
    );
    let finding = OPEN.finding(gravest.unwrap_or(Severity::Ask), name, message);
    let mut finding = about(finding, subject).put_in(format!("{count} without"));
    finding.value = Some(f64::from(u32::try_from(open.len()).unwrap_or(u32::MAX)));
    finding.limit = Some(0.0);
    finding
}
