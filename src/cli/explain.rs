//! `farend check --explain`: what a check asks.

use std::io::{self, Write};

use crate::checks::explained;
use crate::cli::End;
use crate::diagnostic::clean;
use crate::report;
use crate::site;

/// Prints a check by its code.
pub(crate) fn explain(code: &str) -> anyhow::Result<End> {
    let found = match explained(code) {
        Ok(found) => found,
        Err(nearest) => {
            let hint = nearest.map_or_else(
                || "DEVELOPERS.md lists every code".to_owned(),
                |code| format!("did you mean '{code}'?"),
            );
            anstream::eprintln!(
                "error: there is no check '{}'\n  = help: {hint}",
                clean(code)
            );
            return Ok(End::Unusable);
        }
    };
    // Without a site, sections are those of the edition that a silent file is cited by.
    let Ok(silent) = site::read("format = 1\n") else {
        return Ok(End::Unusable);
    };
    let text = report::explain(&silent, &found);
    Ok(match io::stdout().lock().write_all(text.as_bytes()) {
        Ok(()) => End::Clean,
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => End::Clean,
        Err(error) => {
            anstream::eprintln!("error: cannot write: {error}");
            End::Io
        }
    })
}
