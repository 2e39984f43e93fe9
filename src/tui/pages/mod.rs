//! The pages beside the network: each a table made from the state, drawn and walked alike.

mod budget;
mod data;
mod designs;
mod findings;
mod readings;
mod takeoff;

use crate::diagnostic::Severity;
use crate::site::Thing;
use crate::tui::state::State;

/// What fills the screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Page {
    /// The network, the values, the curve and the findings.
    #[default]
    Network,
    /// Who gives how many amps, of how many.
    Budget,
    /// Signals, ground paths and earths.
    Data,
    /// The cables that each run may have, and the cheapest that pass.
    Sizes,
    /// What it takes to build the site.
    TakeOff,
    /// What a meter read, and what follows from it.
    Readings,
    /// Every finding in full.
    Findings,
    /// Other designs of the site.
    Alternates,
}

impl Page {
    /// The pages with their keys and names.
    pub const ALL: [(Self, char, &'static str); 8] = [
        (Self::Network, '1', "Network"),
        (Self::Budget, '2', "Budget"),
        (Self::Data, '3', "Data & grounds"),
        (Self::Sizes, '4', "Sizes"),
        (Self::TakeOff, '5', "Take-off"),
        (Self::Readings, '6', "Readings"),
        (Self::Findings, '7', "Findings"),
        (Self::Alternates, '9', "Alternates"),
    ];

    /// Its key and name.
    pub fn label(self) -> (char, &'static str) {
        let found = Self::ALL.iter().find(|(page, ..)| *page == self);
        found.map_or(('1', ""), |(_, key, name)| (*key, name))
    }
}

/// A page as a table.
#[derive(Debug, Default)]
pub(super) struct Table {
    /// Heads of the columns; a head that starts with `>` stands over numbers.
    pub(super) head: &'static [&'static str],
    /// Rows.
    pub(super) rows: Vec<Row>,
    /// What to know of the selected row, or of the whole page.
    pub(super) detail: Vec<String>,
    /// What Enter does here.
    pub(super) enter: &'static str,
}

/// One row of a page.
#[derive(Debug, Default)]
pub(super) struct Row {
    /// Its fields.
    pub(super) cells: Vec<String>,
    /// How grave it is.
    pub(super) severity: Option<Severity>,
    /// What it is about.
    pub(super) thing: Option<Thing>,
    /// The reading that it shows.
    pub(super) reading: Option<usize>,
    /// A heading: no row to select.
    pub(super) is_head: bool,
}

impl Row {
    fn head(words: &str) -> Self {
        Self {
            cells: vec![words.to_owned()],
            is_head: true,
            ..Self::default()
        }
    }
}

/// The table of the page shown; nothing on the network's own page.
pub(super) fn table(state: &State) -> Table {
    match state.shows {
        Page::Network | Page::Sizes => Table::default(),
        Page::Budget => budget::table(state),
        Page::Data => data::table(state),
        Page::TakeOff => takeoff::table(state),
        Page::Readings => readings::table(state),
        Page::Findings => findings::table(state),
        Page::Alternates => designs::table(state),
    }
}

/// Whether the selected row shows a reading.
pub(super) fn is_reading(state: &State) -> bool {
    let row = table(state).rows.into_iter().nth(state.row);
    row.is_some_and(|row| row.reading.is_some())
}

/// What Enter does on a page: the selected row's thing on the network, unless the page has better.
pub(super) fn open(state: &mut State) {
    match state.shows {
        Page::Findings => state.show_fixes(),
        Page::Alternates => designs::open(state),
        Page::Readings => readings::open(state),
        Page::Network | Page::Sizes | Page::Budget | Page::Data | Page::TakeOff => {
            let row = table(state).rows.into_iter().nth(state.row);
            if let Some(thing) = row.and_then(|row| row.thing) {
                state.show(Page::Network);
                state.select(crate::tui::tree::Item::Thing(thing));
            }
        }
    }
}
