//! `farend check`: solve every case and corner and print the findings.

use std::io::{self, Write};
use std::path::PathBuf;

use anstyle::{AnsiColor, Style};

use crate::cli::{End, colour_on, site_of};
use crate::diagnostic::{Severity, clean};
use crate::report::{self, Pieces, Tone};
use crate::site::Site;
use crate::solve::Solver;
use crate::study::{self, Fix, Study};

/// How many findings get fixes tried: the gravest.
const MOST_FIXED: usize = 20;

/// Checks some sites; the rest are still done where one cannot be used.
pub(crate) fn check(sites: &[PathBuf], json: bool) -> anyhow::Result<End> {
    let mut end = End::Clean;
    let mut solver = Solver::new();
    let mut out = io::BufWriter::new(io::stdout());
    let colour = !json && colour_on(&io::stdout());
    for (i, path) in sites.iter().enumerate() {
        let site = match site_of(path) {
            Ok(site) => site,
            Err(why) => {
                end = end.max(why);
                continue;
            }
        };
        let file = path.display().to_string();
        let study = Study::of(&site, &mut solver);
        let fixes = tried(&site, &study, &mut solver);
        if !study.is_clean() {
            end = end.max(End::Findings);
        }
        let written = if json {
            writeln!(out, "{}", report::json(&file, &site, &study, &fixes)?)
        } else {
            let gap = if i > 0 { "\n" } else { "" };
            write!(
                out,
                "{gap}{}",
                painted(&report::text(&clean(&file), &site, &study, &fixes), colour)
            )
        };
        match written.and_then(|()| out.flush()) {
            Ok(()) => {}
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => return Ok(end),
            Err(error) => {
                anstream::eprintln!("error: cannot write: {error}");
                return Ok(End::Io);
            }
        }
    }
    Ok(end)
}

/// The fixes of the gravest findings.
fn tried(site: &Site, study: &Study, solver: &mut Solver) -> Vec<Vec<Fix>> {
    let grave = study
        .findings
        .iter()
        .take(MOST_FIXED)
        .take_while(|j| j.finding.severity < Severity::Note);
    grave
        .map(|j| {
            if j.counts() {
                study::fixes(site, study, &j.finding, solver)
            } else {
                Vec::new()
            }
        })
        .collect()
}

/// The pieces in a row, with colours where they are wanted.
pub(crate) fn painted(pieces: &Pieces, colour: bool) -> String {
    let mut out = String::new();
    for (tone, text) in pieces {
        let style = match tone {
            Tone::Plain => Style::new(),
            Tone::Strong => Style::new().bold(),
            Tone::Severity(severity) => Style::new().bold().fg_color(Some(hue(*severity).into())),
        };
        if colour && *tone != Tone::Plain {
            out += &format!("{style}{text}{style:#}");
        } else {
            out += text;
        }
    }
    out
}

fn hue(severity: Severity) -> AnsiColor {
    match severity {
        Severity::Stop | Severity::Fail => AnsiColor::Red,
        Severity::Warn => AnsiColor::Yellow,
        Severity::Ask => AnsiColor::Cyan,
        Severity::Note => AnsiColor::Blue,
    }
}
