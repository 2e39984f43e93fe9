//! Fixes on ac: dc instead, and a larger transformer.

use super::fix::Candidate;
use crate::checks::Finding;
use crate::site::{Edit, Nameplate, Site, SupplyKind, Thing};
use crate::study::Study;
use crate::units::{ApparentPower, ElectricalResistance, Measure, Ratio};

/// Ratings that low-voltage transformers are commonly sold in, in VA.
const RATINGS_VA: [f64; 8] = [20.0, 30.0, 40.0, 50.0, 60.0, 75.0, 100.0, 150.0];

/// A regulated dc supply of the same nominal volts instead of the transformer.
pub(super) fn regulated(site: &Site, study: &Study, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Device(device)) = finding.thing else {
        return Vec::new();
    };
    let Some(i) = study.results.ways.supply_of(device) else {
        return Vec::new();
    };
    let old = &site.supplies[i];
    let volts = old.nameplate.voltage.unwrap_or(old.voltage);
    let mut changed = site.clone();
    let new = &mut changed.supplies[i];
    new.kind = SupplyKind::Dc;
    new.voltage = volts;
    new.tolerance = Some(Ratio::from_base(0.05));
    (new.lowest, new.highest) = (None, None);
    new.resistance = Some(ElectricalResistance::from_base(0.0));
    let text = format!("{} V", volts.base());
    let set = |key: &str, text: &str| Edit::set("supply", &old.name, key, text);
    let mut edits = vec![
        set("kind", "dc"),
        set("voltage", &text),
        set("tolerance", "5 %"),
        set("resistance", "0 ohm"),
    ];
    for (key, stated) in [("lowest", old.lowest), ("highest", old.highest)] {
        if stated.is_some() {
            edits.push(set(key, ""));
        }
    }
    vec![vec![Candidate {
        what: format!("{} as a regulated {text} dc supply", old.name),
        site: changed,
        edits,
    }]]
}

/// The same transformer with a greater rating: its own resistance falls as well.
pub(super) fn larger(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Supply(i)) = finding.thing else {
        return Vec::new();
    };
    let old = &site.supplies[i];
    let Some(rating) = old.nameplate.rating else {
        return Vec::new();
    };
    let rung = |va: &f64| {
        let nameplate = Nameplate {
            rating: Some(ApparentPower::from_base(*va)),
            ..old.nameplate
        };
        let (before, after) = (old.nameplate.following(), nameplate.following());
        let mut changed = site.clone();
        let new = &mut changed.supplies[i];
        new.nameplate = nameplate;
        if new.resistance == before.resistance {
            new.resistance = after.resistance;
        }
        if new.current == before.current {
            new.current = after.current;
        }
        let text = format!("{va} VA");
        Candidate {
            what: format!("{} rated {text}", old.name),
            site: changed,
            edits: vec![Edit::set("supply", &old.name, "rating", &text)],
        }
    };
    let greater = RATINGS_VA.iter().filter(|va| **va > rating.base());
    vec![greater.map(rung).collect()]
}
