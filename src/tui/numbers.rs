//! The numbers of one line: now, worst, limit and margin.

use crate::results::{Results, Row};
use crate::site::{Site, Thing};
use crate::tui::tree::Item;
use crate::units::Measure;

/// The numbers of a line, in volts or amperes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Numbers {
    /// In the case and corner shown.
    pub now: Option<f64>,
    /// The worst over all cases and corners.
    pub worst: Option<f64>,
    /// What it is held against.
    pub limit: Option<f64>,
    /// Margin; negative is short.
    pub margin: Option<f64>,
    /// V or A.
    pub unit: &'static str,
}

/// The numbers of an item of a site and its results, at a row.
pub(super) fn of(site: &Site, results: &Results, row: Option<&Row>, item: Item) -> Numbers {
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
