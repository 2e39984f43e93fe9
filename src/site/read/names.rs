//! The names of a file: the one name space of things, the outputs and relays below them, and the
//! cables.

use std::collections::{BTreeSet, HashMap, HashSet};

use crate::site::form::{Form, Mistakes, listed, nearest, table_of};
use crate::site::model::{Cable, CableRef, Device, Input, Site, Thing};
use crate::site::read::{Body, bid, cable};
use crate::site::value::{Entry, Place, Table};

/// Every name that a reference can mean.
#[derive(Debug, Default)]
pub(crate) struct Names {
    /// The shared name space.
    pub(crate) things: HashMap<String, Thing>,
    /// Names of outputs, by supply.
    pub(crate) outputs: Vec<Vec<String>>,
    /// Names of relays, by device.
    pub(crate) relays: Vec<Vec<String>>,
    /// Cables: the site's own first, then each built-in one that was asked for.
    pub(crate) cables: Vec<Cable>,
    /// How many are the site's own.
    pub(crate) own: usize,
    by_name: HashMap<String, usize>,
    /// Cables of the site that could not be read.
    unreadable: HashSet<String>,
    /// Names of two-wire buses.
    pub(crate) buses: Vec<String>,
    /// Names of doors and gates.
    pub(crate) doors: Vec<String>,
    /// Names of the inputs of supplies and devices that have any.
    pub(crate) inputs: HashMap<Thing, Vec<String>>,
}

type Make = fn(usize) -> Thing;

const KINDS: [(&str, Make); 6] = [
    ("supply", Thing::Supply),
    ("device", Thing::Device),
    ("junction", Thing::Junction),
    ("fuse", Thing::Fuse),
    ("earth", Thing::Earth),
    ("run", Thing::Run),
];

/// A name is letters, digits, blank, `-` and `_`.
pub(crate) fn is_name(name: &str) -> bool {
    !name.trim().is_empty()
        && name
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'))
}

/// Says what is wrong with a name, if anything.
pub(crate) fn check_name(name: &str, what: &str, place: &Place, mistakes: &mut Mistakes) {
    if !is_name(name) {
        let shown = crate::diagnostic::clean(name);
        mistakes
            .add(place, format!("'{shown}' cannot name a {what}"))
            .allow("a name is letters, digits, blanks, '-' and '_'");
    }
}

impl Names {
    /// Collects the names of a file, and says where two things share one.
    pub(crate) fn collect(form: &Form<'_, '_>, mistakes: &mut Mistakes) -> Self {
        let mut names = Self::default();
        for (kind, make) in KINDS {
            let Some(all) = form.table(kind, mistakes) else {
                continue;
            };
            let mut index = 0;
            for entry in &all.entries {
                check_name(&entry.key, kind, &entry.key_place, mistakes);
                let Some(table) = table_of(&entry.value) else {
                    not_a_table(kind, entry, mistakes);
                    continue;
                };
                if let Some(other) = names.things.get(entry.key.as_ref()) {
                    let other = other.table();
                    mistakes
                        .add(&entry.key_place, format!("the name '{}' is taken by a {other}", entry.key))
                        .allow("supplies, devices, junctions, earths, runs and fuses share one name space");
                }
                names
                    .things
                    .insert(entry.key.clone().into_owned(), make(index));
                index += 1;
                let thing = make(index - 1);
                names.inputs.insert(thing, below(table, "input"));
                match kind {
                    "supply" => names.outputs.push(below(table, "output")),
                    "device" => names.relays.push(below(table, "relay")),
                    _ => {}
                }
            }
        }
        for kind in ["bus", "surge", "door", "meter", "raceway"] {
            names.beside(form, kind, mistakes);
        }
        names
    }

    /// Goes through what has names of its own beside the shared ones.
    fn beside(&mut self, form: &Form<'_, '_>, kind: &'static str, mistakes: &mut Mistakes) {
        for entry in form.table(kind, mistakes).map_or(&[][..], |t| &t.entries) {
            // Runs call a raceway by any text.
            if kind != "raceway" {
                check_name(&entry.key, kind, &entry.key_place, mistakes);
            }
            if table_of(&entry.value).is_none() {
                not_a_table(kind, entry, mistakes);
                continue;
            }
            match kind {
                "bus" => self.buses.push(entry.key.clone().into_owned()),
                "door" => self.doors.push(entry.key.clone().into_owned()),
                _ => {}
            }
        }
    }

    /// The names of a site that was read, to read one thing of it again.
    pub(crate) fn of_site(site: &mut Site) -> Self {
        let outputs = site
            .supplies
            .iter()
            .map(|s| s.outputs.iter().map(|o| o.name.clone()).collect());
        let relays = site
            .devices
            .iter()
            .map(|d| d.relays.iter().map(|r| r.name.clone()).collect());
        let mut names = Self {
            outputs: outputs.collect(),
            relays: relays.collect(),
            things: std::mem::take(&mut site.names),
            cables: std::mem::take(&mut site.cables),
            own: site.own_cables,
            by_name: HashMap::new(),
            unreadable: HashSet::new(),
            buses: site.buses.iter().map(|b| b.name.clone()).collect(),
            doors: site.doors.iter().map(|d| d.name.clone()).collect(),
            inputs: inputs_of(site),
        };
        names.by_name = names
            .cables
            .iter()
            .enumerate()
            .map(|(i, c)| (c.name.clone(), i))
            .collect();
        names
    }

    /// Returns what `of_site` took.
    pub(crate) fn give_back(self, site: &mut Site) {
        site.things_back(self.things, self.cables);
    }

    /// Reads the site's own cables.
    pub(crate) fn own_cables(&mut self, form: &Form<'_, '_>, mistakes: &mut Mistakes) {
        let Some(all) = form.table("cable", mistakes) else {
            return;
        };
        for entry in &all.entries {
            // A cable may be called by its gauge and count, so its name may hold more signs.
            if entry.key.trim().is_empty()
                || crate::diagnostic::clean(&entry.key) != entry.key.as_ref()
            {
                check_name("", "cable", &entry.key_place, mistakes);
            }
            let Some(table) = table_of(&entry.value) else {
                mistakes.add(
                    &entry.key_place,
                    format!(
                        "'cable.{}' is {}, not a table",
                        entry.key,
                        entry.value.noun()
                    ),
                );
                continue;
            };
            let body = Body {
                name: &entry.key,
                title: format!("cable.{}", entry.key),
                table,
            };
            match cable::own(&body, mistakes) {
                Some(cable) => {
                    self.by_name.insert(cable.name.clone(), self.cables.len());
                    self.cables.push(cable);
                }
                None => {
                    self.unreadable.insert(entry.key.to_string());
                }
            }
        }
        self.own = self.cables.len();
        let tables = all.entries.iter().filter_map(|entry| {
            let own = *self.by_name.get(entry.key.as_ref())?;
            let table = table_of(&entry.value)?;
            table.entry("parts").map(|_| (own, table))
        });
        let jackets: Vec<(usize, &Table<'_>)> = tables.collect();
        for (own, table) in &jackets {
            self.elements(*own, table, &jackets, mistakes);
        }
    }

    /// Finds the cables that lie in the jacket of one of the site's own.
    fn elements(
        &mut self,
        own: usize,
        table: &Table<'_>,
        jackets: &[(usize, &Table<'_>)],
        mistakes: &mut Mistakes,
    ) {
        for (text, place) in bid::elements(table, mistakes) {
            let Some(CableRef(element)) = self.cable(&text, &place, mistakes) else {
                continue;
            };
            if jackets.iter().any(|(jacket, _)| *jacket == element) {
                mistakes
                    .add(&place, format!("'{text}' is cables in a jacket itself"))
                    .allow("plain cables");
                continue;
            }
            self.cables[own].elements.push(CableRef(element));
        }
    }

    /// The cable of a name: the site's own, a built-in one, or GAUGE/COUNT.
    pub(crate) fn cable(
        &mut self,
        name: &str,
        place: &Place,
        mistakes: &mut Mistakes,
    ) -> Option<CableRef> {
        if let Some(i) = self.by_name.get(name) {
            return Some(CableRef(*i));
        }
        // What is wrong with it is told where it stands, not at every run.
        if self.unreadable.contains(name) {
            return None;
        }
        match cable::builtin(name) {
            Ok(cable) => {
                let index = self.cables.len();
                self.by_name.insert(name.to_owned(), index);
                self.cables.push(cable);
                Some(CableRef(index))
            }
            Err(why) => {
                let own = self.cables.iter().take(self.own).map(|c| c.name.clone());
                let words: Vec<String> = own
                    .chain(crate::tables::cable_names().map(str::to_owned))
                    .collect();
                mistakes
                    .add(place, why)
                    .allow("a cable of the site, a built-in cable, or GAUGE/COUNT as in 18/2, 1.5mm2/2, 24/8 solid")
                    .suggest(nearest(name, words.iter().map(String::as_str)));
                None
            }
        }
    }

    /// The thing of a name.
    pub(crate) fn thing(
        &self,
        name: &str,
        what: &str,
        place: &Place,
        mistakes: &mut Mistakes,
    ) -> Option<Thing> {
        let found = self.things.get(name).copied();
        if found.is_none() {
            self.unknown(name, what, place, mistakes);
        }
        found
    }

    /// Says that a name means nothing here, and which names do.
    pub(crate) fn unknown(&self, name: &str, what: &str, place: &Place, mistakes: &mut Mistakes) {
        let would_do = |thing: &Thing| what.contains(thing.table());
        let mut known: Vec<&str> = self
            .things
            .iter()
            .filter(|(_, thing)| would_do(thing))
            .map(|(name, _)| name.as_str())
            .collect();
        known.sort_unstable();
        let allowed = if known.is_empty() {
            format!("this file has no {what}")
        } else {
            format!("in this file: {}", listed(known.iter().copied()))
        };
        mistakes
            .add(place, format!("there is no {what} '{name}'"))
            .allow(allowed)
            .suggest(nearest(name, known));
    }

    /// The words that name a state somewhere in the site.
    pub(crate) fn state_words(&self, devices: &[Device]) -> BTreeSet<String> {
        let own = devices
            .iter()
            .flat_map(|d| d.state_draws().map(|(state, _)| state.clone()));
        ["off", "idle", "active", "inrush"]
            .into_iter()
            .map(str::to_owned)
            .chain(own)
            .collect()
    }
}

/// Names of the inputs of a site that was read.
fn inputs_of(site: &Site) -> HashMap<Thing, Vec<String>> {
    let names = |inputs: &[Input]| inputs.iter().map(|i| i.name.clone()).collect();
    let supplies = site.supplies.iter().enumerate();
    let devices = site.devices.iter().enumerate();
    supplies
        .map(|(i, s)| (Thing::Supply(i), &s.inputs))
        .chain(devices.map(|(i, d)| (Thing::Device(i), &d.inputs)))
        .filter(|(_, inputs)| !inputs.is_empty())
        .map(|(thing, inputs)| (thing, names(inputs)))
        .collect()
}

fn not_a_table(kind: &str, entry: &Entry<'_>, mistakes: &mut Mistakes) {
    let noun = entry.value.noun();
    mistakes
        .add(
            &entry.key_place,
            format!("'{kind}.{}' is {noun}, not a table", entry.key),
        )
        .allow(format!("write [{kind}.NAME] and the keys below it"));
}

/// Names of the tables below one key.
fn below(table: &Table<'_>, key: &str) -> Vec<String> {
    let inner = table.entry(key).and_then(|e| table_of(&e.value));
    inner.map_or_else(Vec::new, |t| {
        t.entries
            .iter()
            .map(|e| e.key.clone().into_owned())
            .collect()
    })
}

impl Site {
    fn things_back(&mut self, things: HashMap<String, Thing>, cables: Vec<Cable>) {
        self.names = things;
        self.cables = cables;
    }
}

#[cfg(test)]
mod tests {
    use super::{KINDS, is_name};
    use crate::site::fields;

    #[test]
    fn every_kind_of_thing_has_a_table_in_the_format() {
        assert!(
            KINDS
                .iter()
                .all(|(kind, _)| fields::TOP.iter().any(|f| f.key == *kind))
        );
    }

    #[test]
    fn names_are_letters_digits_blanks_hyphens_and_underscores() {
        assert!(is_name("walk lock-2_b") && is_name("Tür 1"));
        assert!(
            !is_name("a.b")
                && !is_name("a\"b")
                && !is_name("")
                && !is_name(" ")
                && !is_name("a\u{7}")
        );
    }
}
