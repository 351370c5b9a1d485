//! What can go wrong outside: files that cannot be read, are not valid or cannot be written, and wrong usage found
//! only when arguments and files are put together.

use crate::exit::Exit;
use crate::files::{WriteError, plain};
use finding::Finding;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// An error that ends the command.
#[derive(Debug)]
pub(crate) enum Error {
    /// The command does not make sense, in a sentence, and what to type instead.
    Usage {
        /// What is wrong.
        what: String,
        /// What to do.
        remedy: String,
    },
    /// A file could not be read.
    Unread {
        /// What the file is: "the program", "the shop file".
        role: &'static str,
        /// Its path.
        path: PathBuf,
        /// Why.
        why: io::Error,
    },
    /// A file holds something else than it should.
    NotFit {
        /// What the file is.
        role: &'static str,
        /// Its path.
        path: PathBuf,
        /// What is wrong, in a sentence.
        what: String,
        /// What to do.
        remedy: String,
    },
    /// A shop, job or stop file with mistakes.
    Mistakes {
        /// What the file is.
        role: &'static str,
        /// Its path.
        path: PathBuf,
        /// Its text.
        text: String,
        /// Its mistakes.
        findings: Vec<Finding>,
    },
    /// The stop report matches no cut, or several.
    NoSuchStop(String),
    /// Files could not be written.
    Unwritten(WriteError),
    /// Something that the page needs could not be kept.
    Unkept {
        /// The file or folder.
        path: PathBuf,
        /// Why.
        why: io::Error,
    },
    /// The ledger could not be used.
    Ledger(ledger::Error),
    /// The page could not be started.
    Page(web::StartError),
}

impl Error {
    /// A command that does not make sense.
    #[must_use]
    pub(crate) fn usage(what: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self::Usage { what: what.into(), remedy: remedy.into() }
    }

    /// The exit status it leads to.
    #[must_use]
    pub(crate) const fn exit(&self) -> Exit {
        match self {
            Self::Usage { .. } => Exit::USAGE,
            _ => Exit::OUTSIDE,
        }
    }

    /// What the user can do about it, in a sentence.
    #[must_use]
    pub(crate) fn remedy(&self) -> String {
        match self {
            Self::Usage { remedy, .. } | Self::NotFit { remedy, .. } => remedy.clone(),
            Self::Unread { role, why, .. } => match why.kind() {
                io::ErrorKind::NotFound => {
                    format!("check the path of {role}; it is taken from the current folder")
                }
                io::ErrorKind::IsADirectory => "name the file itself, not its folder".to_owned(),
                _ => "see whether the file can be opened by you, and whether its disk is there".to_owned(),
            },
            Self::Mistakes { role, .. } => format!("mend {role} as said above and run the command again"),
            Self::NoSuchStop(_) => {
                "look up the cut's number on the picture (`platewright show PROGRAM`) and give it with --cut"
                    .to_owned()
            }
            Self::Unkept { .. } => "name a folder you may write into with --folder".to_owned(),
            Self::Ledger(why) => why.remedy(),
            Self::Page(why) => why.remedy(),
            Self::Unwritten(why) if why.stranded.is_empty() => match why.why.kind() {
                io::ErrorKind::StorageFull => {
                    "make room on the disk and run the command again; nothing was changed".to_owned()
                }
                _ => "choose a folder you may write into with --out; nothing was changed".to_owned(),
            },
            Self::Unwritten(why) => {
                let left: Vec<String> = why.stranded.iter().map(|path| path.display().to_string()).collect();
                format!("files that were there before are now at {}: move them back by hand", left.join(", "))
            }
        }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Usage { what, .. } => write!(f, "{what}"),
            Self::Unread { role, path, why } => {
                write!(f, "failed to read {role} {}: {}", path.display(), plain(why))
            }
            Self::NotFit { role, path, what, .. } => write!(f, "{role} {}: {what}", path.display()),
            Self::Mistakes { role, path, findings, .. } => {
                let mistakes = desk::figures::counted(findings.len(), "mistake", "mistakes");
                write!(f, "{role} {} has {mistakes}", path.display())
            }
            Self::NoSuchStop(what) => write!(f, "the stop could not be placed: {what}"),
            Self::Unwritten(why) => write!(f, "{why}"),
            Self::Unkept { path, why } => write!(f, "failed to write {}: {}", path.display(), plain(why)),
            Self::Ledger(why) => write!(f, "{why}"),
            Self::Page(why) => write!(f, "{why}"),
        }
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Unread { why, .. } | Self::Unkept { why, .. } => Some(why),
            Self::Unwritten(why) => Some(why),
            Self::Ledger(why) => Some(why),
            Self::Page(why) => Some(why),
            _ => None,
        }
    }
}

impl From<WriteError> for Error {
    fn from(why: WriteError) -> Self {
        Self::Unwritten(why)
    }
}

/// Reads a file whole.
///
/// # Errors
/// If it cannot be read.
pub(crate) fn read(role: &'static str, path: &Path) -> Result<Vec<u8>, Error> {
    std::fs::read(path).map_err(|why| Error::Unread { role, path: path.to_path_buf(), why })
}

/// Reads a text file whole.
///
/// # Errors
/// If it cannot be read or is not UTF-8.
pub(crate) fn read_text(role: &'static str, path: &Path) -> Result<String, Error> {
    let bytes = read(role, path)?;
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").map_or(bytes.clone(), <[u8]>::to_vec);
    String::from_utf8(bytes).map_err(|why| {
        let line =
            1 + why.as_bytes()[..why.utf8_error().valid_up_to()].iter().filter(|&&b| b == b'\n').count();
        Error::NotFit {
            role,
            path: path.to_path_buf(),
            what: format!("it is not UTF-8 text from line {line} on"),
            remedy: "save it as UTF-8".to_owned(),
        }
    })
}
