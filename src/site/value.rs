//! One tree of values for both readings of a file: the parsed text, with places, and the edited
//! document, without.

use std::borrow::Cow;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};
use toml_edit::{Item, TableLike, Value as Edited};

/// A place in the file's text, in bytes.
pub(crate) type Place = Option<Range<usize>>;

/// A value and where it stands.
#[derive(Clone, Debug)]
pub(crate) struct Value<'a> {
    /// What it is.
    pub(crate) kind: Kind<'a>,
    /// Where it stands, if it was read from text.
    pub(crate) place: Place,
}

/// What a value is.
#[derive(Clone, Debug)]
pub(crate) enum Kind<'a> {
    /// A string.
    Text(Cow<'a, str>),
    /// A number, as written.
    Number(Cow<'a, str>),
    /// true or false.
    Flag(bool),
    /// A date or time.
    Date,
    /// A list.
    List(Vec<Value<'a>>),
    /// A table.
    Table(Table<'a>),
}

/// The entries of a table, in file order.
#[derive(Clone, Debug, Default)]
pub(crate) struct Table<'a> {
    /// Entries in file order.
    pub(crate) entries: Vec<Entry<'a>>,
    /// Where the table stands.
    pub(crate) place: Place,
}

/// One key and its value.
#[derive(Clone, Debug)]
pub(crate) struct Entry<'a> {
    /// The key.
    pub(crate) key: Cow<'a, str>,
    /// Where the key stands.
    pub(crate) key_place: Place,
    /// The value.
    pub(crate) value: Value<'a>,
}

impl<'a> Table<'a> {
    /// The entry of a key.
    pub(crate) fn entry(&self, key: &str) -> Option<&Entry<'a>> {
        self.entries.iter().find(|e| e.key == key)
    }

    /// The table of a parsed text.
    pub(crate) fn of_text(table: &'a DeTable<'a>, place: Place) -> Self {
        let entries = table
            .iter()
            .map(|(key, value)| Entry {
                key: Cow::Borrowed(key.get_ref().as_ref()),
                key_place: Some(key.span()),
                value: Value::of_text(value),
            })
            .collect();
        Self { entries, place }
    }

    /// The table of an edited document.
    pub(crate) fn of_document(table: &'a dyn TableLike) -> Self {
        let entries = table
            .iter()
            .filter_map(|(key, item)| {
                let value = Value::of_item(item)?;
                Some(Entry {
                    key: Cow::Borrowed(key),
                    key_place: None,
                    value,
                })
            })
            .collect();
        Self {
            entries,
            place: None,
        }
    }
}

impl<'a> Value<'a> {
    fn of_text(value: &'a Spanned<DeValue<'a>>) -> Self {
        let place = Some(value.span());
        let kind = match value.get_ref() {
            DeValue::String(text) => Kind::Text(Cow::Borrowed(text.as_ref())),
            DeValue::Integer(n) if n.radix() == 10 => Kind::Number(Cow::Borrowed(n.as_str())),
            DeValue::Integer(n) => Kind::Number(Cow::Owned(
                i64::from_str_radix(n.as_str(), n.radix())
                    .map_or_else(|_| n.as_str().to_owned(), |v| v.to_string()),
            )),
            DeValue::Float(n) => Kind::Number(Cow::Borrowed(n.as_str())),
            DeValue::Boolean(flag) => Kind::Flag(*flag),
            DeValue::Datetime(_) => Kind::Date,
            DeValue::Array(list) => Kind::List(list.iter().map(Value::of_text).collect()),
            DeValue::Table(table) => Kind::Table(Table::of_text(table, place.clone())),
        };
        Self { kind, place }
    }

    fn of_item(item: &'a Item) -> Option<Self> {
        let kind = match item {
            Item::None => return None,
            Item::Value(value) => Self::kind_of(value),
            Item::Table(table) => Kind::Table(Table::of_document(table)),
            Item::ArrayOfTables(list) => Kind::List(
                list.iter()
                    .map(|t| Value {
                        kind: Kind::Table(Table::of_document(t)),
                        place: None,
                    })
                    .collect(),
            ),
        };
        Some(Self { kind, place: None })
    }

    fn kind_of(value: &'a Edited) -> Kind<'a> {
        match value {
            Edited::String(text) => Kind::Text(Cow::Borrowed(text.value())),
            Edited::Integer(n) => Kind::Number(Cow::Owned(n.value().to_string())),
            Edited::Float(n) => Kind::Number(Cow::Owned(n.value().to_string())),
            Edited::Boolean(flag) => Kind::Flag(*flag.value()),
            Edited::Datetime(_) => Kind::Date,
            Edited::Array(list) => Kind::List(
                list.iter()
                    .map(|v| Value {
                        kind: Self::kind_of(v),
                        place: None,
                    })
                    .collect(),
            ),
            Edited::InlineTable(table) => Kind::Table(Table::of_document(table)),
        }
    }

    /// What a value is, for messages.
    pub(crate) fn noun(&self) -> &'static str {
        match self.kind {
            Kind::Text(_) => "text",
            Kind::Number(_) => "a bare number",
            Kind::Flag(_) => "true or false",
            Kind::Date => "a date",
            Kind::List(_) => "a list",
            Kind::Table(_) => "a table",
        }
    }
}
