//! One check as it is explained to a person, and the list of them all.

use crate::checks::{Explained, registry};
use crate::practice::cited;
use crate::site::Site;
use crate::tables::Of;

/// Question, formula, inputs, source and example of a check; sections by the edition of a site.
pub fn explain(site: &Site, one: &Explained) -> String {
    let check = one.check;
    let mut lines = vec![
        format!("{}: {}", check.code, sentence(check.question)),
        format!("formula   {}", check.formula),
        format!("inputs    {}", one.inputs),
        format!("source    {}", cited(site, check.source)),
    ];
    match one.question {
        None => lines.push(format!("example   {}", one.example)),
        Some(question) => {
            let of = if question.kinds.is_empty() {
                question.of.as_str().to_owned()
            } else {
                question.kinds.join(", ")
            };
            let when = match question.when.as_str() {
                "" => String::new(),
                words => format!(", {words}"),
            };
            lines.push(format!("asked of  {of}{when}"));
            lines.push(format!("if no     {}: {}", question.no, question.caution));
            lines.push(format!("if open   {}", question.unknown));
            lines.push(match question.of {
                Of::Site => format!("example   [answers] {} = false", check.code),
                of => format!(
                    "example   [{}.NAME] answers = {{ {} = false }}: {}",
                    of.as_str(),
                    check.code,
                    question.no
                ),
            });
        }
    }
    lines.join("\n") + "\n"
}

/// The list of all checks for the documentation: code and question, one a row.
pub fn check_list() -> String {
    let mut text = String::from("| code | question |\n|---|---|\n");
    for one in registry() {
        text += &format!(
            "| `{}` | {} |\n",
            one.check.code,
            sentence(one.check.question)
        );
    }
    text
}

/// A question with a capital letter.
fn sentence(question: &str) -> String {
    let mut chars = question.chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(chars).collect()
    })
}
