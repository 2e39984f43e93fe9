//! Reads typed values out of one table, collecting every mistake on the way.

use crate::diagnostic::InputError;
use crate::site::fields::Field;
use crate::site::value::{Entry, Kind, Place, Table, Value};
use crate::units::{self, Measure, is_unprintable};

/// The mistakes found so far.
#[derive(Debug, Default)]
pub(crate) struct Mistakes(pub(crate) Vec<InputError>);

impl Mistakes {
    /// Adds a mistake at a place.
    pub(crate) fn add(&mut self, place: &Place, message: impl Into<String>) -> &mut InputError {
        self.0.push(InputError::new(place.clone(), message));
        let last = self.0.len() - 1;
        &mut self.0[last]
    }
}

/// How messages call the whole file.
pub(crate) const TOP: &str = "the file";

/// One table of the file under its name, for instance `device.hub`.
pub(crate) struct Form<'t, 'a> {
    /// The entries.
    pub(crate) table: &'t Table<'a>,
    /// How messages call the table.
    pub(crate) title: String,
    fields: &'static [Field],
}

/// The nearest of some words, if one is near enough to be meant.
pub(crate) fn nearest<'w>(found: &str, words: impl IntoIterator<Item = &'w str>) -> Option<String> {
    let found = found.to_lowercase();
    words
        .into_iter()
        .map(|word| {
            (
                strsim::damerau_levenshtein(&found, &word.to_lowercase()),
                word,
            )
        })
        .filter(|(distance, word)| {
            *distance <= 1 + word.chars().count().max(found.chars().count()) / 4
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word.to_owned())
}

/// `a, b, c`, cut where the list is long.
pub(crate) fn listed<'w>(words: impl IntoIterator<Item = &'w str>) -> String {
    let words: Vec<&str> = words.into_iter().collect();
    let shown = words
        .iter()
        .take(40)
        .copied()
        .collect::<Vec<_>>()
        .join(", ");
    if words.len() > 40 {
        format!("{shown} and {} more", words.len() - 40)
    } else {
        shown
    }
}

impl<'t, 'a> Form<'t, 'a> {
    /// A table of which only these keys are allowed, and some are needed.
    pub(crate) fn new(
        table: &'t Table<'a>,
        title: impl Into<String>,
        fields: &'static [Field],
        mistakes: &mut Mistakes,
    ) -> Self {
        let form = Self {
            table,
            title: title.into(),
            fields,
        };
        for entry in &table.entries {
            if !form.allows(&entry.key) {
                let keys = || fields.iter().map(|f| f.key);
                let found = if form.title == TOP {
                    format!("unknown table or key '{}'", entry.key)
                } else {
                    format!("unknown key '{}' in [{}]", entry.key, form.title)
                };
                let error = mistakes.add(&entry.key_place, found);
                error
                    .allow(format!("allowed here: {}", listed(keys())))
                    .suggest(nearest(&entry.key, keys()));
                if form.title != TOP && table_of(&entry.value).is_some() {
                    error.allow("a dot begins a table below; a name holds no dot");
                }
            }
        }
        for field in fields {
            if let Some(example) = field.needed
                && form.entry(field.key).is_none()
            {
                form.missing(field.key, example, mistakes);
            }
        }
        form
    }

    pub(crate) fn entry(&self, key: &str) -> Option<&'t Entry<'a>> {
        self.table.entry(key)
    }

    fn allows(&self, key: &str) -> bool {
        self.fields.iter().any(|f| f.key == key)
    }

    /// Says that a key is missing, unless a misspelled one, which has its own message, is meant.
    pub(crate) fn missing(&self, key: &str, example: &str, mistakes: &mut Mistakes) {
        let meant = |found: &str| {
            let keys = self.fields.iter().map(|f| f.key);
            !self.allows(found) && nearest(found, keys).as_deref() == Some(key)
        };
        if self.table.entries.iter().any(|e| meant(&e.key)) {
            return;
        }
        mistakes
            .add(
                &self.table.place,
                format!("[{}] has no '{key}'", self.title),
            )
            .allow(format!("write {key} = {example}"));
    }

    /// A text, free of control characters.
    pub(crate) fn text(&self, key: &str, mistakes: &mut Mistakes) -> Option<&'t str> {
        text_of(&self.entry(key)?.value, key, mistakes)
    }

    /// A text that names something, with its place.
    pub(crate) fn placed(&self, key: &str, mistakes: &mut Mistakes) -> Option<(&'t str, Place)> {
        let entry = self.entry(key)?;
        Some((
            text_of(&entry.value, key, mistakes)?,
            entry.value.place.clone(),
        ))
    }

    /// An owned text.
    pub(crate) fn string(&self, key: &str, mistakes: &mut Mistakes) -> Option<String> {
        self.text(key, mistakes).map(str::to_owned)
    }

    /// A value with its unit.
    pub(crate) fn quantity<Q: Measure>(&self, key: &str, mistakes: &mut Mistakes) -> Option<Q> {
        quantity_of(&self.entry(key)?.value, key, mistakes)
    }

    /// What `read` makes of a text.
    pub(crate) fn read_with<T>(
        &self,
        key: &str,
        mistakes: &mut Mistakes,
        read: impl Fn(&str) -> Result<T, units::ReadError>,
    ) -> Option<T> {
        read_with(&self.entry(key)?.value, key, mistakes, read)
    }

    /// true or false.
    pub(crate) fn flag(&self, key: &str, mistakes: &mut Mistakes) -> Option<bool> {
        let value = &self.entry(key)?.value;
        if let Kind::Flag(flag) = value.kind {
            return Some(flag);
        }
        mistakes
            .add(
                &value.place,
                format!("'{key}' is {}, not true or false", value.noun()),
            )
            .allow("write true or false, without quotes");
        None
    }

    /// A whole number within limits.
    pub(crate) fn count(
        &self,
        key: &str,
        limits: (u32, u32),
        mistakes: &mut Mistakes,
    ) -> Option<u32> {
        let value = &self.entry(key)?.value;
        let (least, most) = limits;
        let found = match &value.kind {
            Kind::Number(text) => {
                if let Ok(n) = text.replace('_', "").parse::<u32>()
                    && (least..=most).contains(&n)
                {
                    return Some(n);
                }
                format!("'{text}'")
            }
            _ => value.noun().to_owned(),
        };
        mistakes
            .add(
                &value.place,
                format!("'{key}' is {found}, not a whole number from {least} to {most}"),
            )
            .allow(format!("write {key} = {}", least.max(1)));
        None
    }

    /// A bare number over 0, up to 1.
    pub(crate) fn share(&self, key: &str, mistakes: &mut Mistakes) -> Option<f64> {
        let value = &self.entry(key)?.value;
        if let Kind::Number(text) = &value.kind
            && let Ok(n) = text.parse::<f64>()
            && n > 0.0
            && n <= 1.0
        {
            return Some(n);
        }
        mistakes
            .add(
                &value.place,
                format!("'{key}' is not a bare number over 0, up to 1"),
            )
            .allow(format!("write {key} = 0.8"));
        None
    }

    /// A bare number within limits.
    pub(crate) fn number(
        &self,
        key: &str,
        (least, most): (f64, f64),
        mistakes: &mut Mistakes,
    ) -> Option<f64> {
        let value = &self.entry(key)?.value;
        if let Kind::Number(text) = &value.kind
            && let Ok(n) = text.replace('_', "").parse::<f64>()
            && (least..=most).contains(&n)
        {
            return Some(n);
        }
        mistakes
            .add(
                &value.place,
                format!("'{key}' is not a bare number from {least} to {most}"),
            )
            .allow(format!("write {key} = {}", least.max(1.0)));
        None
    }

    /// One of some words, as its index.
    pub(crate) fn choice(
        &self,
        key: &str,
        words: &[&str],
        mistakes: &mut Mistakes,
    ) -> Option<usize> {
        choice_of(&self.entry(key)?.value, key, words, mistakes)
    }

    /// The values of a list, or of the one value that stands instead of it.
    pub(crate) fn many(&self, key: &str) -> Option<Vec<&'t Value<'a>>> {
        let value = &self.entry(key)?.value;
        Some(match &value.kind {
            Kind::List(list) => list.iter().collect(),
            _ => vec![value],
        })
    }

    /// A table below this one.
    pub(crate) fn table(&self, key: &str, mistakes: &mut Mistakes) -> Option<&'t Table<'a>> {
        let entry = self.entry(key)?;
        let found = table_of(&entry.value);
        if found.is_none() {
            mistakes
                .add(
                    &entry.key_place,
                    format!("'{key}' is {}, not a table", entry.value.noun()),
                )
                .allow(if self.title == TOP {
                    format!("write [{key}] or [{key}.NAME], and the keys below it")
                } else {
                    format!("write {key} = {{ ... }}, with its keys between the braces")
                });
        }
        found
    }
}

/// The table that a value is.
pub(crate) fn table_of<'t, 'a>(value: &'t Value<'a>) -> Option<&'t Table<'a>> {
    match &value.kind {
        Kind::Table(table) => Some(table),
        _ => None,
    }
}

/// The text that a value is, free of control characters.
pub(crate) fn text_of<'t>(
    value: &'t Value<'_>,
    key: &str,
    mistakes: &mut Mistakes,
) -> Option<&'t str> {
    let Kind::Text(text) = &value.kind else {
        mistakes
            .add(
                &value.place,
                format!("'{key}' is {}, not text", value.noun()),
            )
            .allow(match value.kind {
                Kind::List(_) => "write one text in double quotes, without brackets",
                Kind::Table(_) => "write text in double quotes, without a table",
                _ => "write it in double quotes",
            });
        return None;
    };
    if text.chars().any(is_unprintable) {
        mistakes
            .add(&value.place, format!("'{key}' holds a control character"))
            .allow("letters, digits, blanks and punctuation");
        return None;
    }
    Some(text)
}

/// A value with its unit.
pub(crate) fn quantity_of<Q: Measure>(
    value: &Value<'_>,
    key: &str,
    mistakes: &mut Mistakes,
) -> Option<Q> {
    read_with(value, key, mistakes, units::read::<Q>)
}

/// What `read` makes of the text that a value is; a bare number is told which units would do.
pub(crate) fn read_with<T>(
    value: &Value<'_>,
    key: &str,
    mistakes: &mut Mistakes,
    read: impl Fn(&str) -> Result<T, units::ReadError>,
) -> Option<T> {
    let text = match &value.kind {
        Kind::Number(number) => number.as_ref(),
        Kind::Text(_) => text_of(value, key, mistakes)?,
        _ => {
            mistakes
                .add(
                    &value.place,
                    format!("'{key}' is {}, not a number with its unit", value.noun()),
                )
                .allow("write number and unit in double quotes, as \"24 V\" or \"180 ft\"");
            return None;
        }
    };
    match read(text) {
        Ok(_) if matches!(value.kind, Kind::Number(_)) => {
            mistakes
                .add(&value.place, format!("'{key}' is the bare number {text}"))
                .allow("write the value in double quotes, with its unit");
            None
        }
        Ok(found) => Some(found),
        Err(error) => {
            mistakes
                .add(&value.place, format!("'{key}': {error}"))
                .advise(error.hint());
            None
        }
    }
}

/// One of some words, as its index.
pub(crate) fn choice_of(
    value: &Value<'_>,
    key: &str,
    words: &[&str],
    mistakes: &mut Mistakes,
) -> Option<usize> {
    let text = text_of(value, key, mistakes)?;
    let found = words.iter().position(|w| *w == text);
    if found.is_none() {
        mistakes
            .add(&value.place, format!("'{key}' is '{text}'"))
            .allow(format!("allowed: {}", listed(words.iter().copied())))
            .suggest(nearest(text, words.iter().copied()));
    }
    found
}
