//! Writing a set of files so that all of them appear or none: each whole into a temporary folder beside its place,
//! then renamed.
//!
//! The order is what makes it safe. Everything new is written first. Only then is what stood there before moved
//! aside, and only when all of it is aside does the first new file take its place. So a reader never sees new and
//! old files of one set together: whatever fails, and even if setting things right again fails too, the folder holds
//! old files alone or new files alone.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// What stands at a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Found {
    /// A file.
    File,
    /// A folder.
    Folder,
}

/// The few things that writing needs of a disk.
pub(crate) trait Disk {
    /// What stands at `path`, if anything.
    fn find(&self, path: &Path) -> Option<Found>;
    /// Makes one folder; the one above it exists.
    ///
    /// # Errors
    /// If the disk refuses.
    fn make_folder(&self, path: &Path) -> io::Result<()>;
    /// Makes a folder of a new name within `folder` and says which.
    ///
    /// # Errors
    /// If the disk refuses.
    fn make_temporary_folder(&self, folder: &Path) -> io::Result<PathBuf>;
    /// Writes a new file and waits until it is on the disk.
    ///
    /// # Errors
    /// If the disk refuses or is full.
    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()>;
    /// Renames a file, within one disk.
    ///
    /// # Errors
    /// If the disk refuses.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;
    /// Removes a file.
    ///
    /// # Errors
    /// If the disk refuses.
    fn remove_file(&self, path: &Path) -> io::Result<()>;
    /// Removes an empty folder.
    ///
    /// # Errors
    /// If the disk refuses.
    fn remove_folder(&self, path: &Path) -> io::Result<()>;
}

/// Files that belong together.
#[derive(Clone, Debug, Default)]
pub(crate) struct FileSet {
    files: Vec<(String, Vec<u8>)>,
    absent: Vec<String>,
}

impl FileSet {
    /// Adds a file.
    pub(crate) fn add(&mut self, name: &str, bytes: impl Into<Vec<u8>>) {
        self.files.push((name.to_owned(), bytes.into()));
    }

    /// Adds a file, or says that none of this name must be left over from an earlier set: a restart program that
    /// stands beside a plan that does not offer one could be run by mistake.
    pub(crate) fn add_or_leave_out(&mut self, name: &str, bytes: Option<Vec<u8>>) {
        match bytes {
            Some(bytes) => self.add(name, bytes),
            None => self.absent.push(name.to_owned()),
        }
    }

    /// Names of the files, in the order in which they were added.
    pub(crate) fn names(&self) -> impl Iterator<Item = &str> {
        self.files.iter().map(|(name, _)| name.as_str())
    }

    /// Every name the set has a say about.
    fn concerned(&self) -> impl Iterator<Item = &str> {
        self.names().chain(self.absent.iter().map(String::as_str))
    }
}

/// Why a set was not written, and what is left.
#[derive(Debug)]
pub(crate) struct WriteError {
    /// What was being done, to be read after "failed to".
    pub doing: String,
    /// What the disk said.
    pub why: io::Error,
    /// Files that could not be put back where they were, because the disk refused that too; else none.
    pub stranded: Vec<PathBuf>,
}

impl fmt::Display for WriteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "failed to {}: {}", self.doing, plain(&self.why))
    }
}

impl std::error::Error for WriteError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        Some(&self.why)
    }
}

/// What the disk said, without the number that the system adds.
#[must_use]
pub(crate) fn plain(why: &io::Error) -> String {
    let text = why.to_string();
    let text = text.split(" (os error").next().unwrap_or_default();
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// Writes all of `set` into `folder`, which is made if it is not there, or nothing.
///
/// # Errors
/// If the disk refuses any step before all files are in place; everything is then as it was.
pub(crate) fn write_all(disk: &dyn Disk, folder: &Path, set: &FileSet) -> Result<Vec<PathBuf>, WriteError> {
    let mut work =
        Work { disk, folder, stage: None, made: Vec::new(), aside: Vec::new(), placed: Vec::new() };
    match work.do_all(set) {
        Ok(()) => {
            work.clear_away();
            Ok(work.placed)
        }
        Err((doing, why)) => {
            let stranded = work.undo(set);
            Err(WriteError { doing, why, stranded })
        }
    }
}

/// Writes one file, whole or not at all.
///
/// # Errors
/// If the disk refuses, or `path` names no file.
pub(crate) fn write_one(
    disk: &dyn Disk,
    path: &Path,
    bytes: impl Into<Vec<u8>>,
) -> Result<PathBuf, WriteError> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let Some(name) = path.file_name().and_then(|name| name.to_str()) else {
        return Err(WriteError {
            doing: format!("write {}", path.display()),
            why: io::Error::new(io::ErrorKind::InvalidInput, "it names no file"),
            stranded: Vec::new(),
        });
    };
    let mut set = FileSet::default();
    set.add(name, bytes);
    write_all(disk, folder, &set).map(|_| path.to_path_buf())
}

type Step = Result<(), (String, io::Error)>;

/// How far the writing of a set has come.
struct Work<'a> {
    disk: &'a dyn Disk,
    folder: &'a Path,
    /// The temporary folder.
    stage: Option<PathBuf>,
    /// Folders made, outermost first.
    made: Vec<PathBuf>,
    /// Old files moved aside: where they were and where they are.
    aside: Vec<(PathBuf, PathBuf)>,
    /// New files in their places.
    placed: Vec<PathBuf>,
}

impl Work<'_> {
    fn do_all(&mut self, set: &FileSet) -> Step {
        self.make_folders()?;
        let stage = self
            .disk
            .make_temporary_folder(self.folder)
            .map_err(|why| (format!("write into the folder {}", self.folder.display()), why))?;
        self.stage = Some(stage.clone());
        for (name, bytes) in &set.files {
            self.disk
                .write(&stage.join(name), bytes)
                .map_err(|why| (format!("write {}", self.folder.join(name).display()), why))?;
        }
        self.move_old_aside(set, &stage)?;
        for name in set.names() {
            let place = self.folder.join(name);
            self.disk
                .rename(&stage.join(name), &place)
                .map_err(|why| (format!("put {} in its place", place.display()), why))?;
            self.placed.push(place);
        }
        Ok(())
    }

    /// Makes the folder and those above it that are missing.
    fn make_folders(&mut self) -> Step {
        let missing: Vec<&Path> = self
            .folder
            .ancestors()
            .take_while(|path| !path.as_os_str().is_empty() && self.disk.find(path).is_none())
            .collect();
        for path in missing.into_iter().rev() {
            self.disk
                .make_folder(path)
                .map_err(|why| (format!("make the folder {}", path.display()), why))?;
            self.made.push(path.to_path_buf());
        }
        Ok(())
    }

    fn move_old_aside(&mut self, set: &FileSet, stage: &Path) -> Step {
        for name in set.concerned() {
            let place = self.folder.join(name);
            match self.disk.find(&place) {
                None => {}
                Some(Found::Folder) => {
                    let why =
                        io::Error::new(io::ErrorKind::AlreadyExists, "a folder of that name stands there");
                    return Err((format!("write {}", place.display()), why));
                }
                Some(Found::File) => {
                    let aside = stage.join(format!("{name}.before"));
                    self.disk
                        .rename(&place, &aside)
                        .map_err(|why| (format!("replace {}", place.display()), why))?;
                    self.aside.push((place, aside));
                }
            }
        }
        Ok(())
    }

    /// Removes the old files and the temporary folder. All new files are in place by now: if the disk refuses, a
    /// hidden folder stays behind and harms nobody.
    fn clear_away(&self) {
        for (_, aside) in &self.aside {
            let _ = self.disk.remove_file(aside);
        }
        if let Some(stage) = &self.stage {
            let _ = self.disk.remove_folder(stage);
        }
    }

    /// Puts everything back as it was; returns the old files that it could not put back. No old file returns to its
    /// place while a new one stands in another, so that the two are never seen together.
    fn undo(&self, set: &FileSet) -> Vec<PathBuf> {
        let stays: Vec<&PathBuf> =
            self.placed.iter().filter(|place| !self.insist(|| self.disk.remove_file(place))).collect();
        let stranded: Vec<PathBuf> = self
            .aside
            .iter()
            .filter(|(place, aside)| !stays.is_empty() || !self.insist(|| self.disk.rename(aside, place)))
            .map(|(_, aside)| aside.clone())
            .collect();
        if let Some(stage) = &self.stage {
            for name in set.names() {
                let path = stage.join(name);
                if self.disk.find(&path).is_some() {
                    self.insist(|| self.disk.remove_file(&path));
                }
            }
            if stranded.is_empty() {
                self.insist(|| self.disk.remove_folder(stage));
            }
        }
        for path in self.made.iter().rev() {
            self.insist(|| self.disk.remove_folder(path));
        }
        stranded
    }

    /// Tries twice: a disk that hiccups once is not to cost the old files.
    fn insist(&self, step: impl Fn() -> io::Result<()>) -> bool {
        step().is_ok() || step().is_ok()
    }
}

/// The disk of this machine.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct RealDisk;

impl Disk for RealDisk {
    fn find(&self, path: &Path) -> Option<Found> {
        let found = std::fs::metadata(path).ok()?;
        Some(if found.is_dir() { Found::Folder } else { Found::File })
    }

    fn make_folder(&self, path: &Path) -> io::Result<()> {
        std::fs::create_dir(path)
    }

    fn make_temporary_folder(&self, folder: &Path) -> io::Result<PathBuf> {
        let made = tempfile::Builder::new()
            .prefix(".platewright-")
            .tempdir_in(folder)
            .map_err(|why| said_by_disk(&why))?;
        Ok(made.keep())
    }

    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut file = std::fs::File::create_new(path)?;
        io::Write::write_all(&mut file, bytes)?;
        file.sync_all()
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::rename(from, to)
    }

    fn remove_file(&self, path: &Path) -> io::Result<()> {
        std::fs::remove_file(path)
    }

    fn remove_folder(&self, path: &Path) -> io::Result<()> {
        std::fs::remove_dir(path)
    }
}

/// The error without the name of the temporary folder, which says nothing to the user and differs each time.
fn said_by_disk(why: &io::Error) -> io::Error {
    why.get_ref().and_then(std::error::Error::source).map_or_else(
        || io::Error::from(why.kind()),
        |source| {
            source
                .downcast_ref::<io::Error>()
                .and_then(io::Error::raw_os_error)
                .map_or_else(|| io::Error::from(why.kind()), io::Error::from_raw_os_error)
        },
    )
}

#[cfg(test)]
mod tests;
