//! Writing the shop file: whole, or not at all.

use crate::problem::Problem;
use std::io::{self, Write as _};
use std::path::Path;

/// Puts `text` in the place of the file at `path`.
pub(crate) fn write(path: &Path, text: &str) -> Result<(), Problem> {
    put(path, text).map_err(|why| Problem {
        log: Some(format!("failed to write the shop file {}: {why}", path.display())),
        ..Problem::unfit(
            "The shop file could not be written; it is as it was.",
            "See that the disk has room and the file may be written, then save again.",
        )
    })
}

fn put(path: &Path, text: &str) -> io::Result<()> {
    // A link is followed, so that the file it leads to is the one that is replaced.
    let path = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut new = tempfile::NamedTempFile::new_in(folder)?;
    new.write_all(text.as_bytes())?;
    new.as_file().sync_all()?;
    if let Ok(old) = std::fs::metadata(&path) {
        new.as_file().set_permissions(old.permissions())?;
    }
    new.persist(&path).map_err(|why| why.error)?;
    Ok(())
}
