//! Words of the command line that stand for a choice, the same as in the files.

use crate::error::Error;
use shop::{Worded, from_word};

/// What `word`, given with `flag`, names.
///
/// # Errors
/// If it names nothing.
pub(crate) fn chosen<C: Worded>(flag: &str, word: &str) -> Result<C, Error> {
    from_word(word).ok_or_else(|| {
        let names: Vec<&str> = C::WORDS.iter().map(|(name, ..)| *name).collect();
        Error::usage(
            format!("{flag}: {word:?} is no {} known here", C::WHAT),
            format!("write one of {}", names.join(", ")),
        )
    })
}
