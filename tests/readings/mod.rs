//! Readings of a meter against the solved site, and what follows from them.

mod beside;
mod insulation;
mod legs;
mod ohms;
mod sums;
mod whole;

use farend::checks::Finding;
use farend::demo;
use farend::site;
use farend::solve::Solver;
use farend::study::Study;

/// A built-in site's text.
fn text(name: &str) -> &'static str {
    demo::ALL.iter().find(|d| d.name == name).unwrap().text
}

/// The text with one passage replaced wherever it stands; it must stand there.
#[track_caller]
fn changed(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "'{from}' is not in the site");
    text.replace(from, to)
}

#[track_caller]
fn study(text: &str) -> Study {
    let site = site::read(text).unwrap_or_else(|e| panic!("{e:#?}"));
    Study::of(&site, &mut Solver::new())
}

fn finding<'s>(study: &'s Study, code: &str, subject: &str) -> Option<&'s Finding> {
    let mut all = study.findings.iter().map(|judged| &judged.finding);
    all.find(|f| f.code == code && f.subject == subject)
}

/// Severity of a finding, if it is there.
fn severity(study: &Study, code: &str, subject: &str) -> Option<&'static str> {
    finding(study, code, subject).map(|f| f.severity.as_str())
}

/// A supply of 24 V, a run of 0.5 ohm in each leg, and a hub; and readings, each as `at value`.
fn yard(more: &str, readings: &[(&str, &str)]) -> String {
    let head = "format = 1\n[supply.psu]\nvoltage = \"24 V\"\ntolerance = \"0 %\"\nresistance = \"0 ohm\"\n\
        [device.hub]\nlowest = \"9 V\"\nhighest = \"30 V\"\ndraw = { idle = \"1 A\" }\n\
        [run.W1]\nfrom = \"psu\"\nto = \"hub\"\nresistance = \"0.5 ohm\"\n\
        [meter.M1]\nvolts = \"2 digits\"\namps = \"1 digit\"\nohms = \"1 digit\"\n";
    let mut text = format!("{head}{more}\n");
    for (at, value) in readings {
        let (at, to) = at.split_once(" to ").unwrap_or((at, ""));
        let to = if to.is_empty() {
            String::new()
        } else {
            format!("to = \"{to}\"\n")
        };
        let case = if value.ends_with("ohm") {
            ""
        } else {
            "case = \"all idle\"\n"
        };
        text +=
            &format!("[[reading]]\nat = \"{at}\"\n{to}value = \"{value}\"\nmeter = \"M1\"\n{case}");
    }
    text
}
