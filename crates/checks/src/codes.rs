//! G and M words of a block as codes, for rules that look at the text itself.

use nc::{Code, Program, WordIs};

/// Letters and codes of one block.
#[derive(Clone, Debug, Default)]
pub(crate) struct BlockWords {
    /// Codes: G and M words with a plain number.
    pub codes: Vec<Code>,
    /// One bit a letter from A on that stands in the block, whatever its number.
    letters: u32,
}

impl BlockWords {
    /// The words of block `block`.
    pub(crate) fn of(program: &Program, block: u32) -> Self {
        let mut words = Self::default();
        for word in program.words_of(block) {
            if word.letter.is_ascii_uppercase() {
                words.letters |= 1 << (word.letter - b'A');
            }
            if let (WordIs::Plain(number), b'G' | b'M') = (word.is, word.letter) {
                words.codes.extend(code(word.letter, number));
            }
        }
        words
    }

    /// Whether a word with this letter stands in the block.
    pub(crate) fn has_letter(&self, letter: u8) -> bool {
        letter.is_ascii_uppercase() && self.letters & 1 << (letter - b'A') != 0
    }

    /// Whether one of these codes stands in the block.
    pub(crate) fn has_code(&self, codes: &[Code]) -> bool {
        codes.iter().any(|code| self.codes.contains(code))
    }
}

/// The code of a letter and a number; none if the number is no code's.
fn code(letter: u8, number: f64) -> Option<Code> {
    let tenths = (number * 10.0).round();
    let is_code = (number * 10.0 - tenths).abs() < WHOLE && (0.0..MOST_TENTHS).contains(&tenths);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked just before")]
    is_code.then_some(Code { letter, tenths: tenths as u32 })
}

/// How near to a whole number of tenths the number of a code must be (NISTIR 6556, 3.3.2.1: within 0.0001 of it).
const WHOLE: f64 = 1e-4;

/// More tenths than any control's code has.
const MOST_TENTHS: f64 = 1e7;
