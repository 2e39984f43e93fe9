//! Texts that a test compares with a file: `UPDATE_GOLDEN=1` writes them anew.

use std::path::Path;

/// Compares a text with the file at `path` below `tests/`, or writes it there.
#[track_caller]
pub(crate) fn check(path: &str, found: &str) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests")
        .join(path);
    if std::env::var_os("UPDATE_GOLDEN").is_some_and(|v| v == "1") {
        std::fs::write(&file, found).unwrap();
        return;
    }
    let wanted = std::fs::read_to_string(&file)
        .unwrap_or_else(|error| panic!("{path}: {error}; UPDATE_GOLDEN=1 writes it"));
    // A checkout may have turned the line ends.
    assert_eq!(found, wanted.replace("\r\n", "\n"), "{path}");
}
