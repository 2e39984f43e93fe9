//! Designs that feed the far end otherwise.

use super::{Proposal, Way};
use crate::results::Results;
use crate::site::{Edit, End, Site, Thing};
use crate::study::Study;
use crate::units::{Draw, ElectricPotential, Measure, spell};

const MAINS: &str = "mains at the far end is for a licensed electrician";
const NEW_DEVICES: &str = "needs devices made for 24 V: check every label";

/// 24 V for 12 V: half the amps for the same watts.
pub(super) fn twice_the_volts(site: &Site, results: &Results, way: &Way) -> Option<Proposal> {
    let index = way.supply?;
    let supply = &site.supplies[index];
    let volts = supply.voltage.base();
    if !(10.0..=15.0).contains(&volts) || supply.fed_by.is_some() || supply.battery.is_some() {
        return None;
    }
    let doubled = |v: f64| spell(ElectricPotential::from_base(2.0 * v), "V");
    let mut edits = vec![Edit::set(
        "supply",
        &supply.name,
        "voltage",
        &doubled(volts),
    )];
    for (key, value) in [("lowest", supply.lowest), ("highest", supply.highest)] {
        if let Some(value) = value {
            edits.push(Edit::set(
                "supply",
                &supply.name,
                key,
                &doubled(value.base()),
            ));
        }
    }
    if let Some((v, a)) = supply.loaded {
        let text = format!("{}, {}", doubled(v.base()), spell(a, "A"));
        edits.push(Edit::set("supply", &supply.name, "loaded", &text));
    }
    for (i, device) in site.devices.iter().enumerate() {
        let on_it = results.ways.supply_of(i) == Some(index);
        let takes_it = device.highest.is_some_and(|h| h.base() >= 2.2 * volts);
        if !on_it || takes_it {
            continue;
        }
        for (key, value) in [("lowest", device.lowest), ("highest", device.highest)] {
            if let Some(value) = value {
                edits.push(Edit::set(
                    "device",
                    &device.name,
                    key,
                    &doubled(value.base()),
                ));
            }
        }
        for (state, draw) in &device.draw {
            let text = match draw {
                // The same watts at twice the volts.
                Draw::Current(amps) => spell(*amps / 2.0, "A"),
                Draw::Resistance(ohms) => spell(*ohms * 4.0, "ohm"),
                Draw::Off | Draw::Power(_) | Draw::Apparent(_) => continue,
            };
            edits.push(Edit::set(
                "device",
                &device.name,
                &format!("draw.{state}"),
                &text,
            ));
        }
    }
    Some(Proposal {
        name: format!("24 V from {}", supply.name),
        why: "twice the volts: half the amps for the same watts, a quarter of the loss".to_owned(),
        caution: Some(NEW_DEVICES),
        extra: vec![format!("supply and devices for 24 V on {}", supply.name)],
        edits,
    })
}

/// A supply of its own where things get distributed.
pub(super) fn supply_there(site: &Site, study: &Study, way: &Way) -> Option<Proposal> {
    let supply = &site.supplies[way.supply?];
    let (_, hub, run) = way.hub(site)?;
    let results = &study.results;
    let index = site.runs.iter().position(|r| r.name == run.name)?;
    let amps = results
        .rows
        .iter()
        .filter_map(|row| results.run(site, row, index)?.amps)
        .map(|a| a.base().abs())
        .fold(0.0, f64::max);
    let rating = [1.0, 2.0, 3.0, 5.0, 8.0, 10.0]
        .into_iter()
        .find(|rating| rating * (1.0 - site.design.spare.value) >= amps)?;
    let volts = if supply.voltage.base() < 18.0 {
        12.0
    } else {
        24.0
    };
    let name = format!("{hub} supply");
    Some(Proposal {
        why: format!(
            "{volts} V, {rating} A at {hub}; {} carries no power",
            run.name
        ),
        caution: Some(MAINS),
        extra: vec![format!(
            "supply {volts} V {rating} A and its mains at {hub}"
        )],
        edits: vec![
            Edit::Add {
                table: vec!["supply".to_owned(), name.clone()],
                keys: vec![
                    ("voltage".to_owned(), format!("{volts} V")),
                    ("tolerance".to_owned(), "5 %".to_owned()),
                    ("current".to_owned(), format!("{rating} A")),
                    ("on".to_owned(), hub.to_owned()),
                ],
            },
            Edit::set("run", &run.name, "fitted", "false"),
        ],
        name: format!("supply at {hub}"),
    })
}

/// 24 V on the long run, turned into the device's own volts at its end.
pub(super) fn converter_there(site: &Site, way: &Way) -> Option<Proposal> {
    let index = way.supply?;
    let supply = &site.supplies[index];
    let volts = supply.voltage.base();
    if !(10.0..=15.0).contains(&volts) || supply.fed_by.is_some() {
        return None;
    }
    let others = site.runs.iter().filter(|r| {
        r.carries.power
            && [r.from, r.to]
                .iter()
                .any(|e| e.thing() == Thing::Supply(index))
    });
    // What else hangs on the supply would get 24 V as well.
    if others.count() > 1
        || site
            .devices
            .iter()
            .any(|d| d.on == Some(End::Supply(index)))
    {
        return None;
    }
    let (i, hub, run) = way.hub(site)?;
    let key = if matches!(run.to, End::Device(d) if d == i) {
        "to"
    } else {
        "from"
    };
    let (converter, output) = (format!("{hub} converter"), format!("{hub} converter out"));
    let text = |v: f64| spell(ElectricPotential::from_base(v), "V");
    let pair = |k: &str, v: String| (k.to_owned(), v);
    Some(Proposal {
        name: format!("24 V to a converter at {hub}"),
        why: format!("24 V on {}, turned into 12 V at {hub}", run.name),
        caution: Some("a converter takes more amps as its volts fall: its own lowest volts decide"),
        extra: vec![
            format!("supply 24 V for {}", supply.name),
            format!("converter 24 V to 12 V at {hub}"),
        ],
        edits: vec![
            Edit::Add {
                table: vec!["device".to_owned(), converter.clone()],
                keys: vec![pair("kind", "other".to_owned())],
            },
            Edit::Add {
                table: vec!["supply".to_owned(), output.clone()],
                keys: vec![
                    pair("voltage", "12 V".to_owned()),
                    pair("fed_by", converter.clone()),
                    pair("efficiency", "85 %".to_owned()),
                ],
            },
            Edit::set("supply", &supply.name, "voltage", &text(2.0 * volts)),
            Edit::set("run", &run.name, key, &converter),
            Edit::set("device", hub, "on", &output),
        ],
    })
}
