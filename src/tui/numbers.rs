//! The numbers of one line: now, worst, limit and margin.

use crate::results::{Results, Row};
use crate::site::{Site, Thing};
use crate::states::{AllStates, Worst};
use crate::study::Study;
use crate::tui::beside;
use crate::tui::tree::Item;
use crate::units::{ElectricCurrent, ElectricPotential, Measure};

/// The numbers of a line, in volts or amperes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Numbers {
    /// In the case and corner shown.
    pub now: Option<f64>,
    /// The worst over all cases and corners, and over all states once those are searched.
    pub worst: Option<f64>,
    /// What it is held against.
    pub limit: Option<f64>,
    /// Margin; negative is short.
    pub margin: Option<f64>,
    /// V or A.
    pub unit: &'static str,
}

/// The numbers of an item of a site and what is known of it, at a row.
pub(super) fn of(site: &Site, study: &Study, row: Option<&Row>, item: Item) -> Numbers {
    let numbers = in_cases(site, &study.results, row, item);
    match &study.states {
        Some(all) => in_all(site, all, numbers, item),
        None => numbers,
    }
}

/// The same where some combination of states is worse than every case.
fn in_all(site: &Site, all: &AllStates, n: Numbers, item: Item) -> Numbers {
    let Item::Thing(Thing::Device(i)) = item else {
        let most = worst_amps(all, item).map(|w| w.value.base());
        return match most {
            Some(most) if n.unit == "A" => n.with(n.worst.map_or(most, |w| w.max(most)), false),
            _ => n,
        };
    };
    let value = |w: Option<&Worst<ElectricPotential>>| w.map(|w| w.value.base());
    let window = &all.devices[i];
    let highest = site.devices[i].highest.map(Measure::base);
    if let (Some(most), Some(highest)) = (value(window.most.as_ref()), highest)
        && highest - most < n.margin.unwrap_or(f64::INFINITY).min(0.0)
    {
        let limit = Some(highest);
        return Numbers { limit, ..n }.with(most, false);
    }
    match value(window.least.as_ref()) {
        Some(least) if n.limit != highest || n.limit.is_none() => {
            n.with(n.worst.map_or(least, |w| w.min(least)), true)
        }
        _ => n,
    }
}

/// The combination with the most amps of a supply, output or fuse, or in a run.
pub(super) fn worst_amps(all: &AllStates, item: Item) -> Option<&Worst<ElectricCurrent>> {
    match item {
        Item::Thing(Thing::Supply(i)) => all.supplies[i].as_ref(),
        Item::Output(s, o) => all.outputs[s][o].as_ref(),
        Item::Thing(Thing::Fuse(i)) => all.fuses[i].as_ref(),
        Item::Thing(Thing::Run(i)) => all.runs[i].as_ref(),
        Item::Thing(Thing::Device(_) | Thing::Junction(_) | Thing::Earth(_))
        | Item::Beside
        | Item::Table(..) => None,
    }
}

impl Numbers {
    /// Another worst value, and the margin that it leaves; `low`: the limit is a least value.
    fn with(self, worst: f64, low: bool) -> Self {
        let margin = |limit: f64| if low { worst - limit } else { limit - worst };
        Self {
            worst: Some(worst),
            margin: self.limit.map(margin),
            ..self
        }
    }
}

fn in_cases(site: &Site, results: &Results, row: Option<&Row>, item: Item) -> Numbers {
    match item {
        Item::Thing(Thing::Supply(i)) => {
            let amps = |row: &Row| results.supply_rms(row, i);
            most(
                results,
                row,
                &amps,
                site.supplies[i].current.map(Measure::base),
                "A",
            )
        }
        Item::Output(s, o) => {
            let amps = |row: &Row| results.output_rms(site, row, (s, o));
            most(
                results,
                row,
                &amps,
                site.supplies[s].outputs[o].current.map(Measure::base),
                "A",
            )
        }
        Item::Thing(Thing::Device(i)) => device(site, results, row, i),
        Item::Thing(Thing::Junction(i)) => {
            let volts = |row: &Row| {
                results.live[row.case].junctions[i]
                    .then(|| results.junction(row, i))
                    .flatten()
                    .map(|v| v.base())
            };
            least(results, row, &volts, None)
        }
        Item::Thing(Thing::Run(i)) => {
            let power = site.runs[i].carries.power;
            let drop = |row: &Row| {
                results
                    .run(site, row, i)
                    .and_then(|f| f.drop)
                    .map(|v| v.base().abs())
            };
            let amps = |row: &Row| {
                results
                    .run(site, row, i)
                    .and_then(|f| f.common_amps.or(f.amps))
                    .map(|a| a.base().abs())
            };
            if power {
                most(results, row, &drop, None, "V")
            } else {
                most(results, row, &amps, None, "A")
            }
        }
        Item::Beside => Numbers::default(),
        Item::Table(group, i) => beside::numbers(site, group, i),
        Item::Thing(Thing::Fuse(i)) => {
            let part = crate::site::Part::Fuse(i);
            let amps = |row: &Row| {
                let branch = results.template.part(part)?;
                results.part_rms(site, row, (part, branch))
            };
            most(
                results,
                row,
                &amps,
                site.fuses[i].current.map(Measure::base),
                "A",
            )
        }
        Item::Thing(Thing::Earth(i)) => {
            let amps = |row: &Row| {
                results
                    .branch(row, results.template.earths[i]?)
                    .map(|a| a.base().abs())
            };
            most(results, row, &amps, None, "A")
        }
    }
}

fn device(site: &Site, results: &Results, row: Option<&Row>, i: usize) -> Numbers {
    let volts = |row: &Row| {
        results.live[row.case].devices[i]
            .then(|| results.device(row, i))
            .flatten()
            .map(|w| w.volts.base())
    };
    let device = &site.devices[i];
    let low = least(results, row, &volts, device.lowest.map(Measure::base));
    let Some(highest) = device.highest.map(Measure::base) else {
        return low;
    };
    let high = most(results, row, &volts, Some(highest), "V");
    // Whichever end of the window is nearer is the worse one.
    match (low.margin, high.margin) {
        (Some(under), Some(over)) if over < under && over < 0.0 => high,
        (None, Some(over)) if over < 0.0 => high,
        _ => low,
    }
}

fn least(
    results: &Results,
    row: Option<&Row>,
    value: &dyn Fn(&Row) -> Option<f64>,
    limit: Option<f64>,
) -> Numbers {
    let worst = results.rows.iter().filter_map(value).min_by(f64::total_cmp);
    let margin = limit.and_then(|limit| Some(worst? - limit));
    Numbers {
        now: row.and_then(value),
        worst,
        limit,
        margin,
        unit: "V",
    }
}

fn most(
    results: &Results,
    row: Option<&Row>,
    value: &dyn Fn(&Row) -> Option<f64>,
    limit: Option<f64>,
    unit: &'static str,
) -> Numbers {
    let worst = results.rows.iter().filter_map(value).max_by(f64::total_cmp);
    let margin = limit.and_then(|limit| Some(limit - worst?));
    Numbers {
        now: row.and_then(value),
        worst,
        limit,
        margin,
        unit,
    }
}
