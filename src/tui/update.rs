//! What keys do to the state.

use crossterm::event::KeyEvent;

use crate::circuit::Corner;
use crate::practice::cautions;
use crate::site::{Edit, Site};
use crate::study::fixes;
use crate::tui::beside;
use crate::tui::dialog::{Dialog, Effect, input, text};
use crate::tui::group::Group;
use crate::tui::keys::{self, Action};
use crate::tui::pages::{self, Page};
use crate::tui::state::{Panel, Pin, State};
use crate::tui::tree::Item;
use crate::tui::{answers, form, remove, typing, work};

impl State {
    /// Takes one key.
    pub fn key(&mut self, key: KeyEvent) -> Effect {
        self.message.clear();
        if self.dialog.is_some() {
            return self.dialog_key(key);
        }
        self.leaving = false;
        let Some(action) = keys::action(key) else {
            return Effect::None;
        };
        self.before.clear();
        self.act(action)
    }

    /// Does what a key of the main screen asks for.
    pub fn act(&mut self, action: Action) -> Effect {
        let page = isize::try_from(self.page.max(1)).unwrap_or(1);
        match action {
            Action::Up => self.step(-1),
            Action::Down => self.step(1),
            Action::PageUp => self.step(-page),
            Action::PageDown => self.step(page),
            Action::First => self.step(isize::MIN / 2),
            Action::Last => self.step(isize::MAX / 2),
            Action::NextPanel => self.turn(true),
            Action::PreviousPanel => self.turn(false),
            Action::Open => self.open(),
            Action::Add => {
                self.dialog = Some(Dialog::Add(Box::new(form::new(self, form::near(self)))));
            }
            Action::Delete => self.start_deleting(),
            Action::Thinner => self.gauge(-1),
            Action::Thicker => self.gauge(1),
            Action::NextCase => self.turn_case(1),
            Action::PreviousCase => self.turn_case(self.study.results.cases.len() - 1),
            Action::NextCorner => self.turn_corner(1),
            Action::PreviousCorner => self.turn_corner(3),
            Action::Undo => self.undo(),
            Action::Redo => self.redo(),
            Action::Pin => self.pin(),
            Action::Unpin => self.pin = None,
            Action::Work => self.read("The work", work::lines(self)),
            Action::Fixes => self.show_fixes(),
            Action::Find => self.dialog = Some(Dialog::Find(Box::new(input("")))),
            Action::FindNext => self.find_next(),
            Action::Save => return Effect::Save(false),
            Action::SaveAs => self.ask_name(),
            Action::Size => self.start_sizing(),
            Action::TakeSizes => self.take_sizes(),
            Action::Answer => self.start_answers(),
            Action::Accept => self.start_accepting(),
            Action::Withdraw => self.withdraw(),
            Action::Cautions => self.read("Cautions", told(self.site())),
            Action::Help => self.read("Keys", help()),
            Action::Redraw => return Effect::Redraw,
            Action::Show(page) => self.show(page),
            Action::Back if self.stop_sizing() || self.stop_designs() => {}
            Action::Back if self.shows != Page::Network => self.show(Page::Network),
            Action::Back => self.panel = Panel::Network,
            Action::Quit if self.project.is_unsaved() => self.dialog = Some(Dialog::Quit),
            Action::Quit => return Effect::Quit,
        }
        Effect::None
    }

    /// Moves the selection of the panel in use.
    pub(crate) fn step(&mut self, by: isize) {
        if self.shows != Page::Network {
            return self.step_row(by);
        }
        let count = match self.panel {
            Panel::Network => self.lines.len(),
            Panel::Values => self.values().len(),
            Panel::Findings => self.study.findings.len(),
        };
        let at = match self.panel {
            Panel::Network => &mut self.selected,
            Panel::Values => &mut self.value,
            Panel::Findings => &mut self.finding,
        };
        *at = at.saturating_add_signed(by).min(count.saturating_sub(1));
        match self.panel {
            Panel::Network => self.value = 0,
            Panel::Findings => self.follow_finding(),
            Panel::Values => {}
        }
    }

    /// Moves the selection of a page that is a table.
    fn step_row(&mut self, by: isize) {
        if self.shows == Page::Sizes {
            let count = self.open_runs().len();
            let at = self.sizes.selected.saturating_add_signed(by);
            self.sizes.selected = at.min(count.saturating_sub(1));
            return self.climb();
        }
        self.below = 0;
        let rows = pages::table(self).rows;
        let count = rows.len();
        self.row = self
            .row
            .saturating_add_signed(by)
            .min(count.saturating_sub(1));
        let thing = rows.get(self.row).and_then(|row| row.thing);
        let reading = rows.get(self.row).and_then(|row| row.reading);
        if let Some(i) = reading {
            self.select(Item::Table(Group::Reading, i));
        } else if self.shows == Page::Findings {
            self.finding = self.row;
            self.follow_finding();
        } else if let Some(thing) = thing {
            self.select(Item::Thing(thing));
        }
    }

    /// Selects what the selected finding is about, in its case and corner.
    fn follow_finding(&mut self) {
        let Some(judged) = self.study.findings.get(self.finding) else {
            return;
        };
        let (thing, case, corner) = (
            judged.finding.thing,
            judged.finding.case,
            judged.finding.corner,
        );
        let named = || beside::named(self.site(), judged.finding.code, &judged.finding.subject);
        let item = match thing {
            Some(thing) => Some(Item::Thing(thing)),
            None => named().map(|(group, i)| Item::Table(group, i)),
        };
        if let Some(item) = item {
            self.select(item);
            self.value = 0;
        }
        self.case = case.unwrap_or(self.case);
        self.corner = corner.unwrap_or(self.corner);
    }

    fn turn(&mut self, forward: bool) {
        if self.shows != Page::Network {
            self.below = if forward {
                self.below + 1
            } else {
                self.below.saturating_sub(1)
            };
            return;
        }
        self.panel = match (self.panel, forward) {
            (Panel::Network, true) | (Panel::Findings, false) => Panel::Values,
            (Panel::Values, true) | (Panel::Network, false) => Panel::Findings,
            (Panel::Findings, true) | (Panel::Values, false) => Panel::Network,
        };
        if self.panel == Panel::Findings {
            self.follow_finding();
        }
    }

    fn open(&mut self) {
        if self.shows != Page::Network {
            return pages::open(self);
        }
        match self.panel {
            Panel::Network if self.item() == Some(Item::Beside) => self.turn_beside(),
            Panel::Network => self.panel = Panel::Values,
            Panel::Values => self.dialog = typing::start(self),
            Panel::Findings => self.show_fixes(),
        }
    }

    fn turn_case(&mut self, by: usize) {
        self.remember();
        let count = self.study.results.cases.len().max(1);
        self.case = (self.case + by) % count;
        self.message = format!("case {}", self.place());
    }

    fn turn_corner(&mut self, by: usize) {
        self.remember();
        let at = Corner::ALL
            .iter()
            .position(|c| *c == self.corner)
            .unwrap_or(0);
        self.corner = Corner::ALL[(at + by) % 4];
        self.message = format!("case {}", self.place());
    }

    fn undo(&mut self) {
        self.remember();
        self.message = match self.project.undo() {
            Some(what) => format!("taken back: {what}"),
            None => "nothing to take back".into(),
        };
        self.changed();
    }

    fn redo(&mut self) {
        self.remember();
        self.message = match self.project.redo() {
            Some(what) => format!("done again: {what}"),
            None => "nothing to do again".into(),
        };
        self.changed();
    }

    pub(crate) fn pin(&mut self) {
        self.pin = Some(Pin {
            site: self.site().clone(),
            study: self.study.clone(),
        });
        self.message =
            "this design is pinned: numbers now show their change; P takes the pin out".into();
    }

    /// Applies edits as one step and says so, or says why not.
    pub(crate) fn apply(&mut self, edits: &[Edit], what: &str) -> bool {
        self.remember();
        match self.project.apply_all(edits, what.to_owned()) {
            Ok(()) => {
                self.message = format!("{what}; u takes it back");
                self.changed();
                true
            }
            Err(errors) => {
                self.message = errors.first().map_or_else(String::new, typing::said);
                false
            }
        }
    }

    fn start_deleting(&mut self) {
        if self.shows == Page::Readings && !pages::is_reading(self) {
            self.message = "readings alone are deleted here".into();
            return;
        }
        self.dialog = remove::dialog(self);
        if self.dialog.is_none() {
            self.message = "this line cannot be deleted; its values can be emptied".into();
        }
    }

    fn start_answers(&mut self) {
        self.dialog = answers::start(self);
        if self.dialog.is_none() {
            self.message = "no question is open".into();
        }
    }

    pub(crate) fn show_fixes(&mut self) {
        let Some(judged) = self.study.findings.get(self.finding) else {
            self.message = "no findings".into();
            return;
        };
        let finding = judged.finding.clone();
        let found = fixes(self.project.site(), &self.study, &finding, &mut self.solver);
        if found.is_empty() {
            self.message = format!(
                "no change of cable, count or rating cures this: {}",
                finding.message()
            );
        } else {
            self.dialog = Some(Dialog::Fixes {
                title: finding.message().into_owned(),
                fixes: found,
                selected: 0,
            });
        }
    }

    pub(crate) fn find_next(&mut self) {
        let sought = self.sought.to_lowercase();
        if sought.is_empty() {
            return;
        }
        let count = self.lines.len();
        let there = |item| self.name(item).to_lowercase().contains(&sought);
        let found = (1..=count)
            .map(|k| (self.selected + k) % count)
            .find(|i| there(self.lines[*i].item));
        // What is closed is opened for what is found in it.
        let beside = Group::ALL.iter().flat_map(|group| {
            let tables = 0..group.count(self.site());
            tables.map(|i| Item::Table(*group, i))
        });
        if let (None, Some(item)) = (found, beside.into_iter().find(|item| there(*item))) {
            self.select(item);
            (self.value, self.panel) = (0, Panel::Network);
            return;
        }
        match found {
            Some(i) => (self.selected, self.value, self.panel) = (i, 0, Panel::Network),
            None => self.message = format!("no name contains '{sought}'"),
        }
    }

    pub(crate) fn ask_name(&mut self) {
        let name = self
            .path
            .as_ref()
            .map_or_else(|| "site.toml".into(), |p| p.display().to_string());
        self.dialog = Some(Dialog::SaveAs(Box::new(input(&name))));
    }

    fn read(&mut self, title: &'static str, lines: Vec<String>) {
        self.dialog = Some(Dialog::Read {
            title,
            lines,
            top: 0,
        });
    }

    /// Takes the name typed for the file.
    pub(crate) fn take_name(&mut self, area: &ratatui_textarea::TextArea<'_>) -> Effect {
        let name = text(area).trim().to_owned();
        if name.is_empty() {
            self.message = "not saved: no name".into();
            return Effect::None;
        }
        let path = std::path::PathBuf::from(name);
        let other = self.path.as_ref() != Some(&path);
        self.path = Some(path);
        if other {
            // Nothing is known of a file of another name: never overwrite it unasked.
            self.project.mark_unsaved();
        }
        Effect::Save(false)
    }
}

/// The cautions that the site earns, in full.
fn told(site: &Site) -> Vec<String> {
    cautions(site).into_iter().map(|c| c.words).collect()
}

fn help() -> Vec<String> {
    keys::help()
        .map(|(label, text)| format!("{label:>9}  {text}"))
        .collect()
}
