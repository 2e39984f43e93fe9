//! A site as tables of rows: what the text form, CSV and the workbook have in common.

use crate::alternates::Alternate;
use crate::circuit::Corner;
use crate::diagnostic::{Severity, clean};
use crate::report::counted::sheets_of_bid;
use crate::report::record;
use crate::site::Site;
use crate::study::Study;
use crate::takeoff::TakeOff;
use crate::units::{Measure, fixed};

/// One field of a table.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing is known.
    Empty,
    /// Words.
    Text(String),
    /// A number, and how many decimals people see.
    Number(f64, usize),
    /// Two other columns of the row multiplied: their indices, the value, and its decimals; no
    /// value where the second of them has no price yet.
    Product([usize; 2], Option<f64>, usize),
    /// The rows above of another column added up: its index, the value, and its decimals.
    Above(usize, f64, usize),
}

/// One table.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Its name.
    pub name: &'static str,
    /// Heads of the columns, with units.
    pub head: Vec<String>,
    /// Rows.
    pub rows: Vec<Vec<Cell>>,
    /// Columns that are added up at the end.
    pub summed: Vec<usize>,
    /// What a reader should know beside the numbers.
    pub remarks: Vec<String>,
}

impl Cell {
    /// The number in it and its decimals, where it holds one.
    pub(super) fn number(&self) -> Option<(f64, usize)> {
        match *self {
            Self::Number(value, digits)
            | Self::Product(_, Some(value), digits)
            | Self::Above(_, value, digits) => Some((value, digits)),
            Self::Empty | Self::Text(_) | Self::Product(_, None, _) => None,
        }
    }

    /// As people read it.
    pub fn shown(&self) -> String {
        match self {
            Self::Text(words) => words.clone(),
            Self::Product(_, None, _) => UNPRICED.to_owned(),
            _ => self
                .number()
                .map_or_else(|| "-".to_owned(), |(value, digits)| fixed(value, digits)),
        }
    }
}

impl Sheet {
    /// The row of totals as people read it, where something is added up.
    pub fn totals(&self) -> Option<Vec<String>> {
        if self.summed.is_empty() {
            return None;
        }
        let mut row = vec![String::new(); self.head.len()];
        "total".clone_into(&mut row[0]);
        for column in &self.summed {
            let values = self.rows.iter().filter_map(|row| row[*column].number());
            let sum = values.reduce(|a, b| (a.0 + b.0, a.1.max(b.1)));
            row[*column] = sum.map_or_else(|| "-".to_owned(), |(sum, digits)| fixed(sum, digits));
        }
        Some(row)
    }
}

/// What stands where a price is missing.
pub(super) const UNPRICED: &str = "not priced";

/// Names of the tables, in order.
pub const SHEETS: [&str; 8] = [
    "take-off",
    "cuts",
    "spools",
    "wires",
    "volts",
    "alternates",
    "findings",
    "cautions",
];

/// Every table of a site.
pub fn sheets(
    site: &Site,
    study: &Study,
    takeoff: &TakeOff,
    alternates: &[Alternate],
) -> Vec<Sheet> {
    let mut all = sheets_of_bid(site, takeoff);
    all.push(volts(site, study));
    all.push(designs(site, alternates));
    all.push(record::findings(site, study));
    all.push(record::warnings(site));
    all
}

pub(super) fn text(words: impl AsRef<str>) -> Cell {
    let words = words.as_ref();
    if words.is_empty() {
        Cell::Empty
    } else {
        Cell::Text(clean(words))
    }
}

pub(super) fn number(value: Option<f64>, decimals: usize) -> Cell {
    value.map_or(Cell::Empty, |value| Cell::Number(value, decimals))
}

pub(super) fn head(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

pub(super) fn money(site: &Site, what: &str) -> String {
    match clean(&site.currency).as_str() {
        "" => what.to_owned(),
        currency => format!("{what}, {currency}"),
    }
}

/// The least volts of every device over all cases in the corner low.
fn volts(site: &Site, study: &Study) -> Sheet {
    let results = &study.results;
    let rows = site.devices.iter().enumerate().map(|(i, device)| {
        // Where no supply reaches a device it has no volts to judge.
        let rows = results
            .rows
            .iter()
            .filter(|r| r.corner == Corner::Low && results.live[r.case].devices[i]);
        let worst = rows
            .filter_map(|row| Some((results.device(row, i)?.volts.base(), row)))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let lowest = device.lowest.map(Measure::base);
        vec![
            text(&device.name),
            number(worst.map(|w| w.0), 2),
            number(lowest, 2),
            number(worst.and_then(|w| Some(w.0 - lowest?)), 2),
            text(worst.map_or("", |w| results.cases[w.1.case].name.as_str())),
        ]
    });
    Sheet {
        name: SHEETS[4],
        head: head(&[
            "device",
            "least volts, V",
            "lowest, V",
            "margin, V",
            "in case",
        ]),
        rows: rows.collect(),
        summed: Vec::new(),
        remarks: vec![
            "solved for least volts: supplies low, conductors hot, draws high".to_owned(),
        ],
    }
}

/// The designs beside one another: what passes first, cheapest first.
fn designs(site: &Site, alternates: &[Alternate]) -> Sheet {
    let rows = alternates.iter().map(|a| {
        let outcome = a.outcome.as_ref();
        let verdict = match outcome {
            Ok(o) => o.verdict.map_or("pass", Severity::as_str).to_owned(),
            Err(why) => format!("cannot be drawn: {why}"),
        };
        let (o, caution) = (outcome.ok(), a.caution.unwrap_or_default());
        vec![
            text(&a.name),
            text(verdict),
            number(o.map(|o| o.cost), 2),
            number(o.and_then(|o| o.margin).map(|m| m.value * 100.0), 1),
            text(if o.is_some_and(|o| o.on_front && o.cost > 0.0) {
                "yes"
            } else {
                ""
            }),
            text(&a.why),
            text(o.map_or_else(String::new, |o| o.cables.in_short())),
            text(o.map(|o| o.unpriced.join(", ")).unwrap_or_default()),
            text(caution),
        ]
    });
    let mut remarks = vec![
        "cost is that of the priced lines; margin is the least volts over lowest, as a share"
            .to_owned(),
        "cables are the cheapest by length; whole spools are in the cost".to_owned(),
    ];
    let passing = |a: &&Alternate| a.outcome.as_ref().is_ok_and(|o| o.passes());
    let mut passing = alternates.iter().filter(passing);
    if passing.clone().next().is_none() {
        remarks.push("no design here passes".to_owned());
    } else if passing.all(|a| a.outcome.as_ref().is_ok_and(|o| o.asks > 0)) {
        remarks.push("every design that passes has open questions: answer them first".to_owned());
    }
    Sheet {
        name: SHEETS[5],
        head: vec![
            "design".to_owned(),
            "verdict".to_owned(),
            money(site, "cost"),
            "margin, %".to_owned(),
            "best of its cost".to_owned(),
            "what it is".to_owned(),
            "cables".to_owned(),
            "not priced".to_owned(),
            "caution".to_owned(),
        ],
        rows: rows.collect(),
        summed: Vec::new(),
        remarks,
    }
}
