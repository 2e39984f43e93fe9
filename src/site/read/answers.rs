//! Answers to the questions of the trade.

use crate::site::fields;
use crate::site::form::{Form, Mistakes, TOP};
use crate::site::model::Answers;
use crate::tables::Of;

/// Reads the `answers` of a thing, or of the whole site.
pub(crate) fn answers(form: &Form<'_, '_>, of: Of, mistakes: &mut Mistakes) -> Answers {
    let Some(table) = form.table("answers", mistakes) else {
        return Answers::default();
    };
    let title = if form.title == TOP {
        "answers".to_owned()
    } else {
        format!("{}.answers", form.title)
    };
    let all = fields::answers(of);
    let own = Form::new(table, title, all, mistakes);
    let given = all
        .iter()
        .filter_map(|field| Some((field.key, own.flag(field.key, mistakes)?)));
    Answers(given.collect())
}
