//! One case in one corner, as JSON.

use serde::Serialize;

use crate::report::json::Each;
use crate::results::{Flow, Rectified, Row};
use crate::site::Site;
use crate::study::Study;
use crate::units::{ElectricCurrent, ElectricPotential, Measure};

#[derive(Serialize)]
struct CaseJson<'a, S, D, J, R, E> {
    name: &'a str,
    corner: &'a str,
    operating_point: bool,
    residual_amps: Option<f64>,
    unserved: Option<UnservedJson<'a>>,
    supplies: S,
    devices: D,
    junctions: J,
    runs: R,
    earths: E,
}

#[derive(Serialize)]
struct UnservedJson<'a> {
    id: Option<&'a str>,
    served: f64,
}

#[derive(Serialize)]
struct WorkingJson<'a> {
    id: &'a str,
    volts: Option<f64>,
    amps: Option<f64>,
    watts: Option<f64>,
    va: Option<f64>,
}

#[derive(Serialize)]
struct DeviceJson<'a> {
    id: &'a str,
    state: &'a str,
    volts: Option<f64>,
    amps: Option<f64>,
    watts: Option<f64>,
    negative_volts: Option<f64>,
    va: Option<f64>,
    dc: Option<DcJson>,
}

/// Behind a rectifier on ac.
#[derive(Serialize)]
struct DcJson {
    volts: Option<f64>,
    least_volts: Option<f64>,
    most_volts: Option<f64>,
    amps: Option<f64>,
    rms_amps: Option<f64>,
}

#[derive(Serialize)]
struct JunctionJson<'a> {
    id: &'a str,
    volts: Option<f64>,
}

#[derive(Serialize)]
struct RunJson<'a> {
    id: &'a str,
    amps: Option<f64>,
    return_amps: Option<f64>,
    common_amps: Option<f64>,
    drop_volts: Option<f64>,
    plus_drop: Option<f64>,
    minus_drop: Option<f64>,
    loss_watts: Option<f64>,
}

#[derive(Serialize)]
struct EarthJson<'a> {
    id: &'a str,
    amps: Option<f64>,
}

fn volts(v: Option<ElectricPotential>) -> Option<f64> {
    v.map(Measure::base)
}

fn amps(a: Option<ElectricCurrent>) -> Option<f64> {
    a.map(Measure::base)
}

/// The solved values of a row.
pub(super) fn case<'a>(site: &'a Site, study: &'a Study, row: &'a Row) -> impl Serialize + 'a {
    let results = &study.results;
    CaseJson {
        name: &results.cases[row.case].name,
        corner: row.corner.as_str(),
        operating_point: row.solution().is_some(),
        residual_amps: row.solution().map(|s| s.imbalance_a),
        unserved: results.shortfall(site, row).map(|s| UnservedJson {
            id: s.device.map(|d| site.devices[d].name.as_str()),
            served: s.served,
        }),
        supplies: Each(move || {
            (0..site.supplies.len()).map(move |i| {
                let w = results.supply(row, i);
                WorkingJson {
                    id: &site.supplies[i].name,
                    volts: volts(w.map(|w| w.volts)),
                    amps: amps(w.map(|w| w.amps)),
                    watts: w.map(|w| w.watts.base()),
                    va: w.and_then(|w| w.va).map(Measure::base),
                }
            })
        }),
        devices: Each(move || {
            let states = results.states(site, row);
            (0..site.devices.len()).map(move |i| {
                let w = results.device(row, i);
                DeviceJson {
                    id: &site.devices[i].name,
                    state: states[i],
                    volts: volts(w.map(|w| w.volts)),
                    amps: amps(w.map(|w| w.amps)),
                    watts: w.map(|w| w.watts.base()),
                    negative_volts: volts(results.negative(row, i)),
                    va: w.and_then(|w| w.va).map(Measure::base),
                    dc: results.rectified(row, i).map(dc),
                }
            })
        }),
        junctions: Each(move || {
            (0..site.junctions.len()).map(move |i| JunctionJson {
                id: &site.junctions[i].name,
                volts: volts(results.junction(row, i)),
            })
        }),
        runs: Each(move || {
            (0..site.runs.len()).map(move |i| run(&site.runs[i].name, results.run(site, row, i)))
        }),
        earths: Each(move || {
            (0..site.earths.len()).map(move |i| EarthJson {
                id: &site.earths[i].name,
                amps: match results.template.earths[i] {
                    Some(branch) => amps(results.branch(row, branch)),
                    None => row.solution().map(|_| 0.0),
                },
            })
        }),
    }
}

fn dc(behind: &Rectified) -> DcJson {
    let steady = behind.steady;
    DcJson {
        volts: steady.map(|s| s.mean_v),
        least_volts: steady.map(|s| s.least_v),
        most_volts: steady.map(|s| s.most_v),
        amps: steady.map(|s| s.dc_a),
        rms_amps: steady.map(|s| s.rms_a),
    }
}

fn run(id: &str, flow: Option<Flow>) -> RunJson<'_> {
    let flow_or = flow.unwrap_or_default();
    RunJson {
        id,
        amps: amps(flow_or.amps),
        return_amps: amps(flow_or.return_amps),
        common_amps: amps(flow_or.common_amps),
        drop_volts: volts(flow_or.drop),
        plus_drop: volts(flow_or.plus_drop),
        minus_drop: volts(flow_or.minus_drop),
        loss_watts: flow.map(|f| f.loss.base()),
    }
}
