//! Fixes of batteries: switched off sooner, a larger one, a larger panel.

use super::fix::Candidate;
use crate::checks::Finding;
use crate::site::{Chemistry, Edit, Site, Supply, Thing};
use crate::study::Study;
use crate::tables::battery as typical;
use crate::units::{ElectricCharge, ElectricPotential, Measure, Power, spell};

/// Capacities that lead-acid batteries are commonly sold in, in ampere-hours.
const CAPACITIES_AH: [f64; 16] = [
    1.2, 2.3, 4.0, 7.0, 9.0, 12.0, 17.0, 26.0, 33.0, 40.0, 55.0, 65.0, 75.0, 100.0, 150.0, 200.0,
];
/// Ratings that panels are commonly sold in, in watts.
const PANELS_W: [f64; 14] = [
    5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 65.0, 80.0, 100.0, 120.0, 160.0, 200.0, 300.0, 400.0,
];
/// Step of the disconnect volts, by cell: 0.1 V of six.
const STEP_V: f64 = 0.1 / 6.0;

/// The battery that holds a device's volts least is switched off at higher volts.
pub(super) fn sooner_off(site: &Site, study: &Study, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Device(device)) = finding.thing else {
        return Vec::new();
    };
    let least = study
        .discharges
        .iter()
        .filter_map(|d| Some((d.devices[device].volts?, d.supply)))
        .min_by(|a, b| a.0.base().total_cmp(&b.0.base()));
    let Some((_, supply)) = least else {
        return Vec::new();
    };
    let Some(battery) = &site.supplies[supply].battery else {
        return Vec::new();
    };
    let step = STEP_V * f64::from(battery.cells);
    let first = battery
        .disconnect
        .unwrap_or(typical::cell().end * f64::from(battery.cells));
    let rung = |n: u32| {
        let volts = first.base() + step * f64::from(n);
        // Two digits after the point are what a setting has.
        let volts = ElectricPotential::from_base((volts * 100.0).round() / 100.0);
        disconnect(site, supply, volts)
    };
    vec![(1..=15).filter_map(rung).collect()]
}

/// What comes of a fix: the device's volts at the end, or the hours.
pub(super) fn outcome(site: &Site, after: &Study, finding: &Finding) -> Option<String> {
    match (finding.code, finding.thing?) {
        ("battery-end-volts", Thing::Device(i)) => {
            let ends = after.discharges.iter().filter_map(|d| d.devices[i].volts);
            let least = ends.map(Measure::base).min_by(f64::total_cmp)?;
            Some(format!(
                "{} then gets {least:.2} V at the end of the battery",
                site.devices[i].name
            ))
        }
        ("battery-hours", Thing::Supply(i)) => {
            let discharge = after.discharges.iter().find(|d| d.supply == i)?;
            let hours = discharge.lasts?.base() / 3600.0;
            Some(format!("it then lasts {hours:.1} h"))
        }
        _ => None,
    }
}

/// Switched off at the least volts that do it no harm.
pub(super) fn not_so_deep(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let (Some(Thing::Supply(supply)), Some(limit)) = (finding.thing, finding.limit) else {
        return Vec::new();
    };
    let volts = ElectricPotential::from_base((limit * 100.0).ceil() / 100.0);
    vec![disconnect(site, supply, volts).into_iter().collect()]
}

fn disconnect(site: &Site, supply: usize, volts: ElectricPotential) -> Option<Candidate> {
    let was = site.supplies[supply].battery.as_ref()?.disconnect;
    let was = was.map_or("not at all".to_owned(), |v| spell(v, "V"));
    let text = spell(volts, "V");
    let what = format!(
        "{} switched off at {text} (was {was})",
        site.supplies[supply].name
    );
    changed(site, supply, ("battery.disconnect", &text), what, |s| {
        s.battery.as_mut()?.disconnect = Some(volts);
        Some(())
    })
}

/// A larger battery; a resistance that was filled in falls with it.
pub(super) fn larger(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Supply(supply)) = finding.thing else {
        return Vec::new();
    };
    let Some(battery) = &site.supplies[supply].battery else {
        return Vec::new();
    };
    let rung = |ah: &f64| {
        let capacity = ElectricCharge::from_base(ah * 3600.0);
        let text = spell(capacity, "Ah");
        let what = format!(
            "a battery of {text} at {} (was {})",
            site.supplies[supply].name,
            spell(battery.capacity, "Ah")
        );
        changed(site, supply, ("battery.capacity", &text), what, |s| {
            let b = s.battery.as_mut()?;
            b.capacity = capacity;
            let filled = b.filled.iter().any(|(key, _)| *key == "battery.resistance");
            if filled && b.chemistry == Chemistry::LeadAcid {
                b.resistance = typical::resistance(capacity, b.cells);
            }
            Some(())
        })
    };
    let larger = CAPACITIES_AH
        .iter()
        .filter(|ah| **ah * 3600.0 > battery.capacity.base());
    vec![larger.filter_map(rung).collect()]
}

/// A larger panel.
pub(super) fn larger_panel(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Supply(supply)) = finding.thing else {
        return Vec::new();
    };
    let Some(was) = site.supplies[supply].solar.as_ref().and_then(|s| s.panel) else {
        return Vec::new();
    };
    let rung = |watts: &f64| {
        let panel = Power::from_base(*watts);
        let text = spell(panel, "W");
        let what = format!(
            "a panel of {text} at {} (was {})",
            site.supplies[supply].name,
            spell(was, "W")
        );
        changed(site, supply, ("solar.panel", &text), what, |s| {
            s.solar.as_mut()?.panel = Some(panel);
            Some(())
        })
    };
    let larger = PANELS_W.iter().filter(|w| **w > was.base());
    vec![larger.filter_map(rung).collect()]
}

fn changed(
    site: &Site,
    supply: usize,
    (key, text): (&str, &str),
    what: String,
    change: impl FnOnce(&mut Supply) -> Option<()>,
) -> Option<Candidate> {
    let mut changed = site.clone();
    change(&mut changed.supplies[supply])?;
    let edits = vec![Edit::set("supply", &site.supplies[supply].name, key, text)];
    Some(Candidate {
        what,
        site: changed,
        edits,
    })
}
