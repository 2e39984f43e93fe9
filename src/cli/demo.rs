//! `farend demo`: list the built-in sites, or print one.

use std::io::{self, Write};

use crate::cli::End;
use crate::demo;
use crate::diagnostic::clean;

/// Lists the built-in sites, or prints the one of a name.
pub(crate) fn demo(name: Option<&str>) -> anyhow::Result<End> {
    let text = match name {
        None => demo::ALL
            .iter()
            .map(|d| format!("{:18} {}\n", d.name, d.shows))
            .collect(),
        Some(name) => match demo::find(name) {
            Some(demo) => demo.text.to_owned(),
            None => {
                let names: Vec<&str> = demo::ALL.iter().map(|d| d.name).collect();
                anstream::eprintln!(
                    "error: there is no built-in site '{}'; there are: {}",
                    clean(name),
                    names.join(", ")
                );
                return Ok(End::Unusable);
            }
        },
    };
    match io::stdout().write_all(text.as_bytes()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            anstream::eprintln!("error: cannot write: {error}");
            Ok(End::Io)
        }
        _ => Ok(End::Clean),
    }
}
