//! The worst over all states: for programs and for people.

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use crate::diagnostic::clean;
use crate::report::{Pieces, Tone};
use crate::site::Site;
use crate::states::{AllStates, Combination, Worst};
use crate::units::{ElectricCurrent, Measure};

#[derive(Serialize)]
pub(crate) struct AllStatesJson {
    proven: bool,
    combinations: Option<Count>,
    unserved: Option<UnservedJson>,
    devices: Vec<WindowJson>,
    supplies: Vec<AmpsJson>,
    outputs: Vec<AmpsJson>,
    fuses: Vec<AmpsJson>,
    relays: Vec<AmpsJson>,
    runs: Vec<AmpsJson>,
}

/// A count that is whole as long as every digit of it is known.
#[derive(Serialize)]
#[serde(untagged)]
enum Count {
    Whole(u64),
    About(f64),
}

#[derive(Serialize)]
struct UnservedJson {
    state: States,
    corner: &'static str,
    id: Option<String>,
    served: f64,
}

#[derive(Serialize)]
struct WindowJson {
    id: String,
    least_volts: Option<f64>,
    least_state: Option<States>,
    most_volts: Option<f64>,
    most_state: Option<States>,
}

#[derive(Serialize)]
struct AmpsJson {
    id: String,
    most_amps: Option<f64>,
    state: Option<States>,
    corner: Option<&'static str>,
}

/// States by name, in file order.
struct States(Vec<(String, String)>);

impl Serialize for States {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, state) in &self.0 {
            map.serialize_entry(name, state)?;
        }
        map.end()
    }
}

/// Counts up to this are exact as a floating-point number (2^53).
const EXACT: f64 = 9_007_199_254_740_992.0;

fn count(number: f64) -> Count {
    if number <= EXACT {
        // A whole number of at most 16 digits prints as such.
        format!("{number:.0}")
            .parse()
            .map_or(Count::About(number), Count::Whole)
    } else {
        Count::About(number)
    }
}

fn amps(site: &Site, id: String, worst: Option<&Worst<ElectricCurrent>>) -> AmpsJson {
    AmpsJson {
        id,
        most_amps: worst.map(|w| w.value.base()),
        state: worst.map(|w| States(w.state.named(site))),
        corner: worst.map(|w| w.corner.as_str()),
    }
}

/// The block `all_states`.
pub(crate) fn json(site: &Site, all: &AllStates) -> AllStatesJson {
    let state = |c: &Combination| States(c.named(site));
    let windows = site.devices.iter().zip(&all.devices);
    let outputs = site
        .supplies
        .iter()
        .zip(&all.outputs)
        .flat_map(|(supply, list)| {
            let outputs = supply.outputs.iter().zip(list);
            outputs
                .map(|(o, worst)| amps(site, format!("{}.{}", supply.name, o.name), worst.as_ref()))
        });
    AllStatesJson {
        proven: all.proven,
        combinations: all.combinations.map(count),
        unserved: all.unserved.as_ref().map(|u| UnservedJson {
            state: state(&u.state),
            corner: u.corner.as_str(),
            id: u.device.map(|d| site.devices[d].name.clone()),
            served: u.served,
        }),
        devices: windows
            .map(|(device, window)| WindowJson {
                id: device.name.clone(),
                least_volts: window.least.as_ref().map(|w| w.value.base()),
                least_state: window.least.as_ref().map(|w| state(&w.state)),
                most_volts: window.most.as_ref().map(|w| w.value.base()),
                most_state: window.most.as_ref().map(|w| state(&w.state)),
            })
            .collect(),
        supplies: (site.supplies.iter().zip(&all.supplies))
            .map(|(s, worst)| amps(site, s.name.clone(), worst.as_ref()))
            .collect(),
        outputs: outputs.collect(),
        fuses: (site.fuses.iter().zip(&all.fuses))
            .map(|(f, worst)| amps(site, f.name.clone(), worst.as_ref()))
            .collect(),
        relays: (all.contacts.iter())
            .map(|(part, worst)| amps(site, site.part_text(*part), worst.as_ref()))
            .collect(),
        runs: (site.runs.iter().zip(&all.runs))
            .map(|(r, worst)| amps(site, r.name.clone(), worst.as_ref()))
            .collect(),
    }
}

/// Most devices and supplies that the text lists.
const MOST_LISTED: usize = 60;

/// The block for people: least volts of every device, most amps of every supply, and where.
pub(crate) fn text(site: &Site, all: &AllStates, out: &mut Pieces) {
    let word = if all.proven {
        "proven: nothing worse exists"
    } else {
        "not proven: the worst of what was tried"
    };
    let number = all.combinations.map_or_else(
        || "very many".to_owned(),
        |n| {
            if n < 1e9 {
                format!("{n:.0}")
            } else {
                format!("{n:.1e}")
            }
        },
    );
    out.push((Tone::Strong, "All states".into()));
    out.push((
        Tone::Plain,
        format!(": every combination of draws and relays, {number} of them; {word}\n"),
    ));
    let wide = |names: &mut dyn Iterator<Item = &String>| {
        names
            .map(|n| n.chars().count())
            .max()
            .unwrap_or(6)
            .clamp(6, 28)
    };
    let mut names = site
        .devices
        .iter()
        .map(|d| &d.name)
        .chain(site.supplies.iter().map(|s| &s.name));
    let wide = wide(&mut names);
    let mut line = |name: &str, value: Option<(f64, &str, &Combination, &str)>| {
        let name: String = clean(name).chars().take(wide).collect();
        let rest = match value {
            Some((value, unit, state, corner)) => {
                format!(
                    "{value:>9.2} {unit}  {}, {corner}",
                    clean(&state.words(site))
                )
            }
            None => format!("{:>9}", "-"),
        };
        out.push((Tone::Plain, format!("  {name:wide$}  {rest}\n")));
    };
    for (device, window) in site.devices.iter().zip(&all.devices).take(MOST_LISTED) {
        let least = window.least.as_ref();
        line(
            &device.name,
            least.map(|w| (w.value.base(), "V least", &w.state, w.corner.as_str())),
        );
    }
    for (supply, worst) in site.supplies.iter().zip(&all.supplies).take(MOST_LISTED) {
        let worst = worst.as_ref();
        line(
            &supply.name,
            worst.map(|w| (w.value.base(), "A most", &w.state, w.corner.as_str())),
        );
    }
    let more = site.devices.len().saturating_sub(MOST_LISTED)
        + site.supplies.len().saturating_sub(MOST_LISTED);
    if more > 0 {
        out.push((Tone::Plain, format!("  and {more} more\n")));
    }
    if let Some(u) = &all.unserved {
        out.push((
            Tone::Plain,
            format!(
                "  no operating point: {}, {}; {:.1} % of the draws could be served\n",
                clean(&u.state.words(site)),
                u.corner.as_str(),
                u.served * 100.0
            ),
        ));
    }
    out.push((Tone::Plain, "\n".into()));
}
