//! Silent inputs that matter, and what they were taken for.

use std::collections::BTreeSet;

use crate::checks::{bus_taken, loop_taken, wiegand_taken};
use crate::practice::{ASSUMED_CODE, Warned, cautions};
use crate::results::Ways;
use crate::site::{Part, Run, Site, Supply, SupplyKind};
use crate::units::{Draw, Measure};

/// One silent input.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assumption {
    /// Name of the thing.
    pub subject: String,
    /// The key that it leaves out.
    pub key: &'static str,
    /// What was assumed.
    pub value: String,
}

/// Every silent input that enters a number, in file order.
pub(crate) fn assumptions(site: &Site) -> Vec<Assumption> {
    let mut all = Vec::new();
    let mut add = |subject: &str, key: &'static str, value: &str| {
        all.push(Assumption {
            subject: subject.to_owned(),
            key,
            value: value.to_owned(),
        });
    };
    let timed = site.cables.iter().any(|c| c.reactance.is_some())
        || site.devices.iter().any(|d| d.dc.is_rectified());
    for supply in &site.supplies {
        for (key, value) in of_supply(supply, timed) {
            add(&supply.name, key, value);
        }
        for output in supply.outputs.iter().filter(|o| o.resistance.is_none()) {
            let name = format!("{}.{}", supply.name, output.name);
            add(&name, "resistance", "0 ohm");
        }
    }
    for (device, key, value) in angles(site) {
        add(device, key, value);
    }
    for device in &site.devices {
        for (key, value) in &device.filled {
            add(&device.name, key, value);
        }
        if device.draw.is_empty() && device.relays.is_empty() {
            add(&device.name, "draw", "off");
        }
    }
    for name in parts_used(site) {
        add(&name, "resistance", "0 ohm");
    }
    for cable in &site.cables[..site.own_cables.min(site.cables.len())] {
        for key in &cable.silent {
            let value = match *key {
                "material" => "copper",
                "stranding" => "stranded",
                _ => "20 C",
            };
            add(&cable.name, key, value);
        }
    }
    for run in splices_of_no_ohms(site) {
        add(&run.name, "splice", "0 ohm");
    }
    for (name, key, value) in of_signals(site) {
        add(name, key, &value);
    }
    let cites = |c: &Warned| c.code != "scope" && c.words.contains(ASSUMED_CODE);
    if site.code.trim().is_empty() && cautions(site).iter().any(cites) {
        all.push(Assumption {
            subject: "site".to_owned(),
            key: "code",
            value: ASSUMED_CODE.to_owned(),
        });
    }
    all
}

/// What a supply leaves out; `timed` where frequency matters.
fn of_supply(supply: &Supply, timed: bool) -> Vec<(&'static str, &str)> {
    let named = |silent: bool, key, value| silent.then_some((key, value));
    let bounded = supply.lowest.is_some() || supply.highest.is_some();
    let silent = [
        named(supply.tolerance.is_none() && !bounded, "tolerance", "0 %"),
        named(supply.resistance.is_none(), "resistance", "0 ohm"),
        named(
            supply.nameplate.voltage.is_some() && supply.nameplate.regulation.is_none(),
            "regulation",
            "0 %",
        ),
        named(
            supply.kind == SupplyKind::Ac && supply.frequency.is_none() && timed,
            "frequency",
            "60 Hz",
        ),
        named(
            supply.fed_by.is_some() && supply.efficiency.is_none(),
            "efficiency",
            "100 %",
        ),
    ];
    let battery = supply.battery.iter().flat_map(|b| &b.filled);
    let solar = supply.solar.iter().flat_map(|s| &s.filled);
    let filled = battery.chain(solar).map(|(key, value)| (*key, &**value));
    silent.into_iter().flatten().chain(filled).collect()
}

/// Fuses and contacts that runs pass and that state no resistance, by name.
fn parts_used(site: &Site) -> BTreeSet<String> {
    let through = site.runs.iter().flat_map(|r| &r.through);
    let silent = through.filter(|part| match **part {
        Part::Fuse(i) => site.fuses[i].resistance.is_none(),
        Part::Contact(d, r, _) => site.devices[d].relays[r].resistance.is_none(),
    });
    silent.map(|part| site.part_text(*part)).collect()
}

/// Runs with splices of which nobody says what they add.
fn splices_of_no_ohms(site: &Site) -> impl Iterator<Item = &Run> {
    let unknown = site.design.splice.base() == 0.0;
    (site.runs.iter()).filter(move |run| unknown && run.splices > 0 && run.splice.is_none())
}

/// What signal lines, buses, loops and surge parts leave out.
fn of_signals(site: &Site) -> Vec<(&str, &'static str, String)> {
    let mut all = Vec::new();
    for (i, run) in site.runs.iter().enumerate() {
        if run.carries.wiegand
            && let Some(value) = wiegand_taken(site, i)
        {
            all.push((run.name.as_str(), "wiegand", value));
        }
        if let Some(value) = run.input_loop.as_ref().and_then(loop_taken) {
            all.push((run.name.as_str(), "loop", value));
        }
    }
    for bus in &site.buses {
        if let Some(value) = bus_taken(bus) {
            all.push((bus.name.as_str(), "bus", value));
        }
    }
    let silent = site.surges.iter().filter(|s| s.resistance.is_none());
    all.extend(silent.map(|s| (s.name.as_str(), "resistance", "0 ohm".to_owned())));
    all
}

/// What devices on ac leave out: those whose nearest supply is ac.
fn angles(site: &Site) -> Vec<(&str, &'static str, &'static str)> {
    if site.supplies.iter().all(|s| s.kind == SupplyKind::Dc) {
        return Vec::new();
    }
    let ways = Ways::of(site);
    let on_ac = |i: usize| {
        let supply = ways.supply_of(i).map(|s| &site.supplies[s]);
        supply.is_some_and(|s| s.kind == SupplyKind::Ac)
    };
    let power = |d: &Draw| matches!(d, Draw::Power(_) | Draw::Apparent(_));
    let mut all = Vec::new();
    for (i, device) in site.devices.iter().enumerate().filter(|(i, _)| on_ac(*i)) {
        let draws_power = site.devices[i].draw.iter().any(|(_, d)| power(d));
        let rectified = device.dc.is_rectified();
        let silent = [
            (
                draws_power && device.power_factor.is_none(),
                "power_factor",
                "1",
            ),
            (
                rectified && device.dc.diode_drop.is_none(),
                "diode_drop",
                "0 V",
            ),
            (
                rectified && device.dc.reservoir.is_none(),
                "reservoir",
                "endless",
            ),
        ];
        let silent = silent.into_iter().filter(|(silent, ..)| *silent);
        all.extend(silent.map(|(_, key, value)| (device.name.as_str(), key, value)));
    }
    all
}
