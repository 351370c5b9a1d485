//! Kinds of change to a text, one at a time.

mod burns;
mod joins;
mod lines;
mod posed;
mod words;

use nc::Dialect;
use nests::Random;

/// What is to become of a spoiled restart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fate {
    /// It must be refused.
    Refused,
    /// It must be proven.
    Proven,
    /// It must be refused if it does anything else than before.
    ByEffect,
}

/// A text with one change.
pub(crate) struct Spoiled {
    pub(crate) text: String,
    /// The change, for print.
    pub(crate) told: String,
}

/// What becomes of a text's lines if the change is made at line `k`; none if it does not apply there.
type Change = dyn Fn(&Text<'_>, usize) -> Option<Vec<String>>;

/// A kind of change.
pub(crate) struct Kind {
    pub(crate) name: &'static str,
    pub(crate) fate: Fate,
    /// The change.
    pub(crate) at: Box<Change>,
}

/// A text in lines, and its words.
pub(crate) struct Text<'a> {
    pub(crate) lines: Vec<&'a str>,
    pub(crate) dialect: &'a Dialect,
}

impl Text<'_> {
    /// The lines with line `k` replaced by `by`.
    pub(crate) fn with(&self, k: usize, by: &[&str]) -> Vec<String> {
        let before = self.lines[..k].iter();
        before.chain(by).chain(&self.lines[k + 1..]).map(|line| (*line).to_owned()).collect()
    }

    /// The code, if it stands in line `k` in capitals without blanks.
    pub(crate) fn has(&self, k: usize, codes: &[nc::Code]) -> bool {
        codes.iter().any(|code| words::words(self.lines[k]).any(|word| words::is_code(word, *code)))
    }

    /// Number of the line with the first start.
    pub(crate) fn first_start(&self) -> usize {
        (0..self.lines.len()).find(|k| self.has(*k, &self.dialect.torch_on)).unwrap_or(self.lines.len())
    }
}

/// Every kind.
pub(crate) fn kinds() -> Vec<Kind> {
    let mut kinds = lines::kinds();
    kinds.extend(words::kinds());
    kinds
}

/// At most `most` changes of a kind, spread at random over the text.
pub(crate) fn some(
    kind: &Kind,
    text: &str,
    dialect: &Dialect,
    most: usize,
    random: &mut Random,
) -> Vec<Spoiled> {
    let text = Text { lines: text.lines().collect(), dialect };
    let mut sites: Vec<usize> = (0..text.lines.len()).collect();
    random.shuffle(&mut sites);
    let spoiled = sites.into_iter().filter_map(|k| {
        let lines = (kind.at)(&text, k)?;
        let told = format!("{} at line {} `{}`", kind.name, k + 1, text.lines[k]);
        Some(Spoiled { text: lines.join("\n") + "\n", told })
    });
    spoiled.take(most).collect()
}
