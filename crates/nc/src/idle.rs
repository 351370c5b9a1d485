//! Words that this reader reads over: what they do to the machine shows in no motion and no event.

use crate::codes::{Act, Codes, group};
use crate::interpreter::tenths;
use crate::program::{Program, Word, WordKind};
use crate::{Dialect, WordIs};
use finding::Span;

/// A word that is read over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct IdleWord {
    /// Its block.
    pub block: u32,
    /// Its bytes.
    pub span: Span,
    /// Whether the code is one of the standard or of the dialect (such as G64 or M8) that has no bearing on where the
    /// torch goes; if not, nobody has told what it does.
    pub is_known: bool,
}

impl Program {
    /// Codes that are read over, in the order of the text: unknown ones, and those of the standard without a bearing
    /// on motions and torch. Those that the dialect itself names as of no bearing ([`Dialect::no_bearing`]) are left
    /// out, and so are skipped blocks and codes that are computed.
    pub fn idle_words(&self, dialect: &Dialect) -> impl Iterator<Item = IdleWord> + '_ {
        let codes = Codes::new(dialect);
        // Such words are rare: only for one that is found its block is looked up.
        self.all_words().iter().enumerate().filter_map(move |(nth, word)| {
            let is_known = is_idle(&codes, word)?;
            let block = self.block_of_word(nth)?;
            let mut texts = self.words_of(block);
            let text = texts.find(|text| text.span.start == word.at && text.is != WordIs::Setting)?;
            Some(IdleWord { block, span: text.span, is_known })
        })
    }
}

/// Whether a word that is read over is known; none if it is not read over.
#[inline]
fn is_idle(codes: &Codes, word: &Word) -> Option<bool> {
    if word.kind != WordKind::Plain || codes.letters & crate::codes::letter_bit(word.letter) == 0 {
        return None;
    }
    let entry = tenths(word.number()).map(|tenths| codes.look_up(word.letter, tenths));
    match entry.map(|entry| (entry.act, entry.group)) {
        None | Some((Act::Unknown, _)) => Some(false),
        Some((Act::NoBearing, group)) if group != group::FREE => Some(true),
        Some((Act::Spindle, _)) => Some(true),
        Some(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use crate::{Code, Dialect, Program};

    #[test]
    fn what_is_read_over() {
        let dialect = Dialect { no_bearing: vec![Code::new(b'M', 55)], ..Dialect::common() };
        let text = "G21 G64 M8\nM77 g 0 x1 (M88)\nM3\nM55\n/M99 M66\nT2 M6\nG[60+4]\nM 7 7\n";
        let (program, _) = Program::parse(text.as_bytes(), &dialect);
        let idle: Vec<_> = program
            .idle_words(&dialect)
            .map(|word| (&text[word.span.range()], word.block, word.is_known))
            .collect();
        let expected =
            [("G64", 0, true), ("M8", 0, true), ("M77", 1, false), ("M6", 5, true), ("M 7 7", 7, false)];
        assert_eq!(idle, expected);
    }
}
