//! One site's results as one line of JSON: SI units, plain numbers, things in file order; a field
//! that does not apply is `null`.

use std::borrow::Cow;
use std::io::Write;

use serde::{Serialize, Serializer};

use super::battery;
use crate::checks::Finding;
use crate::diagnostic::Severity;
use crate::practice::cautions;
use crate::report::states::{self, AllStatesJson};
use crate::results::{Flow, Rectified, Row};
use crate::site::Site;
use crate::study::{Fix, Study};
use crate::units::{ElectricCurrent, ElectricPotential, Measure};

/// A list that is written as it is made.
struct Each<F>(F);

impl<I, F> Serialize for Each<F>
where
    I: Iterator<Item: Serialize>,
    F: Fn() -> I,
{
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq((self.0)())
    }
}

#[derive(Serialize)]
struct SiteJson<'a, C, B, A, F> {
    format: u32,
    site: &'a str,
    file: &'a str,
    verdict: &'a str,
    cases: C,
    all_states: Option<AllStatesJson>,
    batteries: B,
    assumptions: A,
    findings: F,
    cautions: Vec<String>,
}

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

#[derive(Serialize)]
struct AssumptionJson<'a> {
    subject: &'a str,
    key: &'a str,
    value: &'a str,
    tried: Option<&'a str>,
    verdict: Option<&'a str>,
    device: Option<&'a str>,
    fall_volts: Option<f64>,
}

#[derive(Serialize)]
struct AcceptedJson<'a> {
    by: Option<&'a str>,
    why: Option<&'a str>,
    on: Option<&'a str>,
    value: Option<&'a str>,
}

#[derive(Serialize)]
struct FindingJson<'a> {
    code: &'a str,
    severity: &'a str,
    subject: &'a str,
    case: Option<&'a str>,
    corner: Option<&'a str>,
    accepted: Option<AcceptedJson<'a>>,
    message: Cow<'a, str>,
    value: Option<f64>,
    limit: Option<f64>,
    unit: Option<&'a str>,
    formula: String,
    source: String,
    fixes: Vec<&'a str>,
}

/// The site as one line of JSON; `fixes` stand beside the findings that they were tried for.
///
/// # Errors
/// Only where a number is not finite, which no result is.
pub fn json(
    file: &str,
    site: &Site,
    study: &Study,
    fixes: &[Vec<Fix>],
) -> Result<String, serde_json::Error> {
    let mut bytes = Vec::new();
    write_json(&mut bytes, file, site, study, fixes)?;
    String::from_utf8(bytes).map_err(serde::ser::Error::custom)
}

/// Writes the same line, without its end, as it is made.
///
/// # Errors
/// Where writing fails.
pub fn write_json(
    out: impl Write,
    file: &str,
    site: &Site,
    study: &Study,
    fixes: &[Vec<Fix>],
) -> Result<(), serde_json::Error> {
    let findings = || {
        study.findings.iter().enumerate().map(|(i, judged)| {
            let accepted = judged
                .accepted
                .map(|a| &site.accepted[a])
                .map(|a| AcceptedJson {
                    by: a.by.as_deref(),
                    why: a.why.as_deref(),
                    on: a.on.as_deref(),
                    value: a.value.as_deref(),
                });
            let fixes = fixes.get(i).map_or(&[][..], Vec::as_slice);
            finding(site, study, &judged.finding, accepted, fixes)
        })
    };
    let cases = || study.results.rows.iter().map(|row| case(site, study, row));
    let assumptions = || {
        study.assumed().map(|(a, sway)| {
            let sway = sway.filter(|s| s.end.is_some());
            AssumptionJson {
                subject: &a.subject,
                key: a.key,
                value: &a.value,
                tried: sway.and_then(|s| s.end.as_deref()),
                verdict: sway.map(|s| s.verdict.map_or("pass", Severity::as_str)),
                device: sway.and_then(|s| Some(site.devices[s.device?].name.as_str())),
                fall_volts: sway.map(|s| s.fall.base()),
            }
        })
    };
    serde_json::to_writer(
        out,
        &SiteJson {
            format: 1,
            site: &site.name,
            file,
            verdict: study.verdict_word(),
            cases: Each(cases),
            all_states: study.states.as_ref().map(|all| states::json(site, all)),
            batteries: Each(|| battery::json(site, study)),
            assumptions: Each(assumptions),
            findings: Each(findings),
            cautions: cautions(site).into_iter().map(|c| c.words).collect(),
        },
    )
}

fn finding<'a>(
    site: &Site,
    study: &'a Study,
    finding: &'a Finding,
    accepted: Option<AcceptedJson<'a>>,
    fixes: &'a [Fix],
) -> FindingJson<'a> {
    FindingJson {
        code: finding.code,
        severity: finding.severity.as_str(),
        subject: &finding.subject,
        case: finding.case.map(|c| study.results.cases[c].name.as_str()),
        corner: finding.corner.map(crate::circuit::Corner::as_str),
        accepted,
        message: finding.message(),
        value: finding.value,
        limit: finding.limit,
        unit: finding.unit,
        formula: finding.worked(),
        source: finding.source(site),
        fixes: fixes.iter().map(|fix| fix.text.as_str()).collect(),
    }
}

fn volts(v: Option<ElectricPotential>) -> Option<f64> {
    v.map(Measure::base)
}

fn amps(a: Option<ElectricCurrent>) -> Option<f64> {
    a.map(Measure::base)
}

fn case<'a>(site: &'a Site, study: &'a Study, row: &'a Row) -> impl Serialize + 'a {
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
