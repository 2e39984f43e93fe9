//! What the screen shows: the project, its study, and where the person is in it.

use std::collections::HashMap;
use std::mem::discriminant;
use std::path::PathBuf;

use crate::checks::{OPEN, Overview, overview};
use crate::circuit::Corner;
use crate::diagnostic::Severity;
use crate::practice::{Warned, cautions};
use crate::report;
use crate::results::Row;
use crate::site::{Project, Site, Thing, Touched};
use crate::solve::Solver;
use crate::states::{AllStates, Reach};
use crate::study::{Judged, Study};
use crate::tui::designs::Designs;
use crate::tui::dialog::Dialog;
use crate::tui::fields::{self, Value};
use crate::tui::group::Group;
use crate::tui::numbers::{self, Numbers};
use crate::tui::pages::Page;
use crate::tui::sizes::Sizes;
use crate::tui::theme::Theme;
use crate::tui::tree::{self, Item, Line};

/// The panel that keys go to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Panel {
    /// The tree of the network.
    Network,
    /// The values of the selected thing.
    Values,
    /// The findings.
    Findings,
}

/// A design to compare with.
#[derive(Debug)]
pub struct Pin {
    /// The site as it was.
    pub site: Site,
    /// What was known of it.
    pub study: Study,
}

/// Everything that the screen shows; nothing of it is the terminal's.
#[derive(Debug)]
pub struct State {
    /// The document, the site and their history.
    pub project: Project,
    /// Its file, once it has one.
    pub path: Option<PathBuf>,
    /// What is known of the site.
    pub study: Study,
    /// The study is older than the site.
    pub stale: bool,
    /// Lines of the network.
    pub lines: Vec<Line>,
    /// What stands beside the network is open.
    pub open: bool,
    /// Selected line.
    pub selected: usize,
    /// The page shown.
    pub shows: Page,
    /// Selected row of the page shown, where it is not the network.
    pub row: usize,
    /// So many boxfuls of what stands below that row are scrolled by.
    pub below: usize,
    /// Other designs, tried when their page is shown.
    pub designs: Designs,
    /// Signals and ground paths, looked at when their page is shown.
    pub overview: Overview,
    /// The page of sizes.
    pub sizes: Sizes,
    /// Panel in use.
    pub panel: Panel,
    /// Selected value of the selected thing.
    pub value: usize,
    /// Selected finding.
    pub finding: usize,
    /// Index of the case shown.
    pub case: usize,
    /// Corner shown.
    pub corner: Corner,
    /// The pinned design.
    pub pin: Option<Pin>,
    /// Numbers before the last key, by line: what differs is marked.
    pub before: HashMap<Item, Numbers>,
    /// What lies over the screen.
    pub dialog: Option<Dialog>,
    /// What just happened, in a few words.
    pub message: String,
    /// Last text looked for.
    pub sought: String,
    /// The day, as year-month-day, where somebody set it: prefilled where a day is asked for.
    pub today: String,
    /// Leaves as soon as the site is saved.
    pub leaving: bool,
    /// How things look.
    pub theme: Theme,
    /// Rows of the network that the last drawing had room for.
    pub page: usize,
    /// Gravest severity by subject, where that is more than a note.
    pub grave: HashMap<String, Severity>,
    /// The cautions that the site earns.
    pub cautions: Vec<Warned>,
    /// How many things of each kind the study knows.
    studied: Vec<usize>,
    /// Counts the studies: what was found for an older one is thrown away.
    pub(crate) generation: u64,
    pub(crate) solver: Solver,
}

impl State {
    /// Opens the screen on a project.
    pub fn new(project: Project, path: Option<PathBuf>, theme: Theme) -> Self {
        let mut solver = Solver::new();
        let study = Study::of(project.site(), &mut solver);
        let lines = tree::lines(project.site(), &study.results.ways, false);
        let studied = counts(project.site());
        let mut state = Self {
            project,
            path,
            study,
            stale: false,
            lines,
            open: false,
            selected: 0,
            shows: Page::Network,
            row: 0,
            below: 0,
            designs: Designs::default(),
            overview: Overview::default(),
            sizes: Sizes::default(),
            panel: Panel::Network,
            value: 0,
            finding: 0,
            case: 0,
            corner: Corner::Low,
            pin: None,
            before: HashMap::new(),
            dialog: None,
            message: String::new(),
            sought: String::new(),
            today: String::new(),
            leaving: false,
            theme,
            page: 10,
            grave: HashMap::new(),
            cautions: Vec::new(),
            studied,
            generation: 0,
            solver,
        };
        state.note_grave();
        state.cautions = cautions(state.project.site());
        // The case of the gravest finding is what a person asks for first.
        state.case = state
            .study
            .findings
            .first()
            .and_then(|j| j.finding.case)
            .unwrap_or(0);
        state
    }

    /// The site as it stands.
    pub fn site(&self) -> &Site {
        self.project.site()
    }

    /// Notes that the site has changed.
    ///
    /// The study may lag behind values, never behind things that came or went: lines and
    /// results point at them.
    pub(crate) fn changed(&mut self) {
        self.stale = true;
        if counts(self.site()) != self.studied {
            self.restudy();
        }
    }

    /// Solves and judges the site again.
    pub fn restudy(&mut self) {
        let place = self.item();
        let case = self
            .study
            .results
            .cases
            .get(self.case)
            .map(|c| c.name.clone());
        let touched = self.project.take_touched();
        self.study
            .follow(self.project.site(), &touched, &mut self.solver);
        self.stale = false;
        self.generation += 1;
        self.studied = counts(self.project.site());
        // Values move no line.
        if touched == Touched::Anything {
            self.lay_lines();
        }
        self.case = case
            .and_then(|name| self.study.results.cases.iter().position(|c| c.name == name))
            .unwrap_or(0);
        if let Some(item) = place {
            self.select(item);
        }
        self.selected = self.selected.min(self.lines.len().saturating_sub(1));
        self.finding = self
            .finding
            .min(self.study.findings.len().saturating_sub(1));
        self.note_grave();
        self.cautions = cautions(self.project.site());
        self.draw_designs();
        self.climb();
    }

    /// Lays the lines out anew.
    fn lay_lines(&mut self) {
        self.lines = tree::lines(self.project.site(), &self.study.results.ways, self.open);
    }

    /// Opens or closes what stands beside the network.
    pub(crate) fn turn_beside(&mut self) {
        self.open = !self.open;
        self.lay_lines();
        self.select(Item::Beside);
    }

    /// Searches all states here and now.
    pub fn search(&mut self) {
        if self.study.states.is_none() {
            let all = AllStates::of(self.project.site(), Reach::Screen, &mut self.solver);
            self.found(all);
        }
    }

    /// Takes the worst over all states, once it is found.
    pub(crate) fn found(&mut self, all: AllStates) {
        let chosen = self
            .study
            .findings
            .get(self.finding)
            .map(|j| j.finding.clone());
        self.study.take_states(self.project.site(), all);
        // The selected finding stays selected.
        let place = chosen.and_then(|f| self.study.findings.iter().position(|j| j.finding == f));
        self.finding = place.unwrap_or(self.finding);
        self.note_grave();
    }

    fn note_grave(&mut self) {
        self.grave.clear();
        // Notes, and what no number answers, leave no mark on the numbers of their thing.
        let marks = |j: &&Judged| {
            j.counts() && j.finding.severity != Severity::Note && j.finding.code != OPEN.code
        };
        for judged in self.study.findings.iter().filter(marks) {
            let severity = judged.finding.severity;
            let held = self
                .grave
                .entry(judged.finding.subject.clone())
                .or_insert(severity);
            *held = severity.min(*held);
        }
    }

    /// Remembers the numbers as they stand, so that those which change can be marked.
    pub fn remember(&mut self) {
        let from = self.selected.saturating_sub(self.page);
        let to = (self.selected + self.page).min(self.lines.len());
        let seen: Vec<Item> = self.lines[from.min(to)..to]
            .iter()
            .map(|l| l.item)
            .collect();
        self.before = seen
            .into_iter()
            .map(|item| (item, self.numbers(item)))
            .collect();
    }

    /// What the selected line is about.
    pub fn item(&self) -> Option<Item> {
        self.lines.get(self.selected).map(|l| l.item)
    }

    /// The thing of the selected line; an output's is its supply.
    pub fn thing(&self) -> Option<Thing> {
        Some(match self.item()? {
            Item::Thing(thing) => thing,
            Item::Output(supply, _) => Thing::Supply(supply),
            Item::Beside | Item::Table(..) => return None,
        })
    }

    /// Selects the line of an item; what stands beside the network is opened for it.
    pub fn select(&mut self, item: Item) {
        if matches!(item, Item::Table(..)) && !self.open {
            self.turn_beside();
        }
        if let Some(i) = self.lines.iter().position(|l| l.item == item) {
            self.selected = i;
        }
    }

    /// The values of the selected thing.
    pub fn values(&self) -> Vec<Value> {
        self.item()
            .map_or_else(Vec::new, |item| fields::values(&self.project, item))
    }

    /// Shows a page.
    pub(crate) fn show(&mut self, page: Page) {
        (self.shows, self.row, self.panel) = (page, 0, Panel::Network);
        self.below = 0;
        match page {
            Page::Findings => self.row = self.finding,
            Page::Alternates => self.designs.forget_ended(),
            _ => {}
        }
        self.draw_designs();
        self.climb();
    }

    /// Tries the other designs, and looks at signals and grounds, where they are to be seen.
    fn draw_designs(&mut self) {
        self.start_designs();
        self.overview = if self.shows == Page::Data {
            overview(self.project.site(), &self.study.results)
        } else {
            Overview::default()
        };
    }

    /// The row of the case and corner shown.
    pub fn row(&self) -> Option<&Row> {
        self.study.results.row(self.case, self.corner)
    }

    /// The numbers of an item in the case and corner shown.
    pub fn numbers(&self, item: Item) -> Numbers {
        numbers::of(self.site(), &self.study, self.row(), item)
    }

    /// Case and corner in words.
    pub fn place(&self) -> String {
        report::place(&self.study, Some(self.case), Some(self.corner))
    }

    /// The pinned design's row of the case and corner shown, by name.
    pub fn pin_row(&self) -> Option<&Row> {
        let pinned = &self.pin.as_ref()?.study.results;
        let name = &self.study.results.cases.get(self.case)?.name;
        let case = pinned.cases.iter().position(|c| c.name == *name)?;
        pinned.row(case, self.corner)
    }

    /// The item of the pinned design that has the kind and name of one of this design.
    pub fn in_pin(&self, item: Item) -> Option<Item> {
        let pinned = &self.pin.as_ref()?.site;
        let same = |thing| {
            let there = *pinned.names.get(self.site().name_of(thing))?;
            (discriminant(&there) == discriminant(&thing)).then_some(there)
        };
        match item {
            Item::Thing(thing) => same(thing).map(Item::Thing),
            Item::Output(s, o) => {
                let Thing::Supply(there) = same(Thing::Supply(s))? else {
                    return None;
                };
                let name = &self.site().supplies[s].outputs[o].name;
                let outputs = &pinned.supplies[there].outputs;
                let output = outputs.iter().position(|x| x.name == *name)?;
                Some(Item::Output(there, output))
            }
            Item::Beside => Some(item),
            Item::Table(group, i) => {
                let there = group.find(pinned, &group.name(self.site(), i))?;
                Some(Item::Table(group, there))
            }
        }
    }

    /// Name of an item, as references spell it.
    pub fn name(&self, item: Item) -> String {
        let site = self.site();
        match item {
            Item::Thing(thing) => site.name_of(thing).to_owned(),
            Item::Output(s, o) => format!(
                "{}.{}",
                site.supplies[s].name, site.supplies[s].outputs[o].name
            ),
            Item::Beside => "beside the network".to_owned(),
            Item::Table(group, i) => group.name(site, i),
        }
    }
}

/// How many things of each kind a site has, and tables beside them, and outputs of each supply.
fn counts(site: &Site) -> Vec<usize> {
    let beside = Group::ALL.iter().map(|group| group.count(site));
    let outputs = site.supplies.iter().map(|s| s.outputs.len());
    site.counts()
        .into_iter()
        .chain(beside)
        .chain(outputs)
        .collect()
}
