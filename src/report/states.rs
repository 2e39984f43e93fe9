//! The worst over all states: for programs and for people.

use std::borrow::Cow;

use serde::{Serialize, Serializer};

use crate::diagnostic::clean;
use crate::report::json::Each;
use crate::report::{Pieces, Tone};
use crate::site::Site;
use crate::states::{AllStates, Combination, Worst};
use crate::units::{ElectricCurrent, Measure};

#[derive(Serialize)]
struct AllStatesJson<'a, D, S, O, F, C, R> {
    proven: bool,
    combinations: Option<Count>,
    unserved: Option<UnservedJson<'a>>,
    devices: D,
    supplies: S,
    outputs: O,
    fuses: F,
    relays: C,
    runs: R,
}

/// A count that is whole as long as every digit of it is known.
#[derive(Serialize)]
#[serde(untagged)]
enum Count {
    Whole(u64),
    About(f64),
}

#[derive(Serialize)]
struct UnservedJson<'a> {
    state: States<'a>,
    corner: &'static str,
    id: Option<&'a str>,
    served: f64,
}

#[derive(Serialize)]
struct WindowJson<'a> {
    id: &'a str,
    least_volts: Option<f64>,
    least_state: Option<States<'a>>,
    most_volts: Option<f64>,
    most_state: Option<States<'a>>,
}

#[derive(Serialize)]
struct AmpsJson<'a> {
    id: Cow<'a, str>,
    most_amps: Option<f64>,
    state: Option<States<'a>>,
    corner: Option<&'static str>,
}

/// States by name, in file order.
struct States<'a>(&'a Site, &'a Combination);

impl Serialize for States<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.1.named(self.0))
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

/// The block `all_states`.
pub(crate) fn json<'a>(site: &'a Site, all: &'a AllStates) -> impl Serialize + 'a {
    let state = move |c| States(site, c);
    let amps = move |id, worst: Option<&'a Worst<ElectricCurrent>>| AmpsJson {
        id,
        most_amps: worst.map(|w| w.value.base()),
        state: worst.map(|w| state(&w.state)),
        corner: worst.map(|w| w.corner.as_str()),
    };
    AllStatesJson {
        proven: all.proven,
        combinations: all.combinations.map(count),
        unserved: all.unserved.as_ref().map(|u| UnservedJson {
            state: state(&u.state),
            corner: u.corner.as_str(),
            id: u.device.map(|d| site.devices[d].name.as_str()),
            served: u.served,
        }),
        devices: Each(move || {
            let windows = site.devices.iter().zip(&all.devices);
            windows.map(move |(device, window)| WindowJson {
                id: &device.name,
                least_volts: window.least.as_ref().map(|w| w.value.base()),
                least_state: window.least.as_ref().map(|w| state(&w.state)),
                most_volts: window.most.as_ref().map(|w| w.value.base()),
                most_state: window.most.as_ref().map(|w| state(&w.state)),
            })
        }),
        supplies: Each(move || {
            let supplies = site.supplies.iter().zip(&all.supplies);
            supplies.map(move |(s, worst)| amps(Cow::Borrowed(&s.name), worst.as_ref()))
        }),
        outputs: Each(move || {
            let supplies = site.supplies.iter().zip(&all.outputs);
            supplies.flat_map(move |(supply, list)| {
                let outputs = supply.outputs.iter().zip(list);
                outputs.map(move |(o, worst)| {
                    amps(
                        Cow::Owned(format!("{}.{}", supply.name, o.name)),
                        worst.as_ref(),
                    )
                })
            })
        }),
        fuses: Each(move || {
            let fuses = site.fuses.iter().zip(&all.fuses);
            fuses.map(move |(f, worst)| amps(Cow::Borrowed(&f.name), worst.as_ref()))
        }),
        relays: Each(move || {
            let contacts = all.contacts.iter();
            contacts
                .map(move |(part, worst)| amps(Cow::Owned(site.part_text(*part)), worst.as_ref()))
        }),
        runs: Each(move || {
            let runs = site.runs.iter().zip(&all.runs);
            runs.map(move |(r, worst)| amps(Cow::Borrowed(&r.name), worst.as_ref()))
        }),
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
            least.map(|w| (w.value.base(), "V least", &*w.state, w.corner.as_str())),
        );
    }
    for (supply, worst) in site.supplies.iter().zip(&all.supplies).take(MOST_LISTED) {
        let worst = worst.as_ref();
        line(
            &supply.name,
            worst.map(|w| (w.value.base(), "A most", &*w.state, w.corner.as_str())),
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
