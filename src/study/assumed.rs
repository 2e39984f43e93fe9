//! Silent inputs that matter, and what they were taken for.

use std::collections::BTreeSet;

use crate::checks::{bus_taken, loop_taken, wiegand_taken};
use crate::site::{Part, Site};

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
    for supply in &site.supplies {
        let named = |silent: bool, key, value| silent.then_some((key, value));
        let silent = [
            named(
                supply.tolerance.is_none() && supply.lowest.is_none() && supply.highest.is_none(),
                "tolerance",
                "0 %",
            ),
            named(supply.resistance.is_none(), "resistance", "0 ohm"),
            named(
                supply.fed_by.is_some() && supply.efficiency.is_none(),
                "efficiency",
                "100 %",
            ),
        ];
        silent
            .into_iter()
            .flatten()
            .for_each(|(key, value)| add(&supply.name, key, value));
        let battery = supply.battery.iter().flat_map(|b| &b.filled);
        let solar = supply.solar.iter().flat_map(|s| &s.filled);
        battery
            .chain(solar)
            .for_each(|(key, value)| add(&supply.name, key, value));
        for output in supply.outputs.iter().filter(|o| o.resistance.is_none()) {
            add(
                &format!("{}.{}", supply.name, output.name),
                "resistance",
                "0 ohm",
            );
        }
    }
    for device in &site.devices {
        device
            .filled
            .iter()
            .for_each(|(key, value)| add(&device.name, key, value));
        if device.draw.is_empty() && device.relays.is_empty() {
            add(&device.name, "draw", "off");
        }
    }
    let used: BTreeSet<String> = site
        .runs
        .iter()
        .flat_map(|r| &r.through)
        .filter(|part| match **part {
            Part::Fuse(i) => site.fuses[i].resistance.is_none(),
            Part::Contact(d, r, _) => site.devices[d].relays[r].resistance.is_none(),
        })
        .map(|part| site.part_text(*part))
        .collect();
    used.iter()
        .for_each(|name| add(name, "resistance", "0 ohm"));
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
    for (i, run) in site.runs.iter().enumerate() {
        if run.carries.wiegand
            && let Some(value) = wiegand_taken(site, i)
        {
            add(&run.name, "wiegand", &value);
        }
        if let Some(value) = run.input_loop.as_ref().and_then(loop_taken) {
            add(&run.name, "loop", &value);
        }
    }
    for bus in &site.buses {
        if let Some(value) = bus_taken(bus) {
            add(&bus.name, "bus", &value);
        }
    }
    for surge in site.surges.iter().filter(|s| s.resistance.is_none()) {
        add(&surge.name, "resistance", "0 ohm");
    }
    all
}
