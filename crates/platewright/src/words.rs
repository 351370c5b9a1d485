//! Words of the command line: those that stand for a choice, the same as in the files, and flags named in answers.

use crate::error::Error;
use desk::{Assumption, Inputs, Reading};
use shop::{Worded, from_word};
use units::System;

/// What was assumed, with the flag that tells otherwise.
#[must_use]
pub(crate) fn assumed(assumption: Assumption, system: System) -> String {
    let tell = match assumption {
        Assumption::NoTransfer => "tell another kind of stop with --kind",
        Assumption::Kerf(_) => "tell yours with --kerf or a chart",
        Assumption::CommonWords => "tell the words of your control in a shop file",
        Assumption::Datum => "tell yours with --datum",
    };
    format!("{}: {tell}", assumption.says(system))
}

/// What was assumed of a job, a sentence each.
#[must_use]
pub(crate) fn all_assumed(reading: &Reading, inputs: &Inputs) -> Vec<String> {
    let system = reading.system(inputs);
    reading.assumed(inputs).into_iter().map(|assumption| assumed(assumption, system)).collect()
}

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
