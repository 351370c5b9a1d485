//! The faults that several parts of a run find, and the places in the text that they point at.

use crate::expression::Fault;
use crate::gather::NUMBER_MOST;
use crate::interpreter::{Run, narrow};
use crate::program::Word;
use finding::Span;

impl Run<'_> {
    pub(crate) fn block_span(&self) -> Span {
        self.program.blocks()[self.here].span
    }

    /// The bytes of a word: up to the next word or the end of its block.
    pub(crate) fn word_span(&self, word: &Word) -> Span {
        let block = self.block_span();
        let words = self.program.words(self.here);
        let after = words.partition_point(|other| other.at <= word.at);
        let next = words.get(after).map_or(block.end, |next| next.at);
        let text = &self.program.text()[word.at as usize..next as usize];
        let stop = text.iter().position(|byte| matches!(byte, b'(' | b';')).unwrap_or(text.len());
        Span::new(word.at, word.at + narrow(text[..stop].trim_ascii_end().len()))
    }

    /// The bytes of the word with `letter`, else of the block.
    pub(crate) fn letter_span(&self, letter: u8) -> Span {
        let word = self.program.words(self.here).iter().find(|word| word.letter == letter);
        word.map_or(self.block_span(), |word| self.word_span(word))
    }

    #[cold]
    pub(crate) fn report_range(&mut self, letter: u8, why: &'static str) {
        let letter = letter.to_ascii_uppercase();
        self.report.error(
            "number-out-of-range",
            self.letter_span(letter),
            || format!("{why}: the number after {} was left out", char::from(letter)),
            "correct the number",
        );
    }

    #[cold]
    pub(crate) fn report_missing(&mut self, letter: u8, why: &'static str) {
        if self.left_out {
            return;
        }
        self.report.error(
            "word-missing",
            self.block_span(),
            || format!("{why}: a word with {} is missing", char::from(letter)),
            "put the word into the block",
        );
    }

    #[cold]
    pub(crate) fn report_misplaced(&mut self, why: &'static str) {
        self.report.error(
            "word-misplaced",
            self.block_span(),
            || why.into(),
            "turn off first what stands against it",
        );
    }

    #[cold]
    pub(crate) fn report_fault(&mut self, word: &Word, fault: Fault) {
        self.report.error(
            "expression-undefined",
            self.word_span(word),
            || format!("the expression has no value: {fault}"),
            "correct it, or what it reads; the word was left out",
        );
    }

    #[cold]
    pub(crate) fn word_fault(&mut self, word: &Word, number: f64) {
        self.left_out = true;
        let span = self.word_span(word);
        if number.abs() > NUMBER_MOST {
            self.report.error(
                "number-out-of-range",
                span,
                || format!("{number} is no length, speed or time of a cutting table"),
                "correct the number; the word was left out",
            );
        } else {
            self.report.error(
                "word-twice",
                span,
                || format!("{} stands twice in the block; the first counts", char::from(word.letter)),
                "take one of them away",
            );
        }
    }

    #[cold]
    pub(crate) fn report_clash(&mut self, word: &Word) {
        let span = self.word_span(word);
        self.report.error(
            "codes-clash",
            span,
            || "the block has another word of the same group; the first counts".into(),
            "take one of them away, or put it into a block of its own (NISTIR 6556, table 4)",
        );
    }

    #[cold]
    pub(crate) fn report_unknown_code(&mut self, word: &Word, number: f64) {
        self.left_out = true;
        let span = self.word_span(word);
        self.report.warning(
            "word-unknown",
            span,
            || format!("{}{number} is no code that this control knows", char::from(word.letter)),
            "correct it; if this control knows the code, name it in `[table.words]`",
        );
    }
}
