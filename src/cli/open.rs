//! `farend [SITE]`: the full-screen program.

use std::path::Path;

use crate::cli::End;

/// Opens a site full-screen.
pub(crate) fn open(path: Option<&Path>) -> anyhow::Result<End> {
    let _ = path;
    Ok(End::Unusable)
}
