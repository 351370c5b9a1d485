//! Whether a file can be a cutting program at all.

/// How much of a file is looked at: enough for any heading, little beside 200 MB.
const LOOKED_AT: usize = 64 * 1024;
/// Share of bytes that no text holds from which on a file is taken for something else: one in this many. Programs
/// with a few stray control bytes (form feeds, end-of-file marks, paper-tape leaders) are read.
const ONE_IN: usize = 20;

/// Why a file cannot be a program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotAProgram {
    /// What is wrong with it, in a sentence.
    pub what: &'static str,
    /// What to do about it.
    pub remedy: &'static str,
}

/// Refuses a file that is no text.
///
/// # Errors
/// If the file is empty, UTF-16 or binary.
pub fn must_be_text(bytes: &[u8]) -> Result<(), NotAProgram> {
    let refuse = |what, remedy| Err(NotAProgram { what, remedy });
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

    fn check(bytes: &[u8]) -> &'static str {
        must_be_text(bytes).map_or_else(|why| why.what, |()| "text")
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
        assert_eq!(check(b""), "the file is empty");
        assert_eq!(check(b"\xFF\xFEG\x002\x001\x00"), "it is UTF-16 text");
        assert_eq!(check(b"\x7FELF\x02\x01\x01\0\0\0\0"), "it is a binary file, not a program's text");
    }
}
