//! One site's results for people, in plain text.

use super::battery::battery_lines;
use crate::checks::Finding;
use crate::circuit::Corner;
use crate::diagnostic::{Severity, clean};
use crate::practice::cautions;
use crate::report::{readings, states};
use crate::results::Row;
use crate::site::{Accepted, Site};
use crate::study::{Fix, Study, Sway};
use crate::units::{self, Measure};

/// How a piece of text is to be seen; what that looks like is the writer's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// As it is.
    Plain,
    /// A heading.
    Strong,
    /// A severity's own.
    Severity(Severity),
}

/// Text in pieces, each with its tone.
pub type Pieces = Vec<(Tone, String)>;

/// The mark and the word of a severity: shape first, colour second.
pub fn badge(severity: Severity) -> &'static str {
    match severity {
        Severity::Stop => "## STOP",
        Severity::Fail => "!! FAIL",
        Severity::Warn => "!  WARN",
        Severity::Ask => "?  ASK ",
        Severity::Note => "-  NOTE",
    }
}

/// A site's volts and findings; control characters from the file are gone.
pub fn text(file: &str, site: &Site, study: &Study, fixes: &[Vec<Fix>]) -> Pieces {
    let mut out = Vec::new();
    let name = if site.name.is_empty() {
        file.to_owned()
    } else {
        format!("{} ({file})", site.name)
    };
    out.push((Tone::Strong, format!("{}\n", clean(&name))));
    let verdict = study.verdict_word().to_uppercase();
    let counts: Vec<String> = [
        Severity::Stop,
        Severity::Fail,
        Severity::Warn,
        Severity::Ask,
    ]
    .into_iter()
    .filter(|s| study.count(*s) > 0)
    .map(|s| format!("{} {}", study.count(s), s.as_str()))
    .collect();
    out.push((study.verdict.map_or(Tone::Plain, Tone::Severity), verdict));
    let counts = if counts.is_empty() {
        String::new()
    } else {
        format!(": {}", counts.join(", "))
    };
    out.push((Tone::Plain, format!("{counts}\n\n")));
    devices(site, study, &mut out);
    batteries(site, study, &mut out);
    readings::text(site, study, &mut out);
    if let Some(all) = &study.states {
        states::text(site, all, &mut out);
    }
    for (i, judged) in study.findings.iter().enumerate() {
        let fixes = fixes.get(i).map_or(&[][..], Vec::as_slice);
        let accepted = judged.accepted.map(|a| signed(&site.accepted[a]));
        finding(site, study, &judged.finding, accepted, fixes, &mut out);
    }
    if !study.assumptions.is_empty() {
        out.push((
            Tone::Strong,
            "\nTaken for granted where the file is silent\n".into(),
        ));
        for (a, sway) in study.assumed().take(20) {
            let does = sway.map_or_else(String::new, |s| does(site, s));
            out.push((
                Tone::Plain,
                format!(
                    "  {} {} = {}{does}\n",
                    clean(&a.subject),
                    a.key,
                    clean(&a.value)
                ),
            ));
        }
        if study.assumptions.len() > 20 {
            out.push((
                Tone::Plain,
                format!("  and {} more\n", study.assumptions.len() - 20),
            ));
        }
    }
    out.push((Tone::Strong, "\nCautions\n".into()));
    for caution in cautions(site) {
        out.push((Tone::Plain, format!("  {}\n", clean(&caution.words))));
    }
    out
}

/// Most characters of a line about a battery.
const MOST_CHARS: usize = 160;

/// Most devices that the table lists.
const MOST_LISTED: usize = 60;

fn devices(site: &Site, study: &Study, out: &mut Pieces) {
    let wide = site
        .devices
        .iter()
        .map(|d| d.name.chars().count())
        .max()
        .unwrap_or(6)
        .clamp(6, 28);
    out.push((
        Tone::Strong,
        format!(
            "{:wide$}  {:>9}  {:>9}  {:>9}  worst case\n",
            "device", "least V", "lowest V", "most V"
        ),
    ));
    for (i, device) in site.devices.iter().take(MOST_LISTED).enumerate() {
        let volts = |row: &&Row| {
            let live = study.results.live[row.case].devices[i];
            study
                .results
                .device(row, i)
                .filter(|_| live)
                .map(|w| w.volts.base())
        };
        let all = || {
            study
                .results
                .rows
                .iter()
                .filter_map(|row| Some((volts(&row)?, row)))
        };
        let least = all().min_by(|a, b| a.0.total_cmp(&b.0));
        let most = all().max_by(|a, b| a.0.total_cmp(&b.0));
        let lowest = device
            .lowest
            .map_or_else(|| "?".into(), |v| format!("{:.2}", v.base()));
        let line = match (least, most) {
            (Some((least, row)), Some((most, _))) => {
                let place = place(study, Some(row.case), Some(row.corner));
                format!("{least:>9.2}  {lowest:>9}  {most:>9.2}  {place}")
            }
            _ => format!(
                "{:>9}  {lowest:>9}  {:>9}  no supply, or no operating point",
                "-", "-"
            ),
        };
        let name: String = clean(&device.name).chars().take(wide).collect();
        out.push((Tone::Plain, format!("{name:wide$}  {line}\n")));
    }
    if site.devices.len() > MOST_LISTED {
        out.push((
            Tone::Plain,
            format!("and {} more devices\n", site.devices.len() - MOST_LISTED),
        ));
    }
    out.push((Tone::Plain, "\n".into()));
}

/// Two lines for each battery.
fn batteries(site: &Site, study: &Study, out: &mut Pieces) {
    for (i, supply) in site.supplies.iter().enumerate() {
        if let Some(lines) = battery_lines(site, study, i) {
            out.push((Tone::Strong, format!("{}\n", clean(&supply.name))));
            for line in lines {
                let line: String = clean(&line).chars().take(MOST_CHARS).collect();
                out.push((Tone::Plain, format!("  {line}\n")));
            }
            out.push((Tone::Plain, "\n".into()));
        }
    }
}

/// What a silent input does at the hard end of its range.
fn does(site: &Site, sway: &Sway) -> String {
    let Some(end) = &sway.end else {
        return String::new();
    };
    let falls = match sway.device {
        Some(i) => format!(
            "{} falls {} V",
            clean(&site.devices[i].name),
            units::fixed(sway.fall.base(), 2)
        ),
        None => "no volts fall".to_owned(),
    };
    let verdict = sway.verdict.map_or("pass", Severity::as_str);
    format!("; at {end} {falls}, verdict {verdict}")
}

/// Who accepted a finding, when and why.
pub fn signed(accepted: &Accepted) -> String {
    let said = |text: &Option<String>| text.clone().unwrap_or_else(|| "not stated".to_owned());
    format!(
        "accepted by {}, on {}: {}",
        said(&accepted.by),
        said(&accepted.on),
        said(&accepted.why)
    )
}

/// The case and corner of a finding, in words.
pub fn place(study: &Study, case: Option<usize>, corner: Option<Corner>) -> String {
    let case = case.map(|c| clean(&study.results.cases[c].name));
    match (case, corner) {
        (Some(case), Some(corner)) => format!("{case}, {}", corner.as_str()),
        (Some(case), None) => case,
        _ => String::new(),
    }
}

fn finding(
    site: &Site,
    study: &Study,
    finding: &Finding,
    accepted: Option<String>,
    fixes: &[Fix],
    out: &mut Pieces,
) {
    out.push((
        Tone::Severity(finding.severity),
        badge(finding.severity).to_owned(),
    ));
    let mut line = format!("  {}", clean(&finding.message()));
    let place = place(study, finding.case, finding.corner);
    if !place.is_empty() {
        line += &format!(" [{place}]");
    }
    line += &format!("  ({})\n", finding.code);
    out.push((Tone::Plain, line));
    if let Some(by) = accepted {
        out.push((Tone::Plain, format!("         {}\n", clean(&by))));
    }
    if finding.severity != Severity::Note {
        out.push((
            Tone::Plain,
            format!(
                "         {}\n         source: {}\n",
                clean(&finding.worked()),
                clean(&finding.source(site))
            ),
        ));
    }
    for fix in fixes {
        out.push((Tone::Plain, format!("         fix: {}\n", clean(&fix.text))));
    }
}
