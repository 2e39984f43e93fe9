//! Forms of a few lines: adding a thing with its run, and a new site.

use crossterm::event::{KeyCode, KeyEvent};

use crate::demo;
use crate::site::fields::{self, Field, Holds};
use crate::site::{Edit, Project, Thing, fields_of};
use crate::tui::dialog::{Adds, Dialog, Effect, Form, input, text};
use crate::tui::fields::with_unit;
use crate::tui::group::Group;
use crate::tui::pages::Page;
use crate::tui::state::State;
use crate::tui::tree::Item;
use crate::tui::typing::{leaves, said, type_into};
use crate::tui::{accept, tables};
use crate::units::System;

/// A form with what is likely meant already in it.
pub(crate) fn new(state: &State, adds: Adds) -> Form {
    let near = state.item().map_or_else(String::new, |item| match item {
        Item::Thing(Thing::Run(i)) => state.site().end_text(state.site().runs[i].to),
        Item::Thing(Thing::Fuse(_) | Thing::Earth(_)) | Item::Beside | Item::Table(..) => {
            String::new()
        }
        _ => state.name(item),
    });
    let us = state.site().units == System::Us;
    let length = if us { "50 ft" } else { "15 m" };
    let free = |base: &str| free_name(state, base);
    let lines: Vec<(&'static str, String)> = match adds {
        Adds::Device => vec![
            ("name", free("device")),
            ("kind", "other".into()),
            ("draw", "100 mA".into()),
            ("lowest", String::new()),
            ("from", near),
            ("cable", "18/2".into()),
            ("length", length.into()),
        ],
        Adds::Supply => vec![
            ("name", free("supply")),
            ("voltage", "24 V".into()),
            ("current", String::new()),
        ],
        Adds::Junction => vec![
            ("name", free("box")),
            ("from", near),
            ("cable", "18/2".into()),
            ("length", length.into()),
        ],
        Adds::Run => vec![
            ("name", free("W")),
            ("from", near),
            ("to", String::new()),
            ("cable", "18/2".into()),
            ("length", length.into()),
            ("carries", "power".into()),
        ],
        Adds::Fuse => vec![("name", free("F")), ("current", "1 A".into())],
        Adds::Earth => vec![
            ("name", free("rod")),
            ("kind", "rod".into()),
            ("resistance", "25 ohm".into()),
        ],
        Adds::Table(group) => tables::lines(state, group),
        Adds::Acceptance => accept::lines(state),
        Adds::Site => vec![
            ("supply", "24 V, 1 A".into()),
            ("run", format!("18/2, {length}")),
            ("load", "6 W".into()),
        ],
    };
    let lines = lines
        .into_iter()
        .map(|(label, text)| (label, input(&text)))
        .collect();
    let title = match adds {
        Adds::Acceptance => accept::title(state),
        _ => format!("Add: {}", adds.as_str()),
    };
    let mut form = Form {
        adds,
        title,
        lines,
        at: 0,
        error: None,
    };
    form.go(0);
    form
}

/// What the form begins with: another one of what is selected beside the network, else a device.
pub(crate) fn near(state: &State) -> Adds {
    match state.item() {
        _ if state.shows == Page::Readings => Adds::Table(Group::Reading),
        Some(Item::Table(group, _)) if Group::ADDED.contains(&group) => Adds::Table(group),
        Some(Item::Beside | Item::Table(..)) => Adds::Table(Group::ADDED[0]),
        _ => Adds::Device,
    }
}

/// The key that a line of a form stands for.
fn field(adds: Adds, label: &str) -> Option<&'static Field> {
    let of_run = matches!(label, "from" | "to" | "cable" | "length" | "carries");
    let table = match adds {
        Adds::Device if label == "draw" => return Some(&fields::DRAW),
        Adds::Device | Adds::Junction | Adds::Run if of_run => "run",
        Adds::Device => "device",
        Adds::Supply => "supply",
        Adds::Junction => "junction",
        Adds::Run => "run",
        Adds::Fuse => "fuse",
        Adds::Earth => "earth",
        Adds::Table(group) => return fields::find(group.fields(), label),
        Adds::Acceptance => "accepted",
        Adds::Site => return None,
    };
    fields::find(fields_of(table), label)
}

/// What is typed on the line of a label; a bare number takes the unit of its key.
pub(crate) fn typed(state: &State, form: &Form, label: &str) -> String {
    let us = state.site().units == System::Us;
    let text = form.typed(label);
    match field(form.adds, label) {
        Some(field) => with_unit(field.holds, &text, us),
        None => text,
    }
}

/// What the line in use asks for.
pub(crate) fn about(form: &Form) -> String {
    let label = form.lines.get(form.at).map_or("", |(label, _)| *label);
    match (form.adds, label) {
        (Adds::Table(Group::Alternate), "name") => {
            return "a new one, or one that is there: then it gets one more value".to_owned();
        }
        (_, "name") => return "letters, digits, blanks, - and _".to_owned(),
        (Adds::Site, "supply") => return "volts without load, rated amps".to_owned(),
        (Adds::Site, "run") => return "cable, length one way".to_owned(),
        (Adds::Site, _) => return fields::DRAW.help.to_owned(),
        (Adds::Table(Group::Alternate), "key") => {
            return "NAME.key of anything in the file, as W1.cable or hub.draw.idle".to_owned();
        }
        (Adds::Table(Group::Alternate), _) => return "its value there".to_owned(),
        (Adds::Table(Group::Wire), "run") => return "the run that it is a conductor of".to_owned(),
        _ => {}
    }
    let Some(field) = field(form.adds, label) else {
        return String::new();
    };
    match field.holds {
        Holds::Choice(words) | Holds::Choices(words) => {
            format!("{}: {}", field.help, words.join(", "))
        }
        Holds::Flag => format!("{}: true or false", field.help),
        _ => field.help.to_owned(),
    }
}

/// A name that nothing has yet.
fn free_name(state: &State, base: &str) -> String {
    free(base, |name| state.site().names.contains_key(name))
}

/// The first numbered name that is not taken.
pub(crate) fn free(base: &str, taken: impl Fn(&str) -> bool) -> String {
    (1..)
        .map(|n| format!("{base}{n}"))
        .find(|name| !taken(name.as_str()))
        .unwrap_or_default()
}

/// Takes a key of the form.
pub(crate) fn key(state: &mut State, mut form: Box<Form>, key: KeyEvent) -> Effect {
    let last = form.lines.len() - 1;
    match key.code {
        _ if leaves(key) => return Effect::None,
        KeyCode::Up | KeyCode::BackTab => form.go(form.at.saturating_sub(1)),
        KeyCode::Down | KeyCode::Tab => form.go(form.at + 1),
        KeyCode::F(3) if !matches!(form.adds, Adds::Site | Adds::Acceptance) => {
            form = Box::new(new(state, form.adds.next()));
        }
        KeyCode::Enter if form.at < last => form.go(form.at + 1),
        KeyCode::Enter => match add(state, &form) {
            Ok(()) => return Effect::None,
            Err(why) => {
                let empty = form
                    .lines
                    .iter()
                    .position(|(_, area)| text(area).trim().is_empty());
                if let (Adds::Acceptance, Some(line)) = (form.adds, empty) {
                    form.go(line);
                }
                form.error = Some(why);
            }
        },
        _ => {
            let at = form.at;
            type_into(&mut form.lines[at].1, key);
            form.error = None;
        }
    }
    state.dialog = Some(Dialog::Add(form));
    Effect::None
}

fn add(state: &mut State, form: &Form) -> Result<(), String> {
    match form.adds {
        Adds::Site => {
            let [supply, run, load] = ["supply", "run", "load"].map(|label| form.typed(label));
            return new_site(state, &supply, &run, &load);
        }
        Adds::Table(group) => return tables::add(state, group, form),
        Adds::Acceptance => return accept::add(state, form),
        _ => {}
    }
    let typed = |label: &str| typed(state, form, label);
    let name = typed("name");
    if name.is_empty() {
        return Err("it needs a name".into());
    }
    if state.site().names.contains_key(&name) {
        return Err(format!("the name '{name}' is taken"));
    }
    let some = |keys: &[(&str, String)]| -> Vec<(String, String)> {
        keys.iter()
            .filter(|(_, t)| !t.is_empty())
            .map(|(k, t)| ((*k).to_owned(), t.clone()))
            .collect()
    };
    let thing = |kind: &str, keys: &[(&str, String)]| Edit::Add {
        table: vec![kind.into(), name.clone()],
        keys: some(keys),
    };
    let run = |name: String, to: String| Edit::Add {
        table: vec!["run".into(), name],
        keys: some(&[
            ("from", typed("from")),
            ("to", to),
            ("cable", typed("cable")),
            ("length", typed("length")),
            ("carries", typed("carries")),
        ]),
    };
    let own_run = free_name(state, "W");
    let edits = match form.adds {
        Adds::Device => vec![
            thing(
                "device",
                &[
                    ("kind", typed("kind")),
                    ("lowest", typed("lowest")),
                    ("draw.idle", typed("draw")),
                ],
            ),
            run(own_run, name.clone()),
        ],
        Adds::Junction => vec![thing("junction", &[]), run(own_run, name.clone())],
        Adds::Supply => vec![thing(
            "supply",
            &[("voltage", typed("voltage")), ("current", typed("current"))],
        )],
        Adds::Run => vec![run(name.clone(), typed("to"))],
        Adds::Fuse => vec![thing("fuse", &[("current", typed("current"))])],
        Adds::Earth => vec![thing(
            "earth",
            &[("kind", typed("kind")), ("resistance", typed("resistance"))],
        )],
        Adds::Table(_) | Adds::Acceptance | Adds::Site => Vec::new(),
    };
    if state.apply(&edits, &format!("{name} added")) {
        state.restudy();
        let thing = state.site().names.get(&name).copied();
        if let Some(thing) = thing {
            state.select(Item::Thing(thing));
        }
        return Ok(());
    }
    Err(std::mem::take(&mut state.message))
}

/// A site of three lines: supply volts and rating; cable and length; load.
fn new_site(state: &mut State, supply: &str, run: &str, load: &str) -> Result<(), String> {
    let (volts, amps) = supply
        .split_once(',')
        .map_or((supply, ""), |(v, a)| (v.trim(), a.trim()));
    let Some((cable, length)) = run.split_once(',').map(|(c, l)| (c.trim(), l.trim())) else {
        return Err("the run is written as cable, length: 18/2, 180 ft".into());
    };
    let quoted = |text: &str| toml_edit::Value::from(text).to_string();
    let mut text = format!(
        "format = 1\n\n[site]\nname = \"New site\"\nunits = \"us\"\n\n[supply.supply]\nvoltage = {}\n",
        quoted(volts)
    );
    if !amps.is_empty() {
        text += &format!("current = {}\n", quoted(amps));
    }
    text += &format!(
        "\n[device.hub]\nkind = \"hub\"\ndraw = {{ idle = {} }}\n\n[run.W1]\nfrom = \"supply\"\nto = \"hub\"\ncable = {}\nlength = {}\n",
        quoted(load),
        quoted(cable),
        quoted(length)
    );
    match Project::open(&text) {
        Ok(project) => {
            state.project = project;
            state.project.mark_unsaved();
            state.path = None;
            state.restudy();
            state.selected = 0;
            state.message = "a new site; s saves it".into();
            Ok(())
        }
        Err(errors) => Err(errors.first().map_or_else(String::new, said)),
    }
}

/// Lines of the welcome: a new site, then the built-in ones.
pub(crate) fn welcome() -> Vec<String> {
    let demos = demo::ALL
        .iter()
        .map(|d| format!("{:18} {}", d.name, d.shows));
    std::iter::once("new site in three lines".to_owned())
        .chain(demos)
        .collect()
}

/// Takes a key of the welcome.
pub(crate) fn welcome_key(state: &mut State, selected: usize, key: KeyEvent) -> Effect {
    let last = demo::ALL.len();
    let selected = match key.code {
        KeyCode::Up | KeyCode::Char('k') => selected.saturating_sub(1),
        KeyCode::Down | KeyCode::Char('j') => (selected + 1).min(last),
        KeyCode::Char('q') => return Effect::Quit,
        KeyCode::Enter if selected == 0 => {
            state.dialog = Some(Dialog::Add(Box::new(new(state, Adds::Site))));
            return Effect::None;
        }
        KeyCode::Enter => {
            if let Ok(project) = Project::open(demo::ALL[selected - 1].text) {
                *state = State::new(project, None, state.theme);
            }
            return Effect::None;
        }
        _ if leaves(key) => return Effect::None,
        _ => selected,
    };
    state.dialog = Some(Dialog::Welcome { selected });
    Effect::None
}
