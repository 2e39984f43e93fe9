//! Edits as small commands on the document.

use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use crate::site::fields::{self, Field, Holds, Inner};

/// A change of one key, or of one whole thing.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// Sets a key of a table; the text is what a person types. An empty text takes the key out.
    Set {
        /// Path of the table, for instance `run`, `W1`.
        table: Vec<String>,
        /// The key; a dot leads into a table below, for instance `draw.active`.
        key: String,
        /// The value as typed.
        text: String,
    },
    /// Adds a thing with some keys.
    Add {
        /// Path of the new table.
        table: Vec<String>,
        /// Keys and values as typed.
        keys: Vec<(String, String)>,
    },
    /// Takes a thing out.
    Delete {
        /// Path of the table.
        table: Vec<String>,
    },
}

impl Edit {
    /// Sets one key of a thing.
    pub fn set(kind: &str, name: &str, key: &str, text: &str) -> Self {
        Self::Set {
            table: vec![kind.into(), name.into()],
            key: key.into(),
            text: text.into(),
        }
    }

    /// The table that the edit touches.
    pub fn table(&self) -> &[String] {
        match self {
            Self::Set { table, .. } | Self::Add { table, .. } | Self::Delete { table } => table,
        }
    }

    /// What the edit does, in a few words.
    pub fn describe(&self) -> String {
        let table = self.table();
        let path: Vec<&str> = table.iter().map(String::as_str).collect();
        let name = match table {
            [outer @ .., word, at] if list_of(&path).is_some() => {
                let place = at
                    .parse::<usize>()
                    .map_or_else(|_| at.clone(), |i| (i + 1).to_string());
                match outer {
                    [_, owner] => format!("{word} {place} of {owner}"),
                    _ => format!("{word} {place}"),
                }
            }
            [_, name @ ..] if !name.is_empty() => name.join("."),
            _ => table.join("."),
        };
        match self {
            Self::Set { key, text, .. } if text.is_empty() => format!("{name}: {key} taken out"),
            Self::Set { key, text, .. } => format!("{name}: {key} {text}"),
            Self::Add { .. } => format!("{name} added"),
            Self::Delete { .. } => format!("{name} deleted"),
        }
    }

    /// Applies the edit to a document; nothing else of it changes.
    pub(crate) fn apply(&self, document: &mut DocumentMut) {
        match self {
            Self::Set { table, key, text } => {
                let field = field_of(table, key);
                let mut path: Vec<&str> = table.iter().map(String::as_str).collect();
                let mut words = words(key);
                let last = words.pop().unwrap_or_default();
                path.extend(words);
                if text.trim().is_empty() {
                    if let Some(inner) = find(document, &path) {
                        inner.remove(last);
                    }
                    prune(document, &path);
                } else if let Some(inner) = descend(document, &path) {
                    put(inner, last, value(field, text.trim()));
                }
            }
            Self::Add { table, keys } => {
                let path: Vec<&str> = table.iter().map(String::as_str).collect();
                if let Some((list, _)) = list_of(&path) {
                    lengthen(document, list);
                }
                let Some(inner) = descend(document, &path) else {
                    return;
                };
                for (key, text) in keys {
                    let item = value(field_of(table, key), text.trim());
                    match words(key).as_slice() {
                        [outer, last] => put(below(inner, outer, true), last, item),
                        _ => put(inner, key, item),
                    }
                }
                print_even_empty(document, &path);
            }
            Self::Delete { table } => {
                let path: Vec<&str> = table.iter().map(String::as_str).collect();
                match (list_of(&path), path.as_slice()) {
                    (Some((list, at)), _) => shorten(document, list, at),
                    (None, [outer @ .., last]) => {
                        if let Some(outer) = find(document, outer) {
                            outer.remove(last);
                        }
                    }
                    (None, []) => {}
                }
            }
        }
    }
}

/// A table that was made on the way is printed only with keys in it; one that was asked for is
/// printed in any case.
fn print_even_empty(document: &mut DocumentMut, path: &[&str]) {
    let mut at = document.as_item_mut();
    for key in path {
        match at.get_mut(key) {
            Some(inner) => at = inner,
            None => return,
        }
    }
    if let Some(table) = at.as_table_mut() {
        table.set_implicit(false);
    }
}

/// What a key of a table holds, by the path of the table.
pub(crate) fn field_of(table: &[String], key: &str) -> Option<&'static Field> {
    fields::at(table.iter().map(String::as_str).chain(key.split('.')))
}

/// Keys of the things of one kind, or of the tables of one list.
pub fn fields_of(kind: &str) -> &'static [Field] {
    match fields::inner("", kind) {
        Some(
            Inner::One(fields) | Inner::Named(fields) | Inner::Titled(fields) | Inner::List(fields),
        ) => fields,
        _ => &[],
    }
}

/// The TOML value of a typed text.
fn value(field: Option<&Field>, text: &str) -> Value {
    let list = |text: &str| -> Array {
        text.split(',')
            .map(str::trim)
            .filter(|t| !t.is_empty())
            .collect()
    };
    match field.map(|f| f.holds) {
        Some(Holds::Flag | Holds::FlagOrReference) => match text {
            "true" | "yes" => true.into(),
            "false" | "no" => false.into(),
            other => other.into(),
        },
        Some(Holds::Count) => text.parse::<i64>().map_or_else(|_| text.into(), Into::into),
        Some(Holds::Number) => text.parse::<f64>().map_or_else(|_| text.into(), Into::into),
        Some(Holds::Choices(_) | Holds::References) if !text.contains(',') => text.into(),
        Some(
            Holds::Choices(_) | Holds::References | Holds::Cables | Holds::Pair | Holds::Window,
        ) => list(text).into(),
        _ => text.into(),
    }
}

/// Sets a value and keeps the blanks and comments around the old one.
fn put(table: &mut dyn TableLike, key: &str, mut new: Value) {
    match table.get_mut(key) {
        Some(Item::Value(old)) => {
            *new.decor_mut() = old.decor().clone();
            *old = new;
        }
        Some(item) => *item = Item::Value(new),
        None => {
            table.insert(key, Item::Value(new));
        }
    }
}

/// The words of a key: a dot leads into a table below. In a table of states or of values to set,
/// what follows is one name with a dot of its own, as `hub.k1`.
pub(crate) fn words(key: &str) -> Vec<&str> {
    match key.split_once('.') {
        Some((table @ ("states" | "set"), name)) => vec![table, name],
        _ => key.split('.').collect(),
    }
}

/// Takes out tables of which an edit left nothing; a thing stays, even if nothing is said of it.
fn prune(document: &mut DocumentMut, path: &[&str]) {
    let mut path = path;
    while let [outer @ .., last] = path
        && !outer.is_empty()
        && !fields::is_thing(path)
    {
        if find(document, path).is_none_or(|inner| !inner.is_empty()) {
            return;
        }
        if let Some(outer) = find(document, outer) {
            outer.remove(last);
        }
        path = outer;
    }
}

/// The path of a list of tables and the place in it, where a path ends at such a place.
fn list_of<'p, 'w>(path: &'p [&'w str]) -> Option<(&'p [&'w str], &'w str)> {
    let [list @ .., at] = path else { return None };
    fields::is_list(list).then_some((list, *at))
}

/// Puts an empty table at the end of a list, in the way in which the list is written.
fn lengthen(document: &mut DocumentMut, list: &[&str]) {
    let [outer @ .., word] = list else { return };
    let inline = is_inline(document, outer);
    let Some(outer) = find(document, outer) else {
        return;
    };
    match outer.get_mut(word) {
        Some(Item::ArrayOfTables(list)) => list.push(Table::new()),
        Some(Item::Value(Value::Array(list))) => list.push(InlineTable::new()),
        _ if inline => {
            let list = Array::from_iter([InlineTable::new()]);
            outer.insert(word, Item::Value(Value::Array(list)));
        }
        _ => {
            let mut list = ArrayOfTables::new();
            list.push(Table::new());
            outer.insert(word, Item::ArrayOfTables(list));
        }
    }
}

/// Whether a table is written in braces, where no list of tables with heads can stand.
fn is_inline(document: &DocumentMut, path: &[&str]) -> bool {
    let mut at = document.as_item();
    for word in path {
        match at.get(word) {
            Some(below) if below.is_inline_table() => return true,
            Some(below) => at = below,
            None => return false,
        }
    }
    false
}

/// Takes one table out of a list, and the list with its last one.
fn shorten(document: &mut DocumentMut, list: &[&str], at: &str) {
    let ([outer @ .., word], Ok(at)) = (list, at.parse::<usize>()) else {
        return;
    };
    let Some(outer) = find(document, outer) else {
        return;
    };
    let left = match outer.get_mut(word) {
        Some(Item::ArrayOfTables(list)) if at < list.len() => {
            list.remove(at);
            list.len()
        }
        Some(Item::Value(Value::Array(list))) if at < list.len() => {
            list.remove(at);
            list.len()
        }
        _ => return,
    };
    if left == 0 {
        outer.remove(word);
    }
}

/// One table of a list, by its place from 0.
fn nth<'d>(list: &'d mut Item, at: &str) -> Option<&'d mut dyn TableLike> {
    let at: usize = at.parse().ok()?;
    match list {
        Item::ArrayOfTables(list) => list
            .get_mut(at)
            .map(|table| -> &mut dyn TableLike { table }),
        Item::Value(Value::Array(list)) => {
            let table = list.get_mut(at)?.as_inline_table_mut()?;
            Some(table)
        }
        _ => None,
    }
}

/// The table at a path, made where it is not there; a list is as long as it is.
fn descend<'d>(document: &'d mut DocumentMut, path: &[&str]) -> Option<&'d mut dyn TableLike> {
    if (1..path.len()).any(|n| fields::is_list(&path[..n])) {
        return find(document, path);
    }
    let mut at: &mut dyn TableLike = document.as_table_mut();
    for (depth, key) in path.iter().enumerate() {
        at = below(at, key, depth > 1);
    }
    Some(at)
}

fn below<'t>(table: &'t mut dyn TableLike, key: &str, inline: bool) -> &'t mut dyn TableLike {
    let usable = table.get(key).is_some_and(Item::is_table_like);
    if !usable {
        let new = if inline {
            Item::Value(Value::InlineTable(InlineTable::new()))
        } else {
            let mut new = Table::new();
            // `[run.W1]` needs no `[run]` above it.
            new.set_implicit(true);
            Item::Table(new)
        };
        table.insert(key, new);
    }
    let found = table.get_mut(key).and_then(Item::as_table_like_mut);
    #[expect(clippy::expect_used, reason = "the lines above put a table there")]
    let found = found.expect("a table was just put there");
    found
}

/// The table at a path; behind a list the next word is a place in it.
fn find<'d>(document: &'d mut DocumentMut, path: &[&str]) -> Option<&'d mut dyn TableLike> {
    let mut at: &mut dyn TableLike = document.as_table_mut();
    let mut words = path.iter();
    while let Some(word) = words.next() {
        let item = at.get_mut(word)?;
        at = match item {
            Item::ArrayOfTables(_) | Item::Value(Value::Array(_)) => nth(item, words.next()?)?,
            table => table.as_table_like_mut()?,
        };
    }
    Some(at)
}
