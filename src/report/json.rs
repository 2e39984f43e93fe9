//! One site's results as one line of JSON: SI units, plain numbers, things in file order; a field
//! that does not apply is `null`.

use std::borrow::Cow;
use std::io::{self, Write};

use serde::{Serialize, Serializer};

use super::battery;
use crate::checks::Finding;
use crate::diagnostic::Severity;
use crate::practice::cautions;
use crate::report::{row, states};
use crate::site::Site;
use crate::study::{Fix, Study};
use crate::threads::{MANY, both};
use crate::units::Measure;

/// A list that is written as it is made.
pub(super) struct Each<F>(pub(super) F);

impl<I, F> Serialize for Each<F>
where
    I: Iterator<Item: Serialize>,
    F: Fn() -> I,
{
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq((self.0)())
    }
}

/// What stands before the cases.
#[derive(Serialize)]
struct HeadJson<'a> {
    format: u32,
    site: &'a str,
    file: &'a str,
    verdict: &'a str,
}

/// What stands behind the cases, up to what was searched and assumed.
#[derive(Serialize)]
struct SearchedJson<S, B, A> {
    all_states: Option<S>,
    batteries: B,
    assumptions: A,
}

/// And what was found.
#[derive(Serialize)]
struct FoundJson<F> {
    findings: F,
    cautions: Vec<String>,
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
pub fn json(file: &str, site: &Site, study: &Study, fixes: &[Vec<Fix>]) -> io::Result<String> {
    let mut bytes = Vec::new();
    write_json(&mut bytes, file, site, study, fixes)?;
    String::from_utf8(bytes).map_err(io::Error::other)
}

/// Bytes that a piece of the line has room for from the start, so that it need not grow.
const LEAST_ROOM: usize = 32 << 10;

/// Writes the same line, without its end, piece by piece as they are made: each row of the cases is
/// one, and of a large site two are made at once.
///
/// # Errors
/// Where writing fails.
pub fn write_json(
    mut out: impl Write,
    file: &str,
    site: &Site,
    study: &Study,
    fixes: &[Vec<Fix>],
) -> io::Result<()> {
    let head = serde_json::to_vec(&HeadJson {
        format: 1,
        site: &site.name,
        file,
        verdict: study.verdict_word(),
    })?;
    out.write_all(b"{")?;
    out.write_all(entries(&head))?;
    out.write_all(b",\"cases\":[")?;
    let rows = &study.results.rows;
    let at_once = site.devices.len() >= MANY;
    let piece = |i: usize, room: usize| {
        let mut made = Vec::with_capacity(room);
        match i.checked_sub(rows.len()) {
            None => serde_json::to_writer(&mut made, &row::case(site, study, &rows[i])),
            Some(0) => serde_json::to_writer(&mut made, &searched(site, study)),
            Some(1) => serde_json::to_writer(&mut made, &found(site, study, fixes)),
            Some(_) => Ok(()),
        }
        .map(|()| made)
    };
    let mut write = |i: usize, made: &[u8]| {
        let (before, made): (&[u8], _) = match i.checked_sub(rows.len()) {
            None if i == 0 => (b"", made),
            None => (b",", made),
            Some(0) => (b"],", entries(made)),
            Some(1) => (b",", entries(made)),
            Some(_) => return Ok(()),
        };
        out.write_all(before)?;
        out.write_all(made)
    };
    // A row is about as long as the one before; what is found takes this much on any site.
    let mut room = LEAST_ROOM;
    for i in (0..rows.len() + 2).step_by(2) {
        let (one, next) = both(at_once, || piece(i, room), || piece(i + 1, room));
        let (one, next) = (one?, next?);
        write(i, &one)?;
        write(i + 1, &next)?;
        room = LEAST_ROOM.max(next.len() + next.len() / 16);
    }
    out.write_all(b"}")
}

/// What stands between the braces of an object.
fn entries(object: &[u8]) -> &[u8] {
    let inside = object.strip_prefix(b"{").and_then(|o| o.strip_suffix(b"}"));
    inside.unwrap_or(object)
}

fn searched<'a>(site: &'a Site, study: &'a Study) -> impl Serialize + 'a {
    SearchedJson {
        all_states: study.states.as_ref().map(|all| states::json(site, all)),
        batteries: Each(move || battery::json(site, study)),
        assumptions: Each(move || {
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
        }),
    }
}

fn found<'a>(site: &'a Site, study: &'a Study, fixes: &'a [Vec<Fix>]) -> impl Serialize + 'a {
    FoundJson {
        findings: Each(move || {
            study.findings.iter().enumerate().map(move |(i, judged)| {
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
        }),
        cautions: cautions(site).into_iter().map(|c| c.words).collect(),
    }
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
