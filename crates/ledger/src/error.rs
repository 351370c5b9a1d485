//! What can go wrong with the file, and what to do about it.

use crate::{Id, TextId};
use rusqlite::ErrorCode;
use std::fmt;
use std::path::{Path, PathBuf};

/// Why the ledger could not be opened, read or written. Nothing that was asked for has been done, in part or whole.
#[derive(Debug)]
pub enum Error {
    /// The file could not be opened or made.
    Unopened {
        /// The file.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// Another program holds the file.
    Locked(PathBuf),
    /// The file is damaged.
    Damaged {
        /// The file.
        path: PathBuf,
        /// How that shows.
        how: String,
    },
    /// The file is something else than a ledger.
    NotALedger(PathBuf),
    /// A later version made the file.
    Newer {
        /// The file.
        path: PathBuf,
        /// What in it is not known here.
        what: String,
    },
    /// The disk is full.
    Full(PathBuf),
    /// The file may be read but not written.
    ReadOnly(PathBuf),
    /// The disk does not keep what it is told to keep: a folder shared over a network, for example.
    NoSafeDisk(PathBuf),
    /// Another event has this id.
    IdTaken(Id),
    /// An event speaks of a text that was not given with it and is not kept yet.
    TextMissing(TextId),
    /// Anything else.
    Other {
        /// The file.
        path: PathBuf,
        /// What the database says.
        why: String,
    },
}

impl Error {
    /// What to do about it, in a sentence.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            Self::Unopened { .. } => {
                "see that its folder is there and may be written by you, or name another file".to_owned()
            }
            Self::Locked(path) => format!(
                "close the other program that has it open (a copy, a backup, a database viewer); if there is none, move \
                 {} and its -wal and -shm files to a local disk",
                path.display()
            ),
            Self::Damaged { path, .. } => format!(
                "keep {0} and its -wal file as they are, copy them away for mending, and put the last good copy in \
                 their place or begin a new ledger under another name",
                path.display()
            ),
            Self::NotALedger(_) => "name another file: this one is left as it is".to_owned(),
            Self::Newer { .. } => "run the version that wrote it, or a later one".to_owned(),
            Self::Full(_) => "make room on the disk and do it again; what was kept before is kept".to_owned(),
            Self::ReadOnly(path) => {
                format!("let {} and its folder be written by you, or name another file", path.display())
            }
            Self::NoSafeDisk(_) => {
                "keep the ledger on a disk of this computer, not in a folder shared over a network".to_owned()
            }
            Self::IdTaken(_) => "load the page again and enter it once more".to_owned(),
            Self::TextMissing(_) => "give the text together with the event that speaks of it".to_owned(),
            Self::Other { .. } => "see whether the disk is there and has room, then do it again".to_owned(),
        }
    }

    /// The error that the database's error on the file `path` stands for.
    pub(crate) fn of(path: &Path, why: &rusqlite::Error) -> Self {
        let path = path.to_path_buf();
        let rusqlite::Error::SqliteFailure(failure, message) = why else {
            return Self::Other { path, why: why.to_string() };
        };
        let said = message.clone().unwrap_or_else(|| failure.to_string());
        match failure.code {
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked | ErrorCode::FileLockingProtocolFailed => {
                Self::Locked(path)
            }
            ErrorCode::DatabaseCorrupt => Self::Damaged { path, how: said },
            ErrorCode::NotADatabase => Self::NotALedger(path),
            ErrorCode::DiskFull => Self::Full(path),
            ErrorCode::ReadOnly | ErrorCode::PermissionDenied => Self::ReadOnly(path),
            ErrorCode::CannotOpen => Self::Unopened { path, why: said },
            _ => Self::Other { path, why: said },
        }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unopened { path, why } => write!(f, "failed to open the ledger {}: {why}", path.display()),
            Self::Locked(path) => write!(f, "the ledger {} is held by another program", path.display()),
            Self::Damaged { path, how } => write!(f, "the ledger {} is damaged: {how}", path.display()),
            Self::NotALedger(path) => write!(f, "{} is no ledger", path.display()),
            Self::Newer { path, what } => {
                write!(f, "the ledger {} was written by a later version: {what}", path.display())
            }
            Self::Full(path) => write!(f, "no room on the disk for the ledger {}", path.display()),
            Self::ReadOnly(path) => write!(f, "the ledger {} may not be written", path.display()),
            Self::NoSafeDisk(path) => {
                write!(f, "the disk of the ledger {} cannot keep it safe from a power cut", path.display())
            }
            Self::IdTaken(id) => write!(f, "another event has the id {id}"),
            Self::TextMissing(id) => write!(f, "no text with the hash {id} is kept"),
            Self::Other { path, why } => write!(f, "failed to use the ledger {}: {why}", path.display()),
        }
    }
}

impl std::error::Error for Error {}
