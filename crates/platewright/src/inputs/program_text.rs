//! Whether a file can be a cutting program at all.

use crate::error::Error;
use std::path::Path;

/// How much of a file is looked at: enough for any heading, little beside 200 MB.
const LOOKED_AT: usize = 64 * 1024;
/// Share of bytes that no text holds from which on a file is taken for something else: one in this many. Programs
/// with a few stray control bytes (form feeds, end-of-file marks, paper-tape leaders) are read.
const ONE_IN: usize = 20;

/// Refuses a file that is no text.
///
/// # Errors
/// If the file is empty, UTF-16 or binary.
pub(super) fn must_be_text(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    let refuse = |what: &str, remedy: &str| {
        Err(Error::NotFit {
            role: "the program",
            path: path.to_path_buf(),
            what: what.to_owned(),
            remedy: remedy.to_owned(),
        })
    };
    let head = &bytes[..bytes.len().min(LOOKED_AT)];
    if bytes.is_empty() {
        return refuse(
            "the file is empty",
            "write it again from the CAM program and see that its disk is not full",
        );
    }
    if head.starts_with(b"\xFF\xFE") || head.starts_with(b"\xFE\xFF") {
        return refuse("it is UTF-16 text", "save it as plain text (ASCII or UTF-8), as a control reads it");
    }
    let strange = head.iter().filter(|byte| is_strange(**byte)).count();
    if strange * ONE_IN > head.len() {
        return refuse(
            "it is a binary file, not a program's text",
            "name the program that the control runs, not a drawing, a job of the CAM program or an archive",
        );
    }
    Ok(())
}

/// Bytes that no program's text holds: control bytes but for tabs, line ends, form feeds and the end-of-file mark.
const fn is_strange(byte: u8) -> bool {
    byte < b' ' && !matches!(byte, b'\t' | b'\n' | b'\r' | 0x0C | 0x1A) || byte == 0x7F
}

#[cfg(test)]
mod tests {
    use super::must_be_text;
    use std::path::Path;

    fn check(bytes: &[u8]) -> String {
        must_be_text(Path::new("a.nc"), bytes).map_or_else(|why| why.to_string(), |()| "text".to_owned())
    }

    #[test]
    fn texts_of_all_kinds_are_taken() {
        assert_eq!(check(b"G21\nM30\n"), "text");
        assert_eq!(check(b"\n"), "text");
        assert_eq!(check("(Träger 10 mm)\nM30\n".as_bytes()), "text");
        // The same in the encoding of one byte a letter.
        assert_eq!(check(b"(Tr\xE4ger 10 mm)\r\nM30\r\n\x1A"), "text");
    }

    #[test]
    fn what_is_no_text_is_refused() {
        assert_eq!(check(b""), "the program a.nc: the file is empty");
        assert_eq!(check(b"\xFF\xFEG\x002\x001\x00"), "the program a.nc: it is UTF-16 text");
        assert_eq!(
            check(b"\x7FELF\x02\x01\x01\0\0\0\0"),
            "the program a.nc: it is a binary file, not a program's text"
        );
    }
}
