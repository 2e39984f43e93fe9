//! Files: reading a site, and saving one so that nothing is ever lost.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use crate::site::MAX_BYTES;

/// Why a file could not be read.
#[derive(Debug)]
pub enum ReadError {
    /// The system says why.
    Io(io::Error),
    /// It is not UTF-8 text; the byte at which that shows.
    NotText(usize),
    /// It is larger than any site file may be.
    TooLarge,
}

/// Reads a text file; `-` is standard input.
///
/// # Errors
/// Where the file cannot be read, is no text, or is larger than [`MAX_BYTES`].
pub fn read(path: &Path) -> Result<String, ReadError> {
    let limit = MAX_BYTES as u64 + 1;
    let mut bytes = Vec::new();
    if path == Path::new("-") {
        io::stdin()
            .take(limit)
            .read_to_end(&mut bytes)
            .map_err(ReadError::Io)?;
    } else {
        if is_named_pipe(path) {
            let why = "is a named pipe, and may never end; write - to read what is piped in";
            return Err(ReadError::Io(io::Error::other(why)));
        }
        let file = File::open(path).map_err(ReadError::Io)?;
        let about = file.metadata().map_err(ReadError::Io)?;
        if about.is_dir() {
            return Err(ReadError::Io(io::Error::from(io::ErrorKind::IsADirectory)));
        }
        // Room for all of it, and the byte by which the end is noticed.
        let room = usize::try_from(about.len().min(limit)).unwrap_or_default();
        bytes.reserve(room + 1);
        file.take(limit)
            .read_to_end(&mut bytes)
            .map_err(ReadError::Io)?;
    }
    if bytes.len() > MAX_BYTES {
        return Err(ReadError::TooLarge);
    }
    String::from_utf8(bytes).map_err(|error| ReadError::NotText(error.utf8_error().valid_up_to()))
}

/// Opening a pipe that nobody writes to waits for ever. One of a shell, `<(...)`, has a writer; it
/// has no path of its own.
#[cfg(unix)]
fn is_named_pipe(path: &Path) -> bool {
    use std::os::unix::fs::FileTypeExt as _;
    let is_pipe = fs::metadata(path).is_ok_and(|m| m.file_type().is_fifo());
    is_pipe && fs::canonicalize(path).is_ok()
}

#[cfg(not(unix))]
fn is_named_pipe(_: &Path) -> bool {
    false
}

/// Saves bytes: a temporary file in the same folder, written through to the disk, takes the
/// file's place in one step. Permissions and symbolic links stay as they are.
///
/// # Errors
/// Where the folder or file cannot be written; the old file is then untouched.
pub fn save(path: &Path, bytes: impl AsRef<[u8]>) -> io::Result<()> {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".farend-").suffix(".tmp");
    let mut temporary = builder.tempfile_in(&folder)?;
    temporary.write_all(bytes.as_ref())?;
    let permissions = fs::metadata(&target).map(|m| m.permissions());
    match permissions {
        Ok(permissions) => temporary.as_file().set_permissions(permissions)?,
        Err(_) => open_to_readers(temporary.as_file())?,
    }
    temporary.as_file().sync_all()?;
    temporary.persist(&target).map_err(|error| error.error)?;
    // The new name is on the disk only when the folder is.
    if let Ok(folder) = File::open(&folder) {
        folder.sync_all().ok();
    }
    Ok(())
}

/// A new file is as readable as any other; temporary files are the owner's alone.
#[cfg(unix)]
fn open_to_readers(file: &File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    file.set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn open_to_readers(_: &File) -> io::Result<()> {
    Ok(())
}
