//! Starts the program and sets its exit status.

use std::process::ExitCode;

/// A study makes and drops many small strings, at every key on a large site.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    match farend::cli::run() {
        Ok(end) => end.into(),
        Err(error) => {
            anstream::eprintln!("error: {error:#}");
            farend::cli::End::Io.into()
        }
    }
}
