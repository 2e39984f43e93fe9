//! `farend size`: the cheapest cables with which a site passes.

use std::io::{self, Write};
use std::path::Path;
use std::time::Instant;

use anstream::eprintln;

use crate::cli::check::painted;
use crate::cli::{End, colour_on, site_in, text_of};
use crate::diagnostic::clean;
use crate::report;
use crate::site::{End as RunEnd, Project, Site};
use crate::size::{self, Sizing, Watch};
use crate::store;

/// Part of the time that the search itself may take; the rest is for trying and printing.
const SEARCH: f64 = 0.95;

/// What is wanted beside the design.
pub(crate) struct Wants {
    /// JSON instead of text.
    pub(crate) json: bool,
    /// The cables saved into the file.
    pub(crate) write: bool,
    /// The ladders.
    pub(crate) why: bool,
}

/// Sizes a site, prints the design and saves it where that is wanted.
pub(crate) fn size(path: &Path, seconds: f64, wants: &Wants) -> anyhow::Result<End> {
    if !(seconds.is_finite() && seconds >= 0.0) {
        eprintln!("error: '{seconds}' seconds: allowed is 0 or more");
        return Ok(End::Unusable);
    }
    if wants.write && path == Path::new("-") {
        eprintln!("error: --write needs a file; standard input cannot be written to");
        return Ok(End::Unusable);
    }
    let start = Instant::now();
    let text = match text_of(path) {
        Ok(text) => text,
        Err(refusal) => return Ok(refusal.print()),
    };
    let site = match site_in(path, &text) {
        Ok(site) => site,
        Err(refusal) => return Ok(refusal.print()),
    };
    let goes_on = || start.elapsed().as_secs_f64() < seconds * SEARCH;
    let watch = Watch {
        goes_on: &goes_on,
        tell: &|_| {},
    };
    let sizing = size::size(&site, &watch);
    if wants.write
        && let Err(why) = saved(path, &text, &site, &sizing)
    {
        return Ok(why);
    }
    let end = if sizing.cost.is_some() {
        End::Clean
    } else {
        End::Findings
    };
    let out = if wants.json {
        report::size_json(&site, &sizing)? + "\n"
    } else {
        shown(&site, &sizing, wants.why)
    };
    Ok(printed(&out).unwrap_or(end))
}

/// The design for people.
fn shown(site: &Site, sizing: &Sizing, why: bool) -> String {
    let placed = sizing.design.as_ref().map_or(site, |(design, _)| design);
    let ladders: Vec<size::Ladder> = sizing
        .runs
        .iter()
        .filter_map(|r| size::ladder(placed, r.run))
        .collect();
    let pieces = report::size_text(site, sizing, &ladders);
    let mut out = painted(&pieces, colour_on(&io::stdout()));
    if why {
        out.extend(ladders.iter().map(|l| report::ladder_text(placed, l)));
    }
    out
}

/// Saves the cables of a design into the file that they are for.
fn saved(path: &Path, text: &str, site: &Site, sizing: &Sizing) -> Result<(), End> {
    let edits = sizing.edits(site);
    if edits.is_empty() {
        return Ok(());
    }
    let shown = clean(&path.display().to_string());
    let written = Project::open(text).and_then(|mut project| {
        project.apply_all(&edits, "cheapest cables".into())?;
        Ok(project.text())
    });
    let text = written.map_err(|errors| {
        let why = errors.first().map_or("", |e| e.message.as_str());
        eprintln!("error: the cables do not go into {shown}: {}", clean(why));
        End::Unusable
    })?;
    store::save(path, &text).map_err(|error| {
        eprintln!("error: cannot write {shown}: {error}");
        End::Io
    })
}

/// Prints how far a run may go in each cable.
pub(crate) fn longest(path: &Path, run: &str) -> anyhow::Result<End> {
    let site = match text_of(path).and_then(|text| site_in(path, &text)) {
        Ok(site) => site,
        Err(refusal) => return Ok(refusal.print()),
    };
    let Some(i) = site.runs.iter().position(|r| r.name == run) else {
        let names: Vec<&str> = site.runs.iter().map(|r| r.name.as_str()).collect();
        eprintln!(
            "error: there is no run '{}'; there are: {}",
            clean(run),
            clean(&names.join(", "))
        );
        return Ok(End::Unusable);
    };
    let device = match site.runs[i].to {
        RunEnd::Device(d) => Some(d),
        _ => None,
    };
    let reaches = size::longest(&site, i, device);
    let room = device.and_then(|d| size::room(&site, d));
    let out = report::longest_text(&site, i, &reaches, room.as_ref());
    Ok(printed(&out).unwrap_or(End::Clean))
}

/// Prints; how the call ends where that fails.
fn printed(out: &str) -> Option<End> {
    match io::stdout().write_all(out.as_bytes()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            eprintln!("error: cannot write: {error}");
            Some(End::Io)
        }
        _ => None,
    }
}
