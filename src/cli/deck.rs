//! `farend deck`: the network of one case and corner for a circuit simulator.

use std::io::{self, Write};
use std::path::Path;

use anstream::eprintln;

use crate::circuit::Corner;
use crate::cli::{End, site_of};
use crate::diagnostic::clean;
use crate::report;
use crate::results::Results;
use crate::solve::Solver;

/// Prints the deck.
pub(crate) fn deck(path: &Path, case: &str, corner: &str) -> anyhow::Result<End> {
    let site = match site_of(path) {
        Ok(site) => site,
        Err(refusal) => return Ok(refusal.print()),
    };
    let results = Results::of(&site, &mut Solver::new(), None);
    let Some(corner) = Corner::ALL
        .into_iter()
        .find(|c| c.as_str() == corner.to_lowercase())
    else {
        eprintln!(
            "error: there is no corner '{}'; allowed: nominal, low, high, heavy",
            clean(corner)
        );
        return Ok(End::Unusable);
    };
    let names: Vec<&str> = results.cases.iter().map(|c| c.name.as_str()).collect();
    let Some(case) = by_start(&names, case) else {
        eprintln!(
            "error: no case, or more than one, starts with '{}'; cases: {}",
            clean(case),
            clean(&names.join(", "))
        );
        return Ok(End::Unusable);
    };
    let Some(row) = results.row(case, corner) else {
        return Ok(End::Unusable);
    };
    if row.solution().is_none() {
        eprintln!(
            "warning: this case has no operating point in this corner; a simulator will not find one either"
        );
    }
    match io::stdout().write_all(report::deck(&site, &results, row).as_bytes()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            eprintln!("error: cannot write: {error}");
            Ok(End::Io)
        }
        _ => Ok(End::Clean),
    }
}

/// The name that a text is, or the only one that it starts, in any letter case.
fn by_start(names: &[&str], start: &str) -> Option<usize> {
    let start = start.to_lowercase();
    if let Some(whole) = names.iter().position(|n| n.to_lowercase() == start) {
        return Some(whole);
    }
    let mut found = (0..names.len()).filter(|i| names[*i].to_lowercase().starts_with(&start));
    match (found.next(), found.next()) {
        (Some(one), None) => Some(one),
        _ => None,
    }
}
