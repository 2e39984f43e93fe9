//! The lines of the bill and what they come to.

use std::collections::BTreeMap;

use super::{CableLine, WireRow};
use crate::site::{Item, Site};
use crate::units::{Length, Measure, PriceEach, System, Time, spell};

/// One line of the bill.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What it is.
    pub item: String,
    /// Where it goes, as entered.
    pub place: Option<String>,
    /// How much or how many, in `unit`.
    pub count: f64,
    /// ft, m or each.
    pub unit: &'static str,
    /// Money for one unit; silent: not priced.
    pub price: Option<f64>,
    /// Hours of work on one unit; silent: not stated.
    pub hours: Option<f64>,
    /// How the count comes about, in words.
    pub why: String,
}

impl Line {
    /// Money for the whole line, where it is priced.
    pub fn cost(&self) -> Option<f64> {
        Some(self.price? * self.count)
    }

    /// Hours of the whole line, where they are stated.
    pub fn work(&self) -> Option<f64> {
        Some(self.hours? * self.count)
    }
}

/// What the priced lines come to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Total {
    /// Money for material, of the priced lines alone.
    pub material: f64,
    /// Hours, of the lines that state them.
    pub hours: f64,
    /// Money for work: hours x rate, where a rate is given.
    pub labour: Option<f64>,
    /// Items without a price.
    pub unpriced: Vec<String>,
}

impl Total {
    pub(super) fn of(site: &Site, lines: &[Line]) -> Self {
        let hours = lines.iter().filter_map(Line::work).sum::<f64>() + 0.0;
        let hour = Time::from_base(3600.0);
        let rate = site.bid.rate.map(|rate| rate.of(hour));
        Self {
            material: lines.iter().filter_map(Line::cost).sum::<f64>() + 0.0,
            hours,
            labour: rate.filter(|_| hours > 0.0).map(|rate| rate * hours),
            unpriced: lines
                .iter()
                .filter(|line| line.price.is_none() && line.count > 0.0)
                .map(|line| line.item.clone())
                .collect(),
        }
    }

    /// Material and labour together.
    pub fn money(&self) -> f64 {
        self.material + self.labour.unwrap_or(0.0)
    }
}

/// Every line: cable by type, what the schedule counts, fuses, and the items as entered.
pub(super) fn lines(site: &Site, cables: &[CableLine], wires: &[WireRow]) -> Vec<Line> {
    let mut lines: Vec<Line> = cables.iter().map(|c| cable(site, c)).collect();
    lines.extend(counted(site, wires));
    lines.extend(super::fitted::lines(site));
    for line in &mut lines {
        let entered = site.bid.items.iter();
        if let Some(item) = entered
            .rev()
            .find(|i| i.count.is_none() && i.item == line.item)
        {
            line.price = item.price.map(PriceEach::base).or(line.price);
            line.hours = item.hours.map(in_hours).or(line.hours);
            line.place = item.place.clone();
        }
    }
    lines.extend(site.bid.items.iter().filter_map(entered));
    lines
}

fn in_hours(time: Time) -> f64 {
    time.base() / 3600.0
}

fn entered(item: &Item) -> Option<Line> {
    Some(Line {
        item: item.item.clone(),
        place: item.place.clone(),
        count: f64::from(item.count?),
        unit: "each",
        price: item.price.map(PriceEach::base),
        hours: item.hours.map(in_hours),
        why: "as entered".to_owned(),
    })
}

fn cable(site: &Site, line: &CableLine) -> Line {
    let cable = &site.cables[line.cable.0];
    let (unit, metres) = match site.units {
        System::Us => ("ft", 0.3048),
        System::Si => ("m", 1.0),
    };
    let one = Length::from_base(metres);
    let shown = |length: Length| format!("{} {unit}", rounded(length.base() / metres));
    let why = match &line.packing {
        Some(packing) => {
            let spools: Vec<String> = packing.spools.iter().map(|s| shown(s.length)).collect();
            format!(
                "{} needed; spools {}",
                shown(line.needed),
                spools.join(", ")
            )
        }
        None => format!("{} cut", pieces(line.cuts.len())),
    };
    Line {
        item: format!("cable {}", cable.name),
        place: None,
        count: rounded(line.bought.base() / metres),
        unit,
        price: cable.price.map(|p| rounded(p.of(one))),
        hours: None,
        why,
    }
}

/// Without the tail of digits that the conversion between feet and metres leaves.
pub(super) fn rounded(number: f64) -> f64 {
    (number * 1e9).round() / 1e9
}

fn pieces(count: usize) -> String {
    if count == 1 {
        "1 piece".to_owned()
    } else {
        format!("{count} pieces")
    }
}

/// What follows from the wire schedule and the things of the site.
fn counted(site: &Site, wires: &[WireRow]) -> Vec<Line> {
    let used = wires.iter().filter(|w| !w.is_spare()).count();
    let splices: u32 = wires
        .iter()
        .filter(|w| !w.is_spare())
        .map(|w| w.splices)
        .sum();
    let each = |item: &str, count: usize, why: &str| {
        #[expect(
            clippy::cast_precision_loss,
            reason = "counts of wires are far under 2^52"
        )]
        let count = count as f64;
        (count > 0.0).then(|| Line {
            item: item.to_owned(),
            place: None,
            count,
            unit: "each",
            price: None,
            hours: None,
            why: why.to_owned(),
        })
    };
    let mut lines = Vec::new();
    lines.extend(each(
        "termination",
        2 * used,
        "both ends of every conductor in use",
    ));
    lines.extend(each(
        "label",
        2 * wires.len(),
        "both ends of every conductor",
    ));
    lines.extend(each(
        "splice",
        splices as usize,
        "joints of the conductors in use",
    ));
    let mut fuses: BTreeMap<String, usize> = BTreeMap::new();
    for fuse in &site.fuses {
        let kind = fuse.kind.as_deref().unwrap_or("fuse");
        let rating = fuse.current.map(|a| spell(a, "A"));
        let item = rating.map_or_else(|| kind.to_owned(), |rating| format!("{kind} {rating}"));
        *fuses.entry(item).or_default() += 1;
    }
    for (item, count) in fuses {
        lines.extend(each(&item, count, "as the site names them"));
    }
    lines
}
