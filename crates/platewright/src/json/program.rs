//! The program, as JSON names it.

use desk::Fingerprint;
use serde::Serialize;

/// A program: its name as the user gave it, its length, lines and hash.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct ProgramRow {
    name: String,
    bytes: u64,
    lines: usize,
    sha256: String,
}

impl ProgramRow {
    /// The row of a program with this fingerprint.
    #[must_use]
    pub(crate) fn new(print: &Fingerprint, lines: usize) -> Self {
        Self { name: print.name.clone(), bytes: print.bytes, lines, sha256: print.sha256.clone() }
    }
}
