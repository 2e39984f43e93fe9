//! Batteries: for programs and, in a line or two each, for people.

use serde::Serialize;

use crate::battery::{Discharge, EndsBy};
use crate::site::Site;
use crate::study::Study;
use crate::units::Measure;

#[derive(Serialize)]
struct BatteryJson<'a> {
    supply: &'a str,
    hours: Option<f64>,
    capacity_ah: f64,
    amp_hours: Option<f64>,
    first_amps: Option<f64>,
    last_amps: Option<f64>,
    end_volts: Option<f64>,
    ends_by: Option<&'a str>,
    charge_left: Option<f64>,
    devices: Vec<DeviceJson<'a>>,
}

#[derive(Serialize)]
struct DeviceJson<'a> {
    id: &'a str,
    end_volts: Option<f64>,
}

/// Every battery of a site, in file order.
pub(super) fn json<'a>(
    site: &'a Site,
    study: &'a Study,
) -> impl Iterator<Item = impl Serialize + 'a> {
    let one = |d: &'a Discharge| BatteryJson {
        supply: &site.supplies[d.supply].name,
        hours: hours(d),
        capacity_ah: d.capacity.base() / 3600.0,
        amp_hours: d.drawn.map(|c| c.base() / 3600.0),
        first_amps: d.first.map(Measure::base),
        last_amps: d.last.map(Measure::base),
        end_volts: d.end_volts.map(Measure::base),
        ends_by: d.ends_by.map(EndsBy::as_str),
        charge_left: d.charge_left.map(Measure::base),
        devices: site
            .devices
            .iter()
            .zip(&d.devices)
            .map(|(device, end)| DeviceJson {
                id: &device.name,
                end_volts: end.volts.map(Measure::base),
            })
            .collect(),
    };
    study.discharges.iter().map(one)
}

fn hours(discharge: &Discharge) -> Option<f64> {
    discharge.lasts.map(|t| t.base() / 3600.0)
}

/// How long a supply lasts on its battery and how it ends; then what its devices have at the end.
pub fn battery_lines(site: &Site, study: &Study, supply: usize) -> Option<[String; 2]> {
    let d = study.discharges.iter().find(|d| d.supply == supply)?;
    let lasts = match (hours(d), d.ends_by) {
        (Some(hours), Some(by)) => {
            let volts = d
                .end_volts
                .map_or(String::new(), |v| format!(" at {:.2} V", v.base()));
            format!("on battery {hours:.1} h, ends by {}{volts}", by.as_str())
        }
        _ => "on battery: nothing is drawn, it never ends".to_owned(),
    };
    let ends = site.devices.iter().zip(&d.devices);
    let ends: Vec<String> = ends
        .filter_map(|(device, end)| Some(format!("{} {:.2} V", device.name, end.volts?.base())))
        .collect();
    let ends = if ends.is_empty() {
        "at its end: no device is reached".to_owned()
    } else {
        format!("at its end: {}", ends.join(", "))
    };
    Some([lasts, ends])
}
