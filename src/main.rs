//! Starts the program and sets its exit status.

use std::process::ExitCode;

fn main() -> ExitCode {
    match farend::cli::run() {
        Ok(end) => end.into(),
        Err(error) => {
            anstream::eprintln!("error: {error:#}");
            farend::cli::End::Io.into()
        }
    }
}
