//! A site open for editing: the document as the person wrote it, the site it means, and the
//! edits that can be taken back.

use toml_edit::{DocumentMut, Item};

use crate::diagnostic::InputError;
use crate::site::edit::{Edit, field_of, words};
use crate::site::fields::Holds;
use crate::site::layout::Layout;
use crate::site::model::{Site, Thing};
use crate::site::read::{self, read_table, reread};
use crate::site::value::Table;

/// A document and its site, always in step.
#[derive(Clone, Debug)]
pub struct Project {
    document: DocumentMut,
    /// What the document cannot print again as it was typed.
    layout: Option<Layout>,
    site: Site,
    done: Vec<Step>,
    undone: Vec<Step>,
    /// Length of `done` when the document was last saved; `None` when that state is lost.
    saved: Option<usize>,
    /// What changed since somebody last asked.
    touched: Touched,
}

/// What edits changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Touched {
    /// Values of these things, but nothing that one thing says of another.
    Values(Vec<Thing>),
    /// It may be anything.
    Anything,
}

impl Default for Touched {
    fn default() -> Self {
        Self::Values(Vec::new())
    }
}

/// One step that can be taken back.
#[derive(Clone, Debug)]
struct Step {
    what: String,
    change: Change,
    /// What could have been done again before this step.
    instead: Vec<Step>,
    /// Where the saved state stood before this step.
    saved: Option<usize>,
}

/// What a step holds to go back and forth: it swaps itself with what stands in the project.
#[derive(Clone, Debug)]
enum Change {
    /// The table of one thing and what it means.
    One {
        thing: Thing,
        path: Vec<String>,
        item: Box<Item>,
        site: Box<OneThing>,
        /// It changes a value and nothing that the thing says of another.
        plain: bool,
    },
    /// The whole document and site: things came or went.
    All {
        document: Box<DocumentMut>,
        site: Box<Site>,
    },
}

/// One thing of a site, by value.
#[derive(Clone, Debug)]
enum OneThing {
    Supply(crate::site::Supply),
    Device(crate::site::Device),
    Junction(crate::site::Junction),
    Fuse(crate::site::Fuse),
    Earth(crate::site::Earth),
    Run(crate::site::Run),
}

impl Project {
    /// Opens a document.
    ///
    /// # Errors
    /// Every mistake in the text.
    pub fn open(text: &str) -> Result<Self, Vec<InputError>> {
        let site = read::read(text)?;
        let document = text.parse::<DocumentMut>().map_err(|error| {
            vec![InputError::new(
                error.span(),
                format!("not valid TOML: {}", error.message()),
            )]
        })?;
        Ok(Self {
            layout: Layout::of(text, &document.to_string()),
            document,
            site,
            done: Vec::new(),
            undone: Vec::new(),
            saved: Some(0),
            touched: Touched::default(),
        })
    }

    /// The site as it stands.
    pub fn site(&self) -> &Site {
        &self.site
    }

    /// The document's text as it stands.
    pub fn text(&self) -> String {
        let now = self.document.to_string();
        match &self.layout {
            Some(layout) => layout.carry(&now),
            None => now,
        }
    }

    /// What changed since this was last asked.
    pub fn take_touched(&mut self) -> Touched {
        std::mem::take(&mut self.touched)
    }

    /// Whether the document differs from what was last saved.
    pub fn is_unsaved(&self) -> bool {
        self.saved != Some(self.done.len())
    }

    /// Remembers that the document was saved as it stands.
    pub fn mark_saved(&mut self) {
        self.saved = Some(self.done.len());
    }

    /// Remembers that no saved file holds the document as it stands.
    pub fn mark_unsaved(&mut self) {
        self.saved = None;
    }

    /// A value of the document as the person spelled it.
    pub fn typed(&self, table: &[String], key: &str) -> Option<String> {
        let mut at = self.document.as_item();
        for word in table.iter().map(String::as_str).chain(words(key)) {
            at = below(at, word)?;
        }
        Some(spelled(at))
    }

    /// The keys below a table of the document, in file order.
    pub fn keys(&self, table: &[String]) -> Vec<String> {
        let mut at = self.document.as_item();
        for word in table {
            match below(at, word) {
                Some(inner) => at = inner,
                None => return Vec::new(),
            }
        }
        at.as_table_like()
            .map_or_else(Vec::new, |t| t.iter().map(|(k, _)| k.to_owned()).collect())
    }

    /// Applies an edit, or leaves everything as it was.
    ///
    /// # Errors
    /// Every mistake that the document would have.
    pub fn apply(&mut self, edit: &Edit) -> Result<(), Vec<InputError>> {
        self.apply_all(std::slice::from_ref(edit), edit.describe())
    }

    /// Applies several edits as one step, or leaves everything as it was.
    ///
    /// # Errors
    /// Every mistake that the document would have.
    pub fn apply_all(&mut self, edits: &[Edit], what: String) -> Result<(), Vec<InputError>> {
        let change = match edits {
            [Edit::Set { table, key, text }] => match self.thing_of(table, key, text) {
                Some(thing) => self.change_one(thing, &edits[0])?,
                None => self.change_all(edits)?,
            },
            _ => self.change_all(edits)?,
        };
        self.touch(&change);
        let saved = self.saved;
        if saved.is_some_and(|saved| saved > self.done.len()) {
            self.saved = None;
        }
        let instead = std::mem::take(&mut self.undone);
        self.done.push(Step {
            what,
            change,
            instead,
            saved,
        });
        Ok(())
    }

    /// The one thing that a set key belongs to, where no other thing can be touched by it.
    fn thing_of(&self, table: &[String], key: &str, text: &str) -> Option<Thing> {
        let [kind, name] = table else { return None };
        let thing = *self.site.names.get(name)?;
        let below = ["output", "relay", "input", "draw", "poe"]
            .iter()
            .any(|k| key.starts_with(k));
        // What cases name are the states, and those stay as they are.
        let below = below && (text.trim().is_empty() || !self.has_state(thing, key));
        // A run in another's jacket takes its cable and length from there.
        let shared = key == "shares"
            || (matches!(thing, Thing::Run(_))
                && self.site.runs.iter().any(|r| r.shares.is_some()));
        // What a run carries decides what may stand in the tables of its surge parts.
        let surged = key == "carries"
            && (self.site.surges.iter()).any(|surge| Thing::Run(surge.line) == thing);
        (thing.table() == kind && !below && !shared && !surged).then_some(thing)
    }

    /// Whether a key is the draw of a state that the device has.
    fn has_state(&self, thing: Thing, key: &str) -> bool {
        let (Thing::Device(i), Some(state)) = (thing, key.strip_prefix("draw.")) else {
            return false;
        };
        let draws = &self.site.devices[i].draw;
        draws.iter().any(|(known, _)| known == state)
    }

    /// Notes what a change touches.
    fn touch(&mut self, change: &Change) {
        match (change, &mut self.touched) {
            (Change::One { thing, plain, .. }, Touched::Values(things)) if *plain => {
                if !things.contains(thing) {
                    things.push(*thing);
                }
            }
            (_, touched) => *touched = Touched::Anything,
        }
    }

    fn change_one(&mut self, thing: Thing, edit: &Edit) -> Result<Change, Vec<InputError>> {
        let path = edit.table().to_vec();
        let before = item(&mut self.document, &path)
            .cloned()
            .unwrap_or(Item::None);
        let site = Box::new(take(&self.site, thing));
        edit.apply(&mut self.document);
        let change = Change::One {
            thing,
            path,
            item: Box::new(before),
            site,
            plain: is_value(edit),
        };
        let table = item(&mut self.document, edit.table());
        let result = match table.as_ref().and_then(|i| i.as_table_like()) {
            Some(table) => reread(&mut self.site, thing, &Table::of_document(table)),
            None => Err(vec![InputError::new(None, "the table is gone")]),
        };
        match result {
            Ok(()) => Ok(change),
            Err(errors) => {
                self.swap(change);
                Err(errors)
            }
        }
    }

    fn change_all(&mut self, edits: &[Edit]) -> Result<Change, Vec<InputError>> {
        let mut document = self.document.clone();
        for edit in edits {
            edit.apply(&mut document);
        }
        let site = read_table(&Table::of_document(document.as_table()))?;
        let document = std::mem::replace(&mut self.document, document);
        let site = std::mem::replace(&mut self.site, site);
        Ok(Change::All {
            document: Box::new(document),
            site: Box::new(site),
        })
    }

    /// Exchanges what a change holds with what stands in the project.
    fn swap(&mut self, change: Change) -> Change {
        self.touch(&change);
        match change {
            Change::All {
                mut document,
                mut site,
            } => {
                std::mem::swap(&mut self.document, &mut document);
                std::mem::swap(&mut self.site, &mut site);
                Change::All { document, site }
            }
            Change::One {
                thing,
                path,
                item: mut held,
                site,
                plain,
            } => {
                let now = Box::new(take(&self.site, thing));
                put(&mut self.site, thing, *site);
                if let Some(place) = item(&mut self.document, &path) {
                    std::mem::swap(place, &mut *held);
                }
                Change::One {
                    thing,
                    path,
                    item: held,
                    site: now,
                    plain,
                }
            }
        }
    }

    /// Takes the last step back and says what it was.
    pub fn undo(&mut self) -> Option<String> {
        let step = self.done.pop()?;
        let change = self.swap(step.change);
        self.undone.push(Step {
            what: step.what.clone(),
            change,
            instead: Vec::new(),
            saved: None,
        });
        Some(step.what)
    }

    /// Takes the last step back as if it had never been: it cannot be done again, and what could
    /// before it still can.
    pub fn forget(&mut self) {
        if let Some(step) = self.done.pop() {
            self.swap(step.change);
            self.undone = step.instead;
            self.saved = step.saved;
        }
    }

    /// Does the last undone step again and says what it was.
    pub fn redo(&mut self) -> Option<String> {
        let step = self.undone.pop()?;
        let change = self.swap(step.change);
        self.done.push(Step {
            what: step.what.clone(),
            change,
            instead: Vec::new(),
            saved: None,
        });
        Some(step.what)
    }

    /// What `undo` would take back.
    pub fn next_undo(&self) -> Option<&str> {
        self.done.last().map(|s| s.what.as_str())
    }
}

/// Whether an edit sets a value of a thing, and nothing that the thing says of another.
fn is_value(edit: &Edit) -> bool {
    let Edit::Set { table, key, .. } = edit else {
        return false;
    };
    field_of(table, key).is_some_and(|field| {
        // A word in place of a value may join or part terminals.
        field.also.is_empty()
            && matches!(
                field.holds,
                Holds::Quantity(..) | Holds::Draw | Holds::Number | Holds::Cable | Holds::Pair
            )
    })
}

/// What stands below an item under a word; in a list the words are places from 0.
fn below<'d>(item: &'d Item, word: &str) -> Option<&'d Item> {
    match item {
        Item::ArrayOfTables(_) | Item::Value(toml_edit::Value::Array(_)) => {
            item.get(word.parse::<usize>().ok()?)
        }
        _ => item.get(word),
    }
}

fn spelled(item: &Item) -> String {
    match item {
        Item::Value(toml_edit::Value::String(text)) => text.value().clone(),
        Item::Value(toml_edit::Value::Array(list)) => {
            let texts = list.iter().map(|v| spelled(&Item::Value(v.clone())));
            texts.collect::<Vec<_>>().join(", ")
        }
        // Without the comment that may stand behind it.
        Item::Value(value) => value.clone().decorated("", "").to_string(),
        other => other.to_string().trim().to_owned(),
    }
}

fn item<'d>(document: &'d mut DocumentMut, path: &[String]) -> Option<&'d mut Item> {
    let mut at = document.as_item_mut();
    for word in path {
        at = at.get_mut(word)?;
    }
    Some(at)
}

fn take(site: &Site, thing: Thing) -> OneThing {
    match thing {
        Thing::Supply(i) => OneThing::Supply(site.supplies[i].clone()),
        Thing::Device(i) => OneThing::Device(site.devices[i].clone()),
        Thing::Junction(i) => OneThing::Junction(site.junctions[i].clone()),
        Thing::Fuse(i) => OneThing::Fuse(site.fuses[i].clone()),
        Thing::Earth(i) => OneThing::Earth(site.earths[i].clone()),
        Thing::Run(i) => OneThing::Run(site.runs[i].clone()),
    }
}

fn put(site: &mut Site, thing: Thing, held: OneThing) {
    match (thing, held) {
        (Thing::Supply(i), OneThing::Supply(x)) => site.supplies[i] = x,
        (Thing::Device(i), OneThing::Device(x)) => site.devices[i] = x,
        (Thing::Junction(i), OneThing::Junction(x)) => site.junctions[i] = x,
        (Thing::Fuse(i), OneThing::Fuse(x)) => site.fuses[i] = x,
        (Thing::Earth(i), OneThing::Earth(x)) => site.earths[i] = x,
        (Thing::Run(i), OneThing::Run(x)) => site.runs[i] = x,
        _ => {}
    }
}
