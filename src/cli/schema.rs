//! `farend schema`: print the schema of the site file.

use std::io::{self, Write};

use crate::cli::End;
use crate::report;

/// Prints the JSON Schema of the site file.
pub(crate) fn schema() -> anyhow::Result<End> {
    match io::stdout().write_all(report::schema()?.as_bytes()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            anstream::eprintln!("error: cannot write: {error}");
            Ok(End::Io)
        }
        _ => Ok(End::Clean),
    }
}
