//! `farend check`: solve every case and corner and print the findings.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use anstyle::{AnsiColor, Style};

use crate::cli::{End, Refusal, bid_text, colour_on, site_in, text_of};
use crate::diagnostic::{Severity, clean};
use crate::report::{self, Pieces, Tone};
use crate::site::{Site, differences};
use crate::solve::Solver;
use crate::study::{self, Fix, Judged, Study};
use crate::threads::in_order;

/// How many findings get fixes tried: the gravest; and at most so many findings x devices, as each
/// fix is a site that is solved anew.
const MOST_FIXED: usize = 20;
const MOST_FIXED_DEVICES: usize = 20_000;

/// Silent inputs x devices that are tried, for people; a program asks about many sites, and large
/// ones.
const MOST_TRIED: usize = 2_000;
const MOST_TRIED_JSON: usize = 400;

/// A checked site.
struct Checked {
    file: String,
    site: Site,
    study: Study,
    fixes: Vec<Vec<Fix>>,
}

/// How sites are printed.
#[derive(Clone, Copy)]
struct Print {
    json: bool,
    colour: bool,
}

/// Checks some sites, each beside the one that was bid, where that is named; the rest are still done
/// where one cannot be used.
pub(crate) fn check(sites: &[PathBuf], json: bool, bid: Option<&Path>) -> anyhow::Result<End> {
    let bid = match bid.map(bid_text).transpose() {
        Ok(bid) => bid,
        Err(refusal) => return Ok(refusal.print()),
    };
    let bid = bid.as_deref();
    let print = Print {
        json,
        colour: !json && colour_on(&io::stdout()),
    };
    let mut out = io::BufWriter::with_capacity(1 << 16, io::stdout());
    if let [path] = sites {
        // One site goes out as it is written: that of a large one is long.
        let checked = match Checked::of((path, bid), json, &mut Solver::new()) {
            Ok(checked) => checked,
            Err(refusal) => return Ok(refusal.print()),
        };
        let written = checked.print(print, &mut out).and_then(|()| out.flush());
        return Ok(ended(written, checked.end()).unwrap_or_else(|end| end));
    }
    let work = |solver: &mut Solver, i: usize| {
        let checked = Checked::of((&sites[i], bid), json, solver)?;
        let mut text = Vec::new();
        let printed = checked.print(print, &mut text).map(|()| text);
        Ok((checked.end(), printed))
    };
    let mut first = true;
    let mut last = Ok(End::Clean);
    in_order(sites.len(), Solver::new, work, |result| {
        let (own, text) = match result {
            Ok(checked) => checked,
            Err(refusal) => {
                let refusal: Refusal = refusal;
                last = Ok(last.unwrap_or(End::Clean).max(refusal.print()));
                return true;
            }
        };
        let gap: &[u8] = if json || first { b"" } else { b"\n" };
        first = false;
        let written = text.and_then(|text| {
            out.write_all(gap)?;
            out.write_all(&text)?;
            out.flush()
        });
        last = ended(written, last.unwrap_or(End::Clean).max(own));
        last.is_ok()
    });
    Ok(last.unwrap_or_else(|end| end))
}

/// The end so far, or the one at which nothing more can be written; a closed pipe is no error.
fn ended(written: io::Result<()>, end: End) -> Result<End, End> {
    match written {
        Ok(()) => Ok(end),
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Err(end),
        Err(error) => {
            anstream::eprintln!("error: cannot write: {error}");
            Err(End::Io)
        }
    }
}

impl Checked {
    fn of(
        (path, bid): (&Path, Option<&str>),
        json: bool,
        solver: &mut Solver,
    ) -> Result<Self, Refusal> {
        let text = text_of(path)?;
        let site = site_in(path, &text)?;
        let most = if json { MOST_TRIED_JSON } else { MOST_TRIED };
        let mut study = Study::whole(&site, solver, most);
        if let Some(bid) = bid {
            study.take_bid(&site, &differences(bid, &text));
        }
        let fixes = tried(&site, &study, solver);
        Ok(Self {
            file: path.display().to_string(),
            site,
            study,
            fixes,
        })
    }

    fn end(&self) -> End {
        if self.study.is_clean() {
            End::Clean
        } else {
            End::Findings
        }
    }

    fn print(&self, print: Print, out: &mut impl Write) -> io::Result<()> {
        let Self {
            file,
            site,
            study,
            fixes,
        } = self;
        if print.json {
            report::write_json(&mut *out, file, site, study, fixes)?;
            return out.write_all(b"\n");
        }
        let pieces = report::text(&clean(file), site, study, fixes);
        out.write_all(painted(&pieces, print.colour).as_bytes())
    }
}

/// The fixes of the gravest findings, and of the notes that say nothing else.
fn tried(site: &Site, study: &Study, solver: &mut Solver) -> Vec<Vec<Fix>> {
    let grave = |j: &Judged| j.finding.severity < Severity::Note;
    let devices = site.devices.len().max(1);
    let mut left = (MOST_FIXED_DEVICES / devices).clamp(1, MOST_FIXED);
    let each = study.findings.iter().map(|j| {
        let worth = j.counts() && (grave(j) || study::is_proposal(&j.finding));
        if !worth || left == 0 {
            return Vec::new();
        }
        left -= 1;
        study::fixes(site, study, &j.finding, solver)
    });
    each.collect()
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
