//! `farend report`: the take-off, the wire schedule and the volts as a file.

use std::path::Path;

use anstream::eprintln;

use crate::alternates::alternates;
use crate::cli::{End, project_of};
use crate::diagnostic::clean;
use crate::report::{self, SHEETS};
use crate::solve::Solver;
use crate::store;
use crate::study::Study;
use crate::takeoff::TakeOff;

/// Writes the report; its form follows the ending of the file's name.
pub(crate) fn report(path: &Path, out: &Path, table: Option<&str>) -> anyhow::Result<End> {
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
    let mut solver = Solver::new();
    let study = Study::of(site, &mut solver);
    let designs = alternates(&project, &mut solver);
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
