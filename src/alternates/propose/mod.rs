//! Other designs worth a look: each a few edits of the site, before anything is solved.

mod draws;
mod power;
mod wire;

use draws::{lower_draw, staggered};
use power::{converter_there, supply_there, twice_the_volts};
pub(super) use wire::throughout;
use wire::{home_run, nearer, pairs};

use crate::circuit::Corner;
use crate::results::Results;
use crate::site::{Edit, End, Run, Site, Thing};
use crate::study::Study;
use crate::units::{Length, Measure, spell};

/// A design that has yet to prove itself.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Proposal {
    /// Its name, in a few words.
    pub(super) name: String,
    /// What it does and why that helps.
    pub(super) why: String,
    /// What a person must mind.
    pub(super) caution: Option<&'static str>,
    /// What it needs that no line of the take-off counts.
    pub(super) extra: Vec<String>,
    /// The edits.
    pub(super) edits: Vec<Edit>,
}

/// Most devices for which proposals of one kind are made: the worst off.
const MOST: usize = 3;

/// The proposals of the trade for what is short, the site's own first.
pub(super) fn proposals(site: &Site, study: &Study) -> Vec<Proposal> {
    let short = shortest(site, &study.results);
    let mut all = vec![in_cheapest_cables()];
    all.extend(site.bid.alternates.iter().map(|a| own(site, a)));
    for device in short.iter().take(MOST) {
        let way = Way::to(site, &study.results, *device);
        all.extend(home_run(site, &way, *device));
        all.extend(lower_draw(site, *device));
    }
    if let Some(device) = short.first() {
        let way = Way::to(site, &study.results, *device);
        all.extend(pairs(site, &study.results, &way));
        all.extend(twice_the_volts(site, &study.results, &way));
        all.extend(supply_there(site, study, &way));
        all.extend(converter_there(site, &way));
        all.extend(nearer(site, &way));
    }
    all.extend(staggered(site, study));
    // What a device shares with another is proposed once.
    let mut seen = std::collections::HashSet::new();
    all.retain(|p| seen.insert(p.name.clone()));
    all
}

/// Devices by how little they have over their lowest, as a share of it, the worst first.
fn shortest(site: &Site, results: &Results) -> Vec<usize> {
    let mut found: Vec<(f64, usize)> = Vec::new();
    for (i, device) in site.devices.iter().enumerate() {
        let Some(lowest) = device.lowest.map(Measure::base).filter(|v| *v > 0.0) else {
            continue;
        };
        let rows = results
            .rows
            .iter()
            .filter(|r| r.corner == Corner::Low && results.live[r.case].devices[i]);
        // Without an operating point nothing is left.
        let volts = rows.map(|r| results.device(r, i).map_or(0.0, |w| w.volts.base()));
        if let Some(least) = volts.min_by(f64::total_cmp) {
            found.push((least / lowest - 1.0, i));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, i)| i).collect()
}

/// The way from a supply to a device: its runs, and what each of them leads to.
struct Way {
    supply: Option<usize>,
    runs: Vec<(usize, Thing)>,
}

impl Way {
    fn to(site: &Site, results: &Results, device: usize) -> Self {
        let way = results.ways.way_to(End::Device(device));
        Self {
            supply: results.ways.supply_of(device),
            runs: way
                .into_iter()
                .filter_map(|(run, to)| Some((run?, to)))
                .filter(|(run, _)| site.runs[*run].resistance.is_none())
                .collect(),
        }
    }

    /// The first device on the way, where things get distributed.
    fn hub<'s>(&self, site: &'s Site) -> Option<(usize, &'s str, &'s Run)> {
        self.runs.iter().find_map(|(run, to)| match to {
            Thing::Device(i) => Some((*i, site.devices[*i].name.as_str(), &site.runs[*run])),
            _ => None,
        })
    }
}

/// Spells a length in the unit of the site's system.
fn length(site: &Site, metres: f64) -> String {
    let unit = match site.units {
        crate::units::System::Us => "ft",
        crate::units::System::Si => "m",
    };
    let length = Length::from_base(metres);
    let written = spell(length, unit);
    // Two decimals say all that a tape can.
    match written
        .split_once(' ')
        .and_then(|(n, _)| n.parse::<f64>().ok())
    {
        Some(number) => format!("{} {unit}", (number * 100.0).round() / 100.0),
        None => written,
    }
}

/// The same site: what is sized of every other design is sized of it, too.
fn in_cheapest_cables() -> Proposal {
    Proposal {
        name: "cheapest cables".to_owned(),
        why: "the site as it stands, in the cheapest cables that pass".to_owned(),
        caution: None,
        extra: Vec::new(),
        edits: Vec::new(),
    }
}

/// An alternate that the site file names.
fn own(site: &Site, alternate: &crate::site::Alternate) -> Proposal {
    let mut edits: Vec<Edit> = alternate
        .set
        .iter()
        .map(|(thing, key, text)| Edit::set(thing.table(), site.name_of(*thing), key, text))
        .collect();
    for run in &alternate.fitted {
        edits.push(Edit::set("run", &site.runs[*run].name, "fitted", "true"));
    }
    for (run, leg) in &alternate.broken {
        use crate::site::Leg;
        let (key, text) = match leg {
            Leg::Plus => ("fitted", "false"),
            Leg::Minus => ("minus_parallel", "0"),
            Leg::Common => ("common", "false"),
            Leg::Shield => ("shield", "none"),
        };
        edits.push(Edit::set("run", &site.runs[*run].name, key, text));
    }
    Proposal {
        name: alternate.name.clone(),
        why: "as the site file names it".to_owned(),
        caution: None,
        extra: Vec::new(),
        edits,
    }
}
