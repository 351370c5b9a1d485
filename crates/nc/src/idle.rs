//! Words that this reader reads over: what they do to the machine shows in no motion and no event.

use crate::codes::{Act, Codes, group};
use crate::interpreter::tenths;
use crate::program::{Program, WordKind};
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
    #[must_use]
    pub fn idle_words(&self, dialect: &Dialect) -> Vec<IdleWord> {
        let codes = Codes::new(dialect);
        let mut idle = Vec::new();
        for (number, block) in (0u32..).zip(self.blocks()) {
            if block.is_skipped() || block.is_empty() {
                continue;
            }
            for word in self.words(number as usize) {
                if word.kind != WordKind::Plain || codes.letters & crate::codes::letter_bit(word.letter) == 0
                {
                    continue;
                }
                let entry = tenths(word.number()).map(|tenths| codes.look_up(word.letter, tenths));
                let is_known = match entry.map(|entry| (entry.act, entry.group)) {
                    None | Some((Act::Unknown, _)) => false,
                    Some((Act::NoBearing, group)) if group != group::FREE => true,
                    Some((Act::Spindle, _)) => true,
                    Some(_) => continue,
                };
                let span = self
                    .words_of(number)
                    .find(|text| text.span.start == word.at && text.is != WordIs::Setting);
                idle.extend(span.map(|text| IdleWord { block: number, span: text.span, is_known }));
            }
        }
        idle
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
            .into_iter()
            .map(|word| (&text[word.span.range()], word.block, word.is_known))
            .collect();
        let expected =
            [("G64", 0, true), ("M8", 0, true), ("M77", 1, false), ("M6", 5, true), ("M 7 7", 7, false)];
        assert_eq!(idle, expected);
    }
}
