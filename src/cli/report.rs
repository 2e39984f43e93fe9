//! `farend report`: the take-off, the wire schedule and the volts as a file.

use std::io::{IsTerminal as _, Write as _, stderr};
use std::path::Path;
use std::time::Instant;

use anstream::{eprint, eprintln};

use crate::alternates::{Progress, Watch, alternates};
use crate::cli::{End, bid_text, project_of};
use crate::diagnostic::clean;
use crate::report::{self, SHEETS};
use crate::site::{Site, differences};
use crate::size;
use crate::solve::Solver;
use crate::store;
use crate::study::Study;
use crate::takeoff::TakeOff;

/// Writes the report; its form follows the ending of the file's name. Sizing each alternate ends
/// after so many seconds with the best so far.
pub(crate) fn report(
    path: &Path,
    out: &Path,
    (table, seconds): (Option<&str>, f64),
    bid: Option<&Path>,
) -> anyhow::Result<End> {
    if !(seconds.is_finite() && seconds >= 0.0) {
        eprintln!("error: '{seconds}' seconds: allowed is 0 or more");
        return Ok(End::Unusable);
    }
    let project = match project_of(path) {
        Ok(project) => project,
        Err(refusal) => return Ok(refusal.print()),
    };
    let site = project.site();
    let table = table.unwrap_or(SHEETS[0]);
    if !SHEETS.contains(&table) {
        eprintln!(
            "error: there is no table '{}'; allowed: {}",
            clean(table),
            SHEETS.join(", ")
        );
        return Ok(End::Unusable);
    }
    let bid = match bid.map(bid_text).transpose() {
        Ok(bid) => bid,
        Err(refusal) => return Ok(refusal.print()),
    };
    let mut solver = Solver::new();
    let mut study = Study::of(site, &mut solver);
    if let Some(bid) = bid {
        study.take_bid(site, &differences(&bid, &project.text()));
    }
    let size = |site: &Site| {
        let start = Instant::now();
        let watch = size::Watch {
            goes_on: &|| start.elapsed().as_secs_f64() < seconds,
            tell: &|_| {},
        };
        size::size(site, &watch)
    };
    let watch = Watch {
        size: &size,
        goes_on: &|progress| told(progress),
    };
    let designs = alternates(&project, &mut solver, &watch);
    if stderr().is_terminal() {
        eprint!("\r\x1b[K");
    }
    let sheets = report::sheets(site, &study, &TakeOff::of(site), &designs);
    let ending = out.extension().and_then(|e| e.to_str()).unwrap_or_default();
    let bytes = match ending.to_lowercase().as_str() {
        "xlsx" => report::xlsx(&sheets)?,
        "csv" => {
            let sheet = sheets.iter().find(|s| s.name == table);
            sheet.map(report::csv).unwrap_or_default().into_bytes()
        }
        "txt" => report::plain(&clean(&site.name), &sheets).into_bytes(),
        _ => {
            eprintln!(
                "error: '{}' does not end in .xlsx, .csv or .txt",
                clean(&out.display().to_string())
            );
            return Ok(End::Unusable);
        }
    };
    if let Err(error) = store::save(out, &bytes) {
        let shown = clean(&out.display().to_string());
        eprintln!("error: cannot write {shown}: {error}");
        return Ok(End::Io);
    }
    Ok(if study.is_clean() {
        End::Clean
    } else {
        End::Findings
    })
}

/// Says on a terminal which alternate is being sized.
fn told(progress: &Progress<'_>) -> bool {
    if stderr().is_terminal() {
        eprint!(
            "\r\x1b[K{} of {} designs: {}",
            progress.done,
            progress.of,
            clean(progress.next)
        );
        stderr().flush().ok();
    }
    true
}
